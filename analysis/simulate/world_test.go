package simulate_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/simulate"
)

// limitsOf gives each taster's own limit once, rising.
func limitsOf(glasses []simulate.Glass) []float64 {
	var out []float64
	for i, g := range glasses {
		if i == 0 || g.Taster != glasses[i-1].Taster {
			out = append(out, g.Limit)
		}
	}
	slices.Sort(out)
	return out
}

var lawful = []simulate.Study{
	{},
	{Median: 12, LogSD: 0.6},
	{Weibull: true},
	{Weibull: true, LogSD: 0.8, Median: 3},
	{OtherShare: 0.3, OtherRatio: 0.5, LogSD: 0.25},
	{OtherShare: 0.6, OtherRatio: 3, Weibull: true},
	{OtherShare: 1, OtherRatio: 2},
	{OtherShare: 0.2},
}

// The quantiles of many drawn limits are the stated ones, and share and quantile undo each other.
func TestTruthIsThatOfTheDraws(t *testing.T) {
	const n = 40000
	for i, s := range lawful {
		s.Tasters, s.Ages = n, []float64{7}
		own := limitsOf(s.Draw(stream(uint64(60 + i))))
		require.Len(t, own, n)
		for _, p := range []float64{0.01, 0.1, 0.25, 0.5, 0.75, 0.9, 0.99} {
			q := s.TrueQuantile(p)
			mathtest.Close(t, "share below the quantile", s.TrueShare(q), p, 1e-9, "share and quantile are inverse")
			below, _ := slices.BinarySearch(own, q)
			mathtest.Close(t, fmt.Sprintf("%+v: share of drawn limits below the %v quantile", s, p), float64(below)/n, p, 4*math.Sqrt(p*(1-p)/n),
				"binomial; four Monte Carlo standard errors")
		}
		require.Equal(t, s.TrueQuantile(0.5), s.TrueMedian())
	}
}

func TestTruthByHand(t *testing.T) {
	const hand = "closed form, worked by hand"
	mathtest.Close(t, "log-normal tenth", simulate.Study{}.TrueQuantile(0.1), 7*math.Exp(-0.35*1.2815515655446004), 1e-9, hand)
	k := math.Pi / math.Sqrt(6) / 0.35
	mathtest.Close(t, "Weibull tenth", simulate.Study{Weibull: true}.TrueQuantile(0.1), 7*math.Pow(math.Log(10.0/9)/math.Ln2, 1/k), 1e-9, hand)
	mathtest.Close(t, "Weibull tenth over the median", simulate.Study{Weibull: true}.TrueQuantile(0.1)/7, 0.60, 0.005, hand)
	mathtest.Close(t, "log-normal tenth over the median", simulate.Study{}.TrueQuantile(0.1)/7, 0.64, 0.005, hand)
	require.Equal(t, 7.0, simulate.Study{Weibull: true}.TrueMedian())
	require.Equal(t, 7.0, simulate.Study{LogSD: -1}.TrueQuantile(0.3))
	// two points, 3.5 for 30 % and 7 for the rest
	two := simulate.Study{LogSD: -1, OtherShare: 0.3, OtherRatio: 0.5}
	require.Equal(t, 0.3, two.TrueShare(3.5))
	mathtest.Close(t, "lower point", two.TrueQuantile(0.29), 3.5, 1e-12, hand)
	mathtest.Close(t, "upper point", two.TrueQuantile(0.31), 7, 1e-12, hand)
	// half of each kind, far apart on the log scale and alike: the median lies at the geometric mean
	mathtest.Close(t, "two equal kinds", simulate.Study{OtherShare: 0.5, OtherRatio: 0.25}.TrueMedian(), 3.5, 1e-9, "symmetry")
	for _, p := range []float64{0, 1, -1, math.NaN()} {
		require.Panics(t, func() { simulate.Study{}.TrueQuantile(p) })
	}
}

