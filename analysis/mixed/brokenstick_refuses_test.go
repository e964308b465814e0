package mixed_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mixed"
)

func TestBrokenStickRefuses(t *testing.T) {
	age := []float64{0, 2, 4, 6, 8, 0, 2, 4, 6, 8}
	score := []float64{8, 7.5, 7.4, 6, 5, 7, 6.8, 6.1, 5, 3.5}
	of := func(f func(a float64) float64) []float64 {
		return repeated(10, func(i int) float64 { return f(age[i]) })
	}
	data := table(t, mixed.Numbers("age", age), mixed.Numbers("score", score), mixed.Numbers("flat", of(func(float64) float64 { return 7 })),
		mixed.Numbers("line", of(func(a float64) float64 { return 8 - 0.3*a })), mixed.Numbers("stick", of(broken(5, 0.4))),
		mixed.Numbers("three", of(func(a float64) float64 { return min(a, 4) })), mixed.Labels("taster", strings.Split("aaaaabbbbb", "")),
		mixed.Labels("solo", slices.Repeat([]string{"ann"}, 10)))
	short := table(t, mixed.Numbers("age", age[:4]), mixed.Numbers("score", score[:4]))
	spec := mixed.Spec{Response: "score"}
	for _, tt := range []struct {
		name, want string
		b          mixed.BrokenStick
		data       *mixed.Table
		err        error
	}{
		{"no table", "at least one row", mixed.BrokenStick{Spec: spec, Name: "age"}, nil, dataerr.ErrTooFew},
		{"three steps", "at least 4", mixed.BrokenStick{Spec: spec, Name: "three"}, data, dataerr.ErrTooFew},
		{"five steps, three a side", "at least 6", mixed.BrokenStick{Spec: spec, Name: "age", MinSteps: 3}, data, dataerr.ErrTooFew},
		{"steps joined", "1 steps", mixed.BrokenStick{Spec: spec, Name: "age", Within: 2}, data, dataerr.ErrTooFew},
		{"one a side", "MinSteps", mixed.BrokenStick{Spec: spec, Name: "age", MinSteps: 1}, data, dataerr.ErrRange},
		{"negative cut", "Cut", mixed.BrokenStick{Spec: spec, Name: "age", Cut: -1}, data, dataerr.ErrRange},
		{"cut without value", "Cut", mixed.BrokenStick{Spec: spec, Name: "age", Cut: nan}, data, dataerr.ErrRange},
		{"infinite cut", "Cut", mixed.BrokenStick{Spec: spec, Name: "age", Cut: inf}, data, dataerr.ErrRange},
		{"negative join", "Within", mixed.BrokenStick{Spec: spec, Name: "age", Within: nan}, data, dataerr.ErrRange},
		{"unknown column", "did you mean age", mixed.BrokenStick{Spec: spec, Name: "ages"}, data, dataerr.ErrNoColumn},
		{"labels", "holds labels", mixed.BrokenStick{Spec: spec, Name: "taster"}, data, dataerr.ErrNumber},
		{"unknown response", "cost", mixed.BrokenStick{Spec: mixed.Spec{Response: "cost"}, Name: "age"}, data, dataerr.ErrNoColumn},
		{"flat response", "single value", mixed.BrokenStick{Spec: mixed.Spec{Response: "flat"}, Name: "age"}, data, nil},
		{"exact line", "leaves nothing", mixed.BrokenStick{Spec: mixed.Spec{Response: "line"}, Name: "age"}, data, nil},
		{"exact stick", "met exactly", mixed.BrokenStick{Spec: mixed.Spec{Response: "stick"}, Name: "age"}, data, nil},
		{"too few rows", "4 rows", mixed.BrokenStick{Spec: spec, Name: "age"}, short, dataerr.ErrTooFew},
		{"ages as levels", "combination of the terms before", mixed.BrokenStick{Spec: mixed.Spec{Response: "score", Fixed: terms(fac("age"))}, Name: "age"}, data, dataerr.ErrConflict},
		{"ages as levels behind", "cannot be told", mixed.BrokenStick{Spec: mixed.Spec{Response: "score", Fixed: terms(num("age"), fac("age"))}, Name: "age"}, data, dataerr.ErrConflict},
		{"one taster", "at least two", mixed.BrokenStick{Spec: mixed.Spec{Response: "score", Random: []mixed.Random{over("solo")}}, Name: "age"}, data, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b, err := tt.b.Fit(tt.data)
			require.Error(t, err)
			require.Nil(t, b)
			require.NotEmpty(t, dataerr.All(err))
			require.ErrorContains(t, err, tt.want)
			if tt.err != nil {
				require.ErrorIs(t, err, tt.err)
			}
		})
	}
	b := bend(t, mixed.BrokenStick{Spec: spec, Name: "age"}, data)
	for _, draws := range []int{0, -3, 1e8} {
		_, err := b.Bootstrap(1, draws)
		require.ErrorIs(t, err, dataerr.ErrRange)
	}
	_, err := b.Profile(4, 1)
	require.ErrorIs(t, err, dataerr.ErrRange)
	_, err = b.Profile(nan)
	require.ErrorIs(t, err, dataerr.ErrRange)
	for _, at := range []float64{nan, inf} {
		_, err := mixed.Spec{Response: "score", Fixed: terms(mixed.Hinge{Name: "age", At: at})}.Fit(data)
		require.ErrorIs(t, err, dataerr.ErrNumber)
	}
}

// Doubts stand in the warnings: a term without variance, a direction that the data do not tell, a bend at the edge.
func TestBendWarnings(t *testing.T) {
	rng := rand.New(rand.NewPCG(20320309, 1))
	var p tasted
	for i := range 16 { // tasters with one mean, each at one age
		up, a := rng.NormFloat64(), float64(i/2)
		for _, e := range []float64{up, 0.3, -0.3 - up} {
			p.score, p.age, p.taster = append(p.score, 8-0.2*a+e), append(p.age, a), append(p.taster, fmt.Sprint("t", i))
		}
	}
	b, data := onset(4.9), p.table(t)
	b.Spec.Random = []mixed.Random{over("taster")}
	require.Contains(t, strings.Join(bend(t, b, data).Warnings(), "\n"), "singular: intercept over taster: variance 0")

	edge := 0
	for range 20 {
		found := bend(t, onset(4.9), decline(rng, 3, straightFall).table(t))
		if found.AtEdge {
			edge++
			require.Contains(t, strings.Join(found.Warnings(), "\n"), "edge of the range searched")
		}
		require.Equal(t, found.AtEdge, found.At == found.From || found.At == found.To)
	}
	require.Positive(t, edge)
}
