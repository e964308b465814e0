package multiplicity_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/multiplicity"
)

const dir = "../../testdata/multiplicity/"

type adjust func(p []float64) ([]float64, error)

var methods = map[string]adjust{
	"bonferroni": multiplicity.Bonferroni, "holm": multiplicity.Holm, "hochberg": multiplicity.Hochberg,
	"sidak": multiplicity.Sidak, "bh": multiplicity.BenjaminiHochberg, "by": multiplicity.BenjaminiYekutieli,
}

func bh1995(t *testing.T) (p []float64) {
	b, err := os.ReadFile(dir + "bh1995.csv")
	require.NoError(t, err)
	for _, cell := range strings.Fields(string(b))[1:] {
		v, err := strconv.ParseFloat(cell, 64)
		require.NoError(t, err)
		p = append(p, v)
	}
	require.Len(t, p, 15)
	return p
}

func TestReference(t *testing.T) {
	var entries []struct {
		ID, Call, Library, Version, Source string
		Data                               []string
		Values                             struct {
			P, Adjusted []float64
			Rejected    *int
		}
		Tolerance struct{ Rel, Abs float64 }
	}
	b, err := os.ReadFile(dir + "multiplicity.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &entries))
	require.Len(t, entries, 7)
	for _, e := range entries {
		source := e.ID + ": " + e.Library + " " + e.Version + ", " + e.Call + "; " + e.Source
		p := e.Values.P
		if len(e.Data) > 0 {
			p = bh1995(t)
		}
		method := methods[e.ID[strings.LastIndex(e.ID, "_")+1:]]
		require.NotNil(t, method, e.ID)
		got, err := method(p)
		require.NoError(t, err)
		require.Len(t, got, len(e.Values.Adjusted))
		rejected := 0
		for i, v := range got {
			mathtest.CloseRel(t, "adjusted p", v, e.Values.Adjusted[i], e.Tolerance.Abs, e.Tolerance.Rel, source)
			if v <= 0.05 {
				rejected++
			}
		}
		if e.Values.Rejected != nil {
			require.Equal(t, *e.Values.Rejected, rejected, source)
		}
	}
}

// The numbers of rejections at 0.05 printed in Benjamini & Hochberg (1995).
func TestPublishedRejections(t *testing.T) {
	for name, want := range map[string]int{"bonferroni": 3, "bh": 4} {
		got, err := methods[name](bh1995(t))
		require.NoError(t, err)
		require.Len(t, slices.DeleteFunc(got, func(v float64) bool { return v > 0.05 }), want, name)
	}
}

// Order of the input does not matter, the input is untouched, adjusted values keep the order and never fall below p, and
// Holm lies between Hochberg and Bonferroni.
func TestLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 8))
	for range 300 {
		p := make([]float64, 1+rng.IntN(12))
		for i := range p {
			p[i] = float64(rng.IntN(21)) / 20
			p[i] *= p[i]
		}
		kept := slices.Clone(p)
		got := map[string][]float64{}
		for name, method := range methods {
			var err error
			got[name], err = method(p)
			require.NoError(t, err)
			turned := rng.Perm(len(p))
			shuffled := make([]float64, len(p))
			for i, j := range turned {
				shuffled[i] = p[j]
			}
			again, err := method(shuffled)
			require.NoError(t, err)
			for i, j := range turned {
				require.Equal(t, got[name][j], again[i], name)
			}
			for i, v := range got[name] {
				require.GreaterOrEqual(t, v, p[i], name)
				require.LessOrEqual(t, v, 1.0, name)
				for j := range p {
					require.False(t, p[i] < p[j] && v > got[name][j], "%s keeps the order: %v", name, p)
					require.False(t, p[i] == p[j] && v != got[name][j], "%s treats ties alike: %v", name, p)
				}
			}
		}
		require.Equal(t, kept, p)
		for i := range p {
			require.LessOrEqual(t, got["hochberg"][i], got["holm"][i])
			require.LessOrEqual(t, got["holm"][i], got["bonferroni"][i])
			require.LessOrEqual(t, got["sidak"][i], got["bonferroni"][i]+1e-15)
			require.LessOrEqual(t, got["bh"][i], got["hochberg"][i])
			require.LessOrEqual(t, got["bh"][i], got["by"][i])
		}
	}
}

// Holm's procedure by its own words: test the smallest against alpha/m, the next against alpha/(m-1), stop at the first
// that fails.
func TestHolmDecides(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310304, 9))
	for range 200 {
		p := make([]float64, 1+rng.IntN(8))
		for i := range p {
			p[i] = rng.Float64() * rng.Float64() * 0.2
		}
		got, err := multiplicity.Holm(p)
		require.NoError(t, err)
		sorted := slices.Sorted(slices.Values(p))
		rejected := 0
		for k, v := range sorted {
			if v > 0.05/float64(len(p)-k) {
				break
			}
			rejected++
		}
		require.Len(t, slices.DeleteFunc(got, func(v float64) bool { return v > 0.05 }), rejected)
	}
}

func TestBadInput(t *testing.T) {
	for name, method := range methods {
		_, err := method(nil)
		require.ErrorIs(t, err, dataerr.ErrTooFew, name)
		_, err = method([]float64{0.1, math.NaN(), -0.2, 1.5, math.Inf(1)})
		require.ErrorIs(t, err, dataerr.ErrNumber, name)
		require.ErrorIs(t, err, dataerr.ErrRange, name)
		require.Len(t, dataerr.All(err), 4, name)
		require.Equal(t, 2, dataerr.All(err)[0].Row, name)
		one, err := method([]float64{0.3})
		require.NoError(t, err)
		require.Equal(t, []float64{0.3}, one, name)
	}
}