// The Weibull law has the log-sd asked for.
func TestWeibullLogSD(t *testing.T) {
	const n = 40000
	own := limitsOf(simulate.Study{Weibull: true, LogSD: 0.5, Tasters: n, Ages: []float64{7}}.Draw(stream(70)))
	mean, squares := 0.0, 0.0
	for _, v := range own {
		mean += math.Log(v) / n
	}
	for _, v := range own {
		squares += (math.Log(v) - mean) * (math.Log(v) - mean) / n
	}
	// the kurtosis of a Gumbel law is 5.4, so that the variance of a sample variance is 4.4 sigma^4/n
	mathtest.Close(t, "log variance", squares, 0.25, 4*0.25*math.Sqrt(4.4/n), "four Monte Carlo standard errors")
	const gamma = 0.5772156649015329
	shape := math.Pi / math.Sqrt(6) / 0.5
	mathtest.Close(t, "mean log", mean, math.Log(7)-(gamma+math.Log(math.Ln2))/shape, 4*0.5/math.Sqrt(n), "mean of a Gumbel law; four Monte Carlo standard errors")
}

// A drink that is not ready: those tasters reject young glasses and are then like the others.
func TestYoung(t *testing.T) {
	const n = 20000
	s := simulate.Study{Tasters: n, YoungShare: 0.3, YoungAge: 3, Slips: 0.02, Ages: []float64{1, 2, 3, 4, 6, 8, 30}}
	no, at3, first, short := 0, 0, 0, 0
	for _, g := range s.Draw(stream(71)) {
		if g.Reject[0] {
			no++
		}
		if g.Limit > 7 && g.Reject[2] {
			at3++
		}
		if yes := slices.Index(g.Reject, false); yes >= 0 {
			first++
			after := slices.Index(g.Reject[yes:], true)
			if after >= 0 && len(g.Ages) < min(len(s.Ages), yes+after+3) {
				short++
			}
		} else {
			require.Len(t, g.Ages, len(s.Ages), "whoever never accepts goes to the end")
		}
	}
	slips := s.Slips + (1-2*s.Slips)*s.TrueShare(1)
	want := 0.3*(1-s.Slips) + 0.7*slips
	mathtest.Close(t, "share rejecting at 1 min", float64(no)/n, want, 4*math.Sqrt(want*(1-want)/n), "the law; four Monte Carlo standard errors")
	mathtest.Close(t, "slips at 3 min of those with late limits", float64(at3)/(n/2), s.Slips, 4*math.Sqrt(0.02*0.98/(n/2)), "the law; four Monte Carlo standard errors")
	require.Greater(t, first, n/2)
	require.Zero(t, short, "an early rejection does not end the glass")
	require.Equal(t, 7.0, s.TrueMedian())
}

// A taster who always repeats the own "no" never goes back; at a chance in between, replies after a rejection are p + (1-p) times
// those of the law.
func TestRepeatNo(t *testing.T) {
	s := simulate.Study{Tasters: 20000, LogSD: -1, ReplySD: 0.5, RoundsAfter: toEnd, Ages: []float64{4, 7}}
	for _, p := range []float64{0, 0.7, 1} {
		s.RepeatNo = p
		said, again := 0.0, 0.0
		for _, g := range s.Draw(stream(72)) {
			if g.Reject[0] {
				said++
				if g.Reject[1] {
					again++
				}
			}
		}
		want := p + (1-p)*0.5 // at the limit the law says one half
		mathtest.Close(t, "share of repeated rejections", again/said, want, 4*math.Sqrt(want*(1-want)/said), "the law; four Monte Carlo standard errors")
	}
	side := simulate.Study{Tasters: 200, SideBySide: true, ReplySD: 0.5}
	plain := side.Draw(stream(73))
	side.RepeatNo = 1
	require.Equal(t, plain, side.Draw(stream(73)), "side by side nobody knows the glass again")
}

// Zero values leave the usual draws alone: what a field does not ask for draws nothing.
func TestNeutralValuesChangeNothing(t *testing.T) {
	plain := simulate.Study{ReplySD: 0.3, Slips: 0.02}
	same := plain
	same.OtherRatio, same.YoungAge = 0.3, 5
	require.Equal(t, plain.Draw(stream(74)), same.Draw(stream(74)))
}

