// Package resample draws labels and whole subjects again, with one child stream per draw, so that an answer does not depend
// on the number of cores.
package resample
