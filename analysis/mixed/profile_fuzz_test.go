package mixed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// smallPanel invents a panel with few tasters, holes, and variances that are often 0.
func smallPanel(rng *rand.Rand) (*Table, Spec) {
	people, styles, ages := 3+rng.IntN(6), 2+rng.IntN(2), 4+rng.IntN(3)
	var y, a []float64
	var who, style []string
	sd := [3]float64{}
	for i := range sd {
		sd[i] = max(0, rng.NormFloat64())
	}
	for p := range people {
		u, v := sd[0]*rng.NormFloat64(), 0.2*sd[1]*rng.NormFloat64()
		for s := range styles {
			w := sd[2] * rng.NormFloat64()
			for k := range ages {
				if rng.Float64() < 0.15 {
					continue
				}
				age := 2 * float64(k)
				a, who, style = append(a, age), append(who, fmt.Sprint("p", p)), append(style, fmt.Sprint("s", s))
				y = append(y, 7-0.2*age+u+v*age+w+rng.NormFloat64())
			}
		}
	}
	table, err := NewTable(Numbers("y", y), Numbers("age", a), Labels("who", who), Labels("style", style))
	if err != nil {
		panic(err)
	}
	spec := Spec{Response: "y", Fixed: []Term{fac("style"), num("age"), times(fac("style"), num("age"))}, ML: rng.IntN(2) == 0}
	spec.Random = []Random{{Group: []string{"who"}, Slopes: []Term{num("age")}, Independent: rng.IntN(3) == 0}}
	if rng.IntN(2) == 0 {
		spec.Random = append(spec.Random, over(nil, "who", "style"))
	}
	return table, spec
}

// Whatever the panel: limits hold the estimate, and the deviance is the cut above the top at a closed end, below it at an
// open one and at points between, each looked up from the top anew.
func TestProfileOfSmallPanels(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	panels := 60
	if testing.Short() {
		panels = 15
	}
	for i := range panels {
		table, spec := smallPanel(rng)
		fit, err := spec.Fit(table)
		require.NoError(t, err)
		top, err := fit.top()
		require.NoError(t, err)
		got, err := fit.Profile(0.95)
		require.NoError(t, err)
		for j, l := range got.Limits {
			task := top.tasks()[j]
			require.Equal(t, task.name, l.Name)
			if math.IsNaN(l.Estimate) { // the correlation with a slope whose variance is 0
				require.True(t, l.OpenLower && l.OpenUpper && l.Why != "")
				continue
			}
			require.Empty(t, l.Why, "panel %d, %s: %+v", i, l.Name, l)
			require.True(t, l.Lower <= l.Estimate && l.Estimate <= l.Upper, "panel %d: %+v", i, l)
			for _, end := range []float64{l.Lower, l.Upper} {
				if math.IsInf(end, 0) || end == l.Estimate {
					continue
				}
				for _, share := range []float64{0.25, 0.5, 0.75, 1} {
					psi := l.Estimate + share*(end-l.Estimate)
					value, ok := task.begin()(psi)
					require.True(t, ok)
					open := end == l.Lower && l.OpenLower || end == l.Upper && l.OpenUpper
					if share == 1 && !open {
						require.InDelta(t, got.Cut, value-task.base, 2e-3, "panel %d: %+v at %g", i, l, psi)
					} else {
						require.Less(t, value-task.base, got.Cut+2e-3, "panel %d: %+v at %g", i, l, psi)
					}
				}
			}
		}
	}
}

// Whatever the panel: every method gives degrees of freedom between 0 and what the rows allow, or says why not.
func TestDegreesOfSmallPanels(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	panels := 300
	if testing.Short() {
		panels = 50
	}
	for i := range panels {
		table, spec := smallPanel(rng)
		spec.ML = false
		fit, err := spec.Fit(table)
		require.NoError(t, err)
		for _, df := range []DF{KenwardRoger, KenwardRogerDropped, Satterthwaite} {
			d, err := fit.Degrees(df)
			require.NoError(t, err)
			for _, note := range d.Notes() { // near a border the ways that a face leaves nearly coincide
				require.True(t, df == KenwardRogerDropped || !strings.Contains(note, "information"), "panel %d: %s", i, note)
			}
			table, err := fit.Coef(df)
			require.NoError(t, err, "panel %d %v %v %v", i, df, d.Notes(), fit.Theta())
			for j, c := range table {
				require.True(t, c.DF > 0.5 && c.DF < 1.5*float64(fit.Rows()), "panel %d %v: %+v", i, df, c)
				require.GreaterOrEqual(t, c.SE, math.Sqrt(fit.Covariance().At(j, j))*(1-1e-9), "the adjustment only adds")
				require.Less(t, c.SE, 3*math.Sqrt(fit.Covariance().At(j, j)), "panel %d %v: %+v", i, df, c)
			}
			tests, err := fit.Tests(df)
			require.NoError(t, err)
			for _, one := range tests {
				require.Empty(t, one.Why)
				require.True(t, one.Den > 0.5 && one.F >= 0 && one.P >= 0 && one.P <= 1, "panel %d: %+v", i, one)
			}
		}
	}
}