func TestPair(t *testing.T) {
	const n = 20000
	for _, rho := range []float64{0, 0.6, 1} {
		p := simulate.Pair{Study: simulate.Study{Tasters: n, Ages: []float64{7}}, Ratio: 1.3, Rho: rho}
		first, second := p.Draw(stream(75))
		require.Len(t, first, n)
		require.Len(t, second, n)
		var mean, cross, var1, var2 float64
		for i := range first {
			require.Equal(t, first[i].Taster, second[i].Taster)
			a, b := math.Log(first[i].Limit/7), math.Log(second[i].Limit/(7*1.3))
			mean += b / n
			cross += a * b / n
			var1 += a * a / n
			var2 += b * b / n
		}
		mathtest.Close(t, "mean log of the second", mean, 0, 4*0.35/math.Sqrt(n), "four Monte Carlo standard errors")
		mathtest.Close(t, "correlation", cross/math.Sqrt(var1*var2), rho, 4*(1-rho*rho)/math.Sqrt(n)+1e-12, "four large-sample standard errors")
	}
	p := simulate.Pair{Study: simulate.Study{Weibull: true}, Ratio: 1.3}
	mathtest.Close(t, "second median", p.Second().TrueMedian(), 9.1, 1e-9, "7 times 1.3")
	require.Equal(t, 7.0, p.TrueMedian())
}

func TestPairKindsAndTasters(t *testing.T) {
	two := simulate.Study{Tasters: 50, LogSD: -1, OtherShare: 0.5, OtherRatio: 0.1, Ages: []float64{2, 7}}
	first, second := simulate.Pair{Study: two}.Draw(stream(76))
	other := 0
	for i := range first {
		require.Equal(t, first[i].Limit, second[i].Limit, "one taster is of one kind")
		if first[i].Limit < 1 {
			other++
		}
	}
	require.Greater(t, other, 10)
	first, second = simulate.Pair{Study: two, Apart: true}.Draw(stream(76))
	differ := 0
	for i := range first {
		require.Equal(t, i, first[i].Taster)
		require.Equal(t, 50+i, second[i].Taster, "the second style has tasters of its own")
		if first[i].Limit != second[i].Limit {
			differ++
		}
	}
	require.Greater(t, differ, 10)
	side := two
	side.SideBySide = true
	first, second = simulate.Pair{Study: side, Rho: 0.6}.Draw(stream(77))
	require.Len(t, first, 100)
	require.Len(t, second, 100)
}

func TestWorldCheck(t *testing.T) {
	for _, tt := range []struct {
		column string
		s      simulate.Study
	}{{"OtherShare", simulate.Study{OtherShare: 1.2}}, {"OtherRatio", simulate.Study{OtherRatio: -1}}, {"YoungShare", simulate.Study{YoungShare: math.NaN()}},
		{"YoungAge", simulate.Study{YoungAge: -2}}, {"RepeatNo", simulate.Study{RepeatNo: 2}}} {
		cells := dataerr.All(tt.s.Check())
		require.Len(t, cells, 1)
		require.Equal(t, tt.column, cells[0].Column)
		require.Panics(t, func() { tt.s.TrueMedian() })
	}
	require.NoError(t, simulate.Pair{Rho: 1, Ratio: 2}.Check())
	for _, tt := range []struct {
		column string
		p      simulate.Pair
	}{{"Rho", simulate.Pair{Rho: 1.1}}, {"Rho", simulate.Pair{Rho: math.NaN()}}, {"Rho", simulate.Pair{Rho: 0.5, Apart: true}}, {"Ratio", simulate.Pair{Ratio: -1}},
		{"Slips", simulate.Pair{Study: simulate.Study{Slips: 1}}}} {
		cells := dataerr.All(tt.p.Check())
		require.Len(t, cells, 1)
		require.Equal(t, tt.column, cells[0].Column)
		require.Panics(t, func() { tt.p.Draw(stream(1)) })
	}
}
