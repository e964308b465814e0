// Package multiplicity adjusts p-values for looking at several comparisons at once.
package multiplicity
