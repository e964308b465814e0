package survival_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/survival"
)

const dir = "../../testdata/survival/"

var inf = math.Inf(1)

// number reads JSON numbers and the texts "Inf", "NaN", "NA" that stand for what JSON cannot hold.
type number float64

func (n *number) UnmarshalJSON(b []byte) error {
	s := string(b)
	if s == `"NA"` {
		s = `"NaN"`
	}
	if u, err := strconv.Unquote(s); err == nil {
		s = u
	}
	v, err := strconv.ParseFloat(s, 64)
	*n = number(v)
	return err
}

func floats(in []number) []float64 {
	out := make([]float64, len(in))
	for i, v := range in {
		out[i] = float64(v)
	}
	return out
}

// readJSON fills into from a file of reference entries.
func readJSON(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(dir + name)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, into))
}

// readCSV gives the rows of a data file as maps from heading to cell.
func readCSV(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(dir + name)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for j, cell := range row {
			m[rows[0][j]] = cell
		}
		out = append(out, m)
	}
	return out
}

func parse(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// intervals reads the rows of a file whose column equals value; column "" takes all.
func intervals(t *testing.T, name, column, value string) []survival.Interval {
	t.Helper()
	var out []survival.Interval
	for _, row := range readCSV(t, name) {
		if column == "" || row[column] == value {
			out = append(out, survival.Interval{L: parse(t, row["left"]), R: parse(t, row["right"])})
		}
	}
	require.NotEmpty(t, out)
	return out
}

func fit(t *testing.T, obs []survival.Interval, weights []float64) *survival.Curve {
	t.Helper()
	c, err := survival.NPMLE{}.FitWeighted(obs, weights)
	require.NoError(t, err)
	return c
}

// holds says from the definition whether time x lies in o.
func holds(o survival.Interval, x float64) bool { return o.L < x && x <= o.R || o.L == o.R && x == o.L }

// within says from the definition whether set s lies wholly in o.
func within(s, o survival.Interval) bool {
	if s.L == s.R {
		return holds(o, s.L)
	}
	return o.L <= s.L && s.R <= o.R && o.L < o.R
}

// probabilities gives P(observation i) under a curve, by the definition.
func probabilities(obs []survival.Interval, c *survival.Curve) []float64 {
	out := make([]float64, len(obs))
	mass := c.Mass()
	for k, s := range c.Sets() {
		for i, o := range obs {
			if within(s, o) {
				out[i] += mass[k]
			}
		}
	}
	return out
}

// judge works out the log-likelihood and the gap apart from the package: d is taken at every upper end of a row, since each
// set on which the likelihood can still rise holds one.
func judge(obs []survival.Interval, weights []float64, c *survival.Curve) (loglik, gap float64) {
	prob := probabilities(obs, c)
	n := 0.0
	for i, p := range prob {
		if w := weight(weights, i); w > 0 {
			loglik += w * math.Log(p)
			n += w
		}
	}
	gap = math.Inf(-1)
	for k, at := range obs {
		if weight(weights, k) == 0 {
			continue
		}
		d := 0.0
		for i, o := range obs {
			if w := weight(weights, i); w > 0 && holds(o, at.R) {
				d += w / prob[i]
			}
		}
		gap = max(gap, d-n)
	}
	return loglik, gap
}

func weight(weights []float64, i int) float64 {
	if weights == nil {
		return 1
	}
	return weights[i]
}

// sound fails unless c is a proper distribution on sets in order whose own account of itself is true.
func sound(t *testing.T, obs []survival.Interval, weights []float64, c *survival.Curve) {
	t.Helper()
	sets, mass := c.Sets(), c.Mass()
	require.Len(t, mass, len(sets))
	sum := 0.0
	for k, m := range mass {
		require.Greater(t, m, 0.0)
		sum += m
		require.LessOrEqual(t, sets[k].L, sets[k].R)
		if k > 0 {
			require.LessOrEqual(t, sets[k-1].R, sets[k].L, "sets are apart: %v", sets)
		}
		for i, o := range obs { // a set lies in a row or apart from it
			if weight(weights, i) > 0 && !within(sets[k], o) {
				apart := sets[k].R <= o.L || o.R <= sets[k].L || sets[k].L == sets[k].R
				if o.L == o.R {
					apart = !holds(sets[k], o.L)
				}
				require.True(t, apart, "set %v cuts row %v", sets[k], o)
			}
		}
	}
	require.InDelta(t, 1, sum, 1e-12)
	loglik, gap := judge(obs, weights, c)
	require.InDelta(t, loglik, c.LogLik, 1e-9*(1+math.Abs(loglik)))
	require.InDelta(t, max(gap, 0), c.Gap, 1e-8*(1+c.N))
	require.True(t, c.Converged)
	require.Less(t, gap, 1e-6)
	require.Empty(t, c.Warnings())
}

// invented gives n rows of every kind on a grid of few times (many ties) or on distinct times.
func invented(rng *rand.Rand, n int, ties bool) []survival.Interval {
	obs := make([]survival.Interval, n)
	for i := range obs {
		o := survival.Interval{L: 12 * rng.Float64()}
		o.R = o.L + 6*rng.Float64()
		if ties {
			o.L, o.R = math.Floor(o.L), math.Floor(o.R)
		}
		switch rng.IntN(8) {
		case 0:
			o.L = 0
		case 1, 2:
			o.R = inf
		case 3:
			o.R = o.L
		}
		obs[i] = o
	}
	return obs
}
