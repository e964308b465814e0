package mixed

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// In an unbalanced panel with all cells the test of a factor within an interaction is that of its levels' means, each the
// plain average over the cells of the other factor.
func TestTypeThreeIsAboutPlainAverages(t *testing.T) {
	fit := unbalanced(t)
	time, err := fit.table.numeric("time")
	require.NoError(t, err)
	var when []string
	for _, v := range time {
		when = append(when, number(v))
	}
	columns := append(slices.Clone(fit.table.columns), Labels("when", when))
	table, err := NewTable(columns...)
	require.NoError(t, err)
	for _, c := range []Coding{Treatment, Helmert, Sum} {
		style, at := Factor{Name: "style", Contrast: c}, Factor{Name: "when", Contrast: c}
		cells, err := Spec{Response: "score", Fixed: []Term{style, at, Interaction{Of: []Term{style, at}}}, Random: []Random{over(nil, "taster"), over(nil, "drink")}}.Fit(table)
		require.NoError(t, err)
		require.Empty(t, cells.Aliased())
		mean := func(level string) []float64 {
			times := cells.Levels("when")
			grid, err := NewTable(Labels("style", slices.Repeat([]string{level}, len(times))), Labels("when", times))
			require.NoError(t, err)
			x, err := cells.DesignRow(grid)
			require.NoError(t, err)
			out := make([]float64, len(cells.Beta()))
			for j := range out {
				out[j] = mat.Sum(x.ColView(j)) / float64(len(times))
			}
			return out
		}
		a, b, third := mean("A"), mean("B"), mean("C")
		l := [][]float64{make([]float64, len(a)), make([]float64, len(a))}
		for j := range a {
			l[0][j], l[1][j] = b[j]-a[j], third[j]-a[j]
		}
		d, err := cells.Degrees(KenwardRoger) // its tests do not depend on how rows are combined
		require.NoError(t, err)
		want, err := d.Joint(l)
		require.NoError(t, err)
		got, err := cells.TestsWith(d)
		require.NoError(t, err)
		require.Equal(t, "style", got[0].Term)
		require.Equal(t, 2.0, got[0].Num)
		require.InEpsilon(t, want.F, got[0].F, 1e-8, c)
		require.InEpsilon(t, want.Den, got[0].Den, 1e-8, c)
	}
}

// With a cell missing an average over cells does not exist; the interaction is tested with the columns it has.
func TestTypeThreeWithEmptyCells(t *testing.T) {
	fit := model(t, "cake")
	recipe, _ := fit.table.column("recipe")
	temperature, _ := fit.table.column("temperature")
	table := part(t, fit.table, func(row int) bool {
		return !(recipe.labels[row-1] == "B" && temperature.labels[row-1] == "205")
	})
	holes, err := fit.spec.Fit(table)
	require.NoError(t, err)
	require.NotEmpty(t, holes.Aliased())
	got, err := holes.Tests(Satterthwaite)
	require.NoError(t, err)
	require.Contains(t, got[0].Why, "empty cells")
	require.Contains(t, got[1].Why, "empty cells")
	require.Empty(t, got[2].Why)
	require.Equal(t, float64(10-len(holes.Aliased())), got[2].Num)
}

// Without interactions nothing is averaged over, and the tests are those of the coefficients.
func TestTypeThreeWithoutInteraction(t *testing.T) {
	fit := again(t, unbalanced(t), func(s *Spec) { s.Fixed = s.Fixed[:2] })
	d, err := fit.Degrees(KenwardRoger)
	require.NoError(t, err)
	got, err := fit.TestsWith(d)
	require.NoError(t, err)
	style, err := d.Joint([][]float64{{0, 1, 0, 0}, {0, 0, 1, 0}})
	require.NoError(t, err)
	require.InEpsilon(t, style.F, got[0].F, 1e-9)
	time, err := d.Infer([]float64{0, 0, 0, 1}, 0.95)
	require.NoError(t, err)
	require.InEpsilon(t, time.T*time.T, got[1].F, 1e-9)
	require.InEpsilon(t, time.P, got[1].P, 1e-9)

	// without intercept the levels have means, and the test is that all of them are 0
	means := again(t, fit, func(s *Spec) { s.NoIntercept, s.Fixed = true, []Term{Factor{Name: "style", Contrast: Indicator}} })
	got, err = means.Tests(KenwardRoger)
	require.NoError(t, err)
	require.Len(t, got, 1)
	require.Equal(t, 3.0, got[0].Num)
	require.Less(t, got[0].P, 1e-3)
}

// Separate slopes without a common one: coding to sum to zero does not span them, and they are tested as coded.
func TestTypeThreeOfSeparateSlopes(t *testing.T) {
	fit := again(t, unbalanced(t), func(s *Spec) {
		s.Fixed = []Term{fac("style"), Interaction{Of: []Term{Factor{Name: "style", Contrast: Indicator}, num("time")}}}
	})
	d, err := fit.Degrees(KenwardRoger)
	require.NoError(t, err)
	got, err := fit.TestsWith(d)
	require.NoError(t, err)
	want, err := d.Joint([][]float64{{0, 0, 0, 1, 0, 0}, {0, 0, 0, 0, 1, 0}, {0, 0, 0, 0, 0, 1}})
	require.NoError(t, err)
	require.Equal(t, 3.0, got[1].Num)
	require.InEpsilon(t, want.F, got[1].F, 1e-9)
}
