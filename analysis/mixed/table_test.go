package mixed_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mixed"
)

func TestTableRefuses(t *testing.T) {
	for _, tt := range []struct {
		reason        string
		columns       []mixed.Column
		row           int
		column, value string
		err           error
	}{
		{"no columns", nil, 0, "", "", dataerr.ErrTooFew},
		{"no rows", []mixed.Column{mixed.Numbers("age", nil)}, 0, "", "", dataerr.ErrTooFew},
		{"no rows of labels", []mixed.Column{mixed.Labels("style", nil)}, 0, "", "", dataerr.ErrTooFew},
		{"NaN", []mixed.Column{mixed.Numbers("age", []float64{1, nan})}, 2, "age", "NaN", dataerr.ErrNumber},
		{"infinite", []mixed.Column{mixed.Numbers("age", []float64{1, 2, inf})}, 3, "age", "+Inf", dataerr.ErrRange},
		{"empty label", []mixed.Column{mixed.Labels("style", []string{"sour", ""})}, 2, "style", "", dataerr.ErrMissing},
		{"label not stated", []mixed.Column{mixed.Labels("style", []string{"sour", "punch"}, "sour", "stirred")}, 2, "style", "punch", dataerr.ErrUnknown},
		{"level stated twice", []mixed.Column{mixed.Labels("style", []string{"sour"}, "sour", "sour")}, 0, "style", "sour", dataerr.ErrDuplicate},
		{"empty level", []mixed.Column{mixed.Labels("style", []string{"sour"}, "sour", "")}, 0, "style", "", dataerr.ErrMissing},
		{"two lengths", []mixed.Column{mixed.Numbers("age", []float64{1, 2}), mixed.Numbers("score", []float64{1})}, 0, "score", "1 values", dataerr.ErrConflict},
		{"name twice", []mixed.Column{mixed.Numbers("age", []float64{1}), mixed.Labels("age", []string{"a"})}, 0, "age", "", dataerr.ErrDuplicate},
		{"no name", []mixed.Column{mixed.Numbers("", []float64{1})}, 0, "1", "", dataerr.ErrMissing},
	} {
		_, err := mixed.NewTable(tt.columns...)
		var cell *dataerr.Cell
		require.ErrorAs(t, err, &cell, tt.reason)
		require.Equal(t, []any{tt.row, tt.column, tt.value, tt.err}, []any{cell.Row, cell.Column, cell.Value, cell.Err}, tt.reason)
		require.NotEmpty(t, cell.Want, tt.reason)
	}
	_, err := mixed.NewTable(mixed.Numbers("age", []float64{nan, 1, inf}), mixed.Labels("style", []string{"a", "", "b"}))
	require.Len(t, dataerr.All(err), 3, "every fault at once")
}

// The table keeps nothing of the caller's.
func TestTableIsAlone(t *testing.T) {
	ages, styles := []float64{1, 2, 3, 4}, []string{"a", "b", "a", "b"}
	data := table(t, mixed.Numbers("age", ages), mixed.Labels("style", styles), mixed.Numbers("y", []float64{1, 2, 4, 3}))
	ages[0], styles[0] = nan, ""
	f := fit(t, mixed.Spec{Response: "y", Fixed: terms(num("age"), fac("style"))}, data)
	require.Equal(t, []string{"age", "style", "y"}, data.Columns())
	want := f.Beta()
	f.Beta()[0] = nan
	f.Covariance().SetSym(0, 0, -1)
	require.Equal(t, want, f.Beta())
	require.Greater(t, f.Covariance().At(0, 0), 0.0)
}

// Levels are sorted, numbers by size, or stand as stated; the first that occurs is the base.
func TestOrderOfLevels(t *testing.T) {
	labels := []string{"10", "9", "sour", "10", "9", "sour"}
	ages := []float64{10, 9, 2, 10, 9, 2}
	y := mixed.Numbers("y", []float64{1, 2, 3, 2, 2, 5})
	for _, tt := range []struct {
		column mixed.Column
		levels []string
		names  []string
	}{
		{mixed.Labels("x", labels), []string{"10", "9", "sour"}, []string{"intercept", "x[9]", "x[sour]"}},
		{mixed.Labels("x", labels, "sour", "punch", "9", "10"), []string{"sour", "9", "10"}, []string{"intercept", "x[9]", "x[10]"}},
		{mixed.Numbers("x", ages), []string{"2", "9", "10"}, []string{"intercept", "x[9]", "x[10]"}},
	} {
		f := fit(t, mixed.Spec{Response: "y", Fixed: terms(fac("x"))}, table(t, y, tt.column))
		require.Equal(t, tt.levels, f.Levels("x"))
		require.Equal(t, tt.names, f.Coefficients())
	}
}

