package mixed_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
)

func TestEquivalenceReference(t *testing.T) {
	var entries []comparedEntry
	readJSON(t, "mixed_equivalence.json", &entries)
	require.Len(t, entries, 3)
	by := map[string]string{"crossed_age": "time", "ergostool": "Type", "cake_temperature": "temperature"}
	for _, e := range entries {
		name := e.ID[len("tost_"):]
		var v struct {
			Delta            float64
			Estimate, SE, DF []float64
			TLower           []float64 `json:"t_lower"`
			PLower           []float64 `json:"p_lower"`
			TUpper           []float64 `json:"t_upper"`
			PUpper           []float64 `json:"p_upper"`
			P                []float64 `json:"p_equivalence"`
			Lower            []float64 `json:"ci90_lower"`
			Upper            []float64 `json:"ci90_upper"`
			Equivalent       []bool    `json:"equivalent_at_05"`
		}
		require.NoError(t, json.Unmarshal(e.Values, &v))
		f := compared(t, name, e.Data[0])
		got, err := f.Equivalent(mixed.AgainstFirst(means(t, f, by[name])), mixed.Margins{Lower: -v.Delta, Upper: v.Delta}, 0, mixed.Satterthwaite)
		require.NoError(t, err)
		require.Len(t, got, len(v.P))
		tol, source := e.Tolerance, e.source()
		for i, c := range got {
			tol.close(t, "estimate", c.Estimate, v.Estimate[i], source)
			tol.close(t, "standard error", c.SE, v.SE[i], source)
			tol.close(t, "df", c.DF, v.DF[i], source)
			tol.close(t, "t lower", c.TLower, v.TLower[i], source)
			tol.close(t, "t upper", c.TUpper, v.TUpper[i], source)
			tol.close(t, "p lower", c.PLower, v.PLower[i], source)
			tol.close(t, "p upper", c.PUpper, v.PUpper[i], source)
			tol.close(t, "p", c.P, v.P[i], source)
			tol.close(t, "lower", c.Lower, v.Lower[i], source)
			tol.close(t, "upper", c.Upper, v.Upper[i], source)
			require.Equal(t, v.Equivalent[i], c.Equivalent, source)
			require.Equal(t, c.Equivalent, c.Lower >= -v.Delta && c.Upper <= v.Delta, "the limits say the same")
			require.InDelta(t, 0.9, c.Level, 1e-15)
			require.False(t, math.IsNaN(c.P))
		}
	}
}

// Margins of unequal width, and one alone, by Student's law written out; the interval says the same as the tests.
func TestEquivalenceUnequalMargins(t *testing.T) {
	f := compared(t, "ergostool", "ergostool")
	list := mixed.AgainstFirst(means(t, f, "Type"))
	got, err := f.Equivalent(list, mixed.Margins{Lower: -0.5, Upper: 3}, 0.025, mixed.KenwardRoger)
	require.NoError(t, err)
	d, err := f.Degrees(mixed.KenwardRoger)
	require.NoError(t, err)
	one, err := d.Equivalent(list, mixed.Margins{Lower: math.Inf(-1), Upper: 3}, 0.025)
	require.NoError(t, err)
	const source = "Schuirmann (1987): two one-sided t tests, gonum distuv.StudentsT"
	for i, c := range got {
		v, err := d.Infer(list[i].L, 0.95)
		require.NoError(t, err)
		law := distuv.StudentsT{Sigma: 1, Nu: v.DF}
		mathtest.CloseRel(t, "lower", c.PLower, law.Survival((v.Estimate+0.5)/v.SE), 1e-15, 1e-8, source)
		mathtest.CloseRel(t, "upper", c.PUpper, law.CDF((v.Estimate-3)/v.SE), 1e-15, 1e-8, source)
		require.Equal(t, max(c.PLower, c.PUpper), c.P)
		require.Equal(t, []float64{v.Lower, v.Upper}, []float64{c.Lower, c.Upper}, "two-sided limits at 1 - 2 alpha")
		require.Equal(t, c.Equivalent, c.Lower > -0.5 && c.Upper < 3)
		require.Zero(t, one[i].PLower)
		require.Equal(t, c.PUpper, one[i].P)
	}
}

func TestEquivalenceBadInput(t *testing.T) {
	f := compared(t, "ergostool", "ergostool")
	list := mixed.AgainstFirst(means(t, f, "Type"))
	nan, inf := math.NaN(), math.Inf(1)
	for _, tt := range []struct {
		margins mixed.Margins
		alpha   float64
		fault   error
	}{
		{mixed.Margins{Lower: 1, Upper: -1}, 0, dataerr.ErrOrder},
		{mixed.Margins{}, 0, dataerr.ErrOrder},
		{mixed.Margins{Lower: nan, Upper: 1}, 0, dataerr.ErrNumber},
		{mixed.Margins{Lower: -inf, Upper: inf}, 0, dataerr.ErrRange},
		{mixed.Margins{Lower: -1, Upper: 1}, 0.5, dataerr.ErrRange},
		{mixed.Margins{Lower: -1, Upper: 1}, nan, dataerr.ErrRange},
	} {
		_, err := f.Equivalent(list, tt.margins, tt.alpha, mixed.Satterthwaite)
		require.ErrorIs(t, err, tt.fault)
	}
	_, err := f.Equivalent(nil, mixed.Margins{Lower: -1, Upper: 1}, 0, mixed.Satterthwaite)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
}
