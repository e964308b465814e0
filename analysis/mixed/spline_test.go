package mixed_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

// splineEntry is an entry of lmm_spline.json: a basis, or a fit with its curve.
type splineEntry struct {
	entry
	Values struct {
		X     []number
		Basis matrixOf
		Limit number
		Curve struct {
			Style     []string
			Age, Days []number
			Fit, SE   []number
		}
		Windows map[string]struct {
			Start     bool     `json:"above_at_start"`
			Crossings []number `json:"crossings"`
			End       bool     `json:"above_at_end"`
			Best      number   `json:"age_of_best"`
		}
	}
}

func splineEntries(t *testing.T) []splineEntry {
	var entries []splineEntry
	readJSON(t, "lmm_spline.json", &entries)
	require.Len(t, entries, 5)
	return entries
}

var primeSpline = mixed.Spline{Name: "age", Knots: []float64{5, 12}, Boundary: [2]float64{0, 20}}

// basisAt gives the spline's columns at x; the fit only lends its basis, which does not depend on the data.
func basisAt(t *testing.T, s mixed.Spline, x []float64) *mat.Dense {
	t.Helper()
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(s), Random: []mixed.Random{over("taster")}}, readTable(t, "sim_prime", "taster", "style"))
	design, err := f.DesignRow(table(t, mixed.Numbers(s.Name, x)))
	require.NoError(t, err)
	return design
}

func TestSplineBasis(t *testing.T) {
	for _, e := range splineEntries(t) {
		if e.ID != "ns_basis" {
			continue
		}
		x := make([]float64, len(e.Values.X))
		for i, v := range e.Values.X {
			x[i] = float64(v)
		}
		design := basisAt(t, primeSpline, x)
		for i, row := range e.Values.Basis.X {
			require.Equal(t, 1.0, design.At(i, 0))
			for j, want := range row {
				mathtest.CloseRel(t, "basis", design.At(i, j+1), float64(want), 1e-10, 1e-9, e.source())
			}
		}
	}
}

// The columns are cubic between knots, without a jump in the second derivative, and straight beyond the boundary: by
// differences.
func TestSplineIsNatural(t *testing.T) {
	const h = 1e-3
	for _, s := range []mixed.Spline{primeSpline, {Name: "age", Boundary: [2]float64{1, 19}}, {Name: "age", Knots: []float64{8}}, {Name: "age", Knots: []float64{2, 3, 8, 11, 16}}} {
		var x []float64
		centres := []float64{-4, 0, 1, 2, 3, 4.5, 5, 8, 12, 16, 19.5, 20, 23}
		for _, c := range centres {
			x = append(x, c-2*h, c-h, c, c+h, c+2*h)
		}
		d := basisAt(t, s, x)
		_, p := d.Dims()
		require.Equal(t, len(s.Knots)+2, p)
		for j := 1; j < p; j++ {
			for k, c := range centres {
				at := func(i int) float64 { return d.At(5*k+i, j) }
				before, after := (at(0)-2*at(1)+at(2))/h/h, (at(2)-2*at(3)+at(4))/h/h
				require.InDelta(t, before, after, 5e-3, "second derivative of column %d at %v of %+v", j, c, s)
				if c < 0 || c > 20 {
					require.InDelta(t, 0, before, 1e-6, "straight outside: column %d at %v", j, c)
				}
			}
		}
	}
}

func TestSplineReference(t *testing.T) {
	var fits []entry
	readJSON(t, "lmm_spline.json", &fits)
	for i, e := range splineEntries(t) {
		if e.ID == "ns_basis" {
			continue
		}
		t.Run(e.ID, func(t *testing.T) {
			var f *mixed.Fit
			ml := strings.HasSuffix(e.ID, "_ml")
			name := "ns(age, knots = c(5, 12), Boundary.knots = c(0, 20))"
			x := e.Values.Curve.Age
			if e.Data[0] == "sim_prime" {
				f = fit(t, mixed.Spec{Response: "score", ML: ml, Fixed: terms(fac("style"), primeSpline, by(fac("style"), primeSpline)), Random: []mixed.Random{over("taster")}},
					readTable(t, "sim_prime", "taster", "style"))
			} else {
				name = "ns(Days, knots = c(3, 6), Boundary.knots = c(0, 9))"
				x = e.Values.Curve.Days
				f = fit(t, mixed.Spec{Response: "Reaction", ML: ml, Fixed: terms(mixed.Spline{Name: "Days", Knots: []float64{3, 6}, Boundary: [2]float64{0, 9}}), Random: []mixed.Random{over("Subject", num("Days"))}},
					readTable(t, "sleepstudy", "Subject"))
			}
			sameFit(t, fits[i], f, func(column string) string {
				return strings.NewReplacer("spline(age)", name, "spline(Days)", name).Replace(lme4Name(column))
			})
			if len(x) == 0 {
				return
			}
			columns := []mixed.Column{}
			var ages []float64
			for _, v := range x {
				ages = append(ages, float64(v))
			}
			columns = append(columns, mixed.Numbers("age", ages), mixed.Numbers("Days", ages))
			if e.Values.Curve.Style != nil {
				columns = append(columns, mixed.Labels("style", e.Values.Curve.Style))
			}
			curve, err := f.Predict(table(t, columns...), mixed.Average)
			require.NoError(t, err)
			for i, p := range curve {
				mathtest.CloseRel(t, "curve", p.Value, float64(e.Values.Curve.Fit[i]), 0, 1e-5, e.source())
				if e.Values.Curve.SE != nil {
					mathtest.CloseRel(t, "its standard error", p.SE, float64(e.Values.Curve.SE[i]), 0, 1e-5, e.source())
				}
			}
			sameWindows(t, e, f)
		})
	}
}

// sameWindows finds where the curves cross the limit and where they are highest.
func sameWindows(t *testing.T, e splineEntry, f *mixed.Fit) {
	t.Helper()
	for style, w := range e.Values.Windows {
		at := func(age float64) float64 {
			p, err := f.Predict(table(t, mixed.Numbers("age", []float64{age}), mixed.Labels("style", []string{style})), mixed.Average)
			require.NoError(t, err)
			return p[0].Value
		}
		limit := float64(e.Values.Limit)
		require.Equal(t, w.Start, at(0) > limit, e.source())
		require.Equal(t, w.End, at(20) > limit, e.source())
		for _, c := range w.Crossings {
			mathtest.Close(t, style+" at its crossing", at(float64(c)), limit, 1e-4, e.source())
		}
		// One-dimensional search stops at a local maximum: stirred is higher still at age 0.
		best := float64(w.Best)
		for _, step := range []float64{-0.5, -0.1, 0.1, 0.5} {
			if near := best + step; near >= 0 && near <= 20 {
				require.LessOrEqual(t, at(near), at(best)+1e-6, "%s has a maximum at %v; %s", style, best, e.source())
			}
		}
	}
}