// Means 1.5, 2 and 4 of three levels in each coding, worked by hand.
func TestCodings(t *testing.T) {
	data := table(t, mixed.Numbers("y", []float64{1, 2, 3, 2, 2, 5}), mixed.Labels("x", []string{"a", "b", "c", "a", "b", "c"}))
	for _, tt := range []struct {
		factor mixed.Factor
		names  []string
		beta   []float64
	}{
		{mixed.Factor{Name: "x"}, []string{"intercept", "x[b]", "x[c]"}, []float64{1.5, 0.5, 2.5}},
		{mixed.Factor{Name: "x", Base: "c"}, []string{"intercept", "x[a]", "x[b]"}, []float64{4, -2.5, -2}},
		{mixed.Factor{Name: "x", Contrast: mixed.Sum}, []string{"intercept", "x[a-mean]", "x[b-mean]"}, []float64{2.5, -1, -0.5}},
		{mixed.Factor{Name: "x", Contrast: mixed.Helmert}, []string{"intercept", "x[b-earlier]", "x[c-earlier]"}, []float64{2.5, 0.25, 0.75}},
		{mixed.Factor{Name: "x", Contrast: mixed.Indicator}, []string{"x[a]", "x[b]", "x[c]"}, []float64{1.5, 2, 4}},
	} {
		f := fit(t, mixed.Spec{Response: "y", Fixed: terms(tt.factor), NoIntercept: tt.factor.Contrast == mixed.Indicator}, data)
		require.Equal(t, tt.names, f.Coefficients())
		near(t, tt.beta, f.Beta(), 1e-12, "coefficients")
	}
}

// Columns of an interaction: the first term varies fastest.
func TestNamesOfColumns(t *testing.T) {
	data := readTable(t, "sim_prime", "taster", "style")
	f := fit(t, mixed.Spec{Response: "score", Random: []mixed.Random{over("taster")},
		Fixed: terms(fac("style"), mixed.Polynomial{Name: "age", Degree: 2}, by(fac("style"), mixed.Polynomial{Name: "age", Degree: 2}))}, data)
	require.Equal(t, []string{"intercept", "style[punch]", "style[stirred]", "poly(age)1", "poly(age)2",
		"style[punch]:poly(age)1", "style[stirred]:poly(age)1", "style[punch]:poly(age)2", "style[stirred]:poly(age)2"}, f.Coefficients())
	require.Equal(t, []mixed.Part{{Name: "intercept", Coefficients: []int{0}}, {Name: "style", Coefficients: []int{1, 2}},
		{Name: "poly(age)", Coefficients: []int{3, 4}}, {Name: "style:poly(age)", Coefficients: []int{5, 6, 7, 8}}}, f.Parts())
	raw := fit(t, mixed.Spec{Response: "score", Fixed: terms(mixed.Polynomial{Name: "age", Degree: 3, Raw: true})}, data)
	require.Equal(t, []string{"intercept", "age", "age^2", "age^3"}, raw.Coefficients())
	x, err := raw.DesignRow(table(t, mixed.Numbers("age", []float64{-2})))
	require.NoError(t, err)
	require.Equal(t, []float64{1, -2, 4, -8}, x.RawRowView(0))
}

// Orthogonal polynomials: rows of the fit give orthonormal columns; -2 -1 0 1 2 gives the tabled 2 -1 -2 -1 2.
func TestOrthogonalPolynomial(t *testing.T) {
	data := table(t, mixed.Numbers("x", []float64{-2, -1, 0, 1, 2, -2, -1, 0, 1, 2}), mixed.Numbers("y", []float64{1, 5, 2, 8, 3, 1, 7, 3, 2, 2}))
	f := fit(t, mixed.Spec{Response: "y", Fixed: terms(mixed.Polynomial{Name: "x", Degree: 2})}, data)
	x, err := f.DesignRow(data)
	require.NoError(t, err)
	for i, want := range []float64{2, -1, -2, -1, 2} {
		require.InDelta(t, want*0.18898223650461363, x.At(i, 2), 1e-14, "tabled orthogonal polynomial over sqrt(28)")
		require.InDelta(t, float64(i-2)*0.2236067977499790, x.At(i, 1), 1e-14, "over sqrt(20)")
	}
}
