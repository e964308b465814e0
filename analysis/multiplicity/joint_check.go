package multiplicity

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
)

// mostStatistics bounds the size of a family: 1,000 would take a matrix of a million entries and minutes.
const mostStatistics = 1000

// slack is how far a correlation may be off by rounding.
const slack = 1e-8

// checkCorrelation wants ones on the diagonal, entries in [-1, 1] and no negative eigenvalue.
func checkCorrelation(corr mat.Symmetric) error {
	n := 0
	if corr != nil {
		n = corr.SymmetricDim()
	}
	if n == 0 {
		return &dataerr.Cell{Column: "correlation", Err: dataerr.ErrTooFew, Want: "give at least one statistic"}
	}
	if n > mostStatistics {
		return &dataerr.Cell{Column: "correlation", Value: strconv.Itoa(n) + " statistics", Err: dataerr.ErrRange,
			Want: "use Holm for more than 1000 comparisons"}
	}
	var bad []error
	for i := range n {
		for j := i; j < n; j++ {
			v := corr.At(i, j)
			if i == j && math.Abs(v-1) <= slack || i != j && math.Abs(v) <= 1+slack {
				continue
			}
			err, want := dataerr.ErrRange, "a correlation lies between -1 and 1"
			if math.IsNaN(v) {
				err = dataerr.ErrNumber
			}
			if i == j {
				want = "the diagonal of a correlation matrix is 1"
			}
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: fmt.Sprintf("correlation[%d]", j+1),
				Value: strconv.FormatFloat(v, 'g', -1, 64), Err: err, Want: want})
		}
	}
	if bad != nil {
		return errors.Join(bad...)
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(corr, false) || eigen.Values(nil)[0] < -slack*float64(n) {
		return notCorrelation()
	}
	return nil
}

func notCorrelation() error {
	return &dataerr.Cell{Column: "correlation", Err: dataerr.ErrConflict,
		Want: "no statistics can have all these correlations (an eigenvalue is negative); compute them from one covariance matrix"}
}

func checkDF(df float64) error {
	if df >= smallestDF {
		return nil
	}
	err := dataerr.ErrRange
	if math.IsNaN(df) {
		err = dataerr.ErrNumber
	}
	return &dataerr.Cell{Column: "df", Value: strconv.FormatFloat(df, 'g', -1, 64), Err: err,
		Want: "degrees of freedom are at least 0.5, or +Inf"}
}

func checkWithin(within float64) error {
	if within > 0 && within < 0.01 {
		return nil
	}
	err := dataerr.ErrRange
	if math.IsNaN(within) {
		err = dataerr.ErrNumber
	}
	return &dataerr.Cell{Column: "within", Value: strconv.FormatFloat(within, 'g', -1, 64), Err: err,
		Want: "the error allowed is above 0 and below 0.01, such as 2e-5"}
}

func checkSide(side Side) error {
	if side >= TwoSided && side <= Less {
		return nil
	}
	return &dataerr.Cell{Column: "side", Value: strconv.Itoa(int(side)), Err: dataerr.ErrUnknown,
		Want: "choose TwoSided, Greater or Less"}
}

func checkLevel(level float64) error {
	if level > 0 && level < 1 {
		return nil
	}
	err := dataerr.ErrRange
	if math.IsNaN(level) {
		err = dataerr.ErrNumber
	}
	return &dataerr.Cell{Column: "level", Value: strconv.FormatFloat(level, 'g', -1, 64), Err: err,
		Want: "a level is a fraction such as 0.95"}
}
