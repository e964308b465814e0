// Package reply integrates the likelihood of yes-or-no replies about a random limit over the cells between the ages asked.
package reply
