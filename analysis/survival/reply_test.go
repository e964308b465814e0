package survival_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
)

// said gives units whose replies at 2, 4, 6 ... minutes are written as a for accepted and r for rejected, one subject each.
func said(rows ...string) []survival.ReplyUnit {
	var out []survival.ReplyUnit
	for i, row := range rows {
		u := survival.ReplyUnit{Subject: i}
		for j, c := range row {
			u.Replies = append(u.Replies, survival.Reply{Age: float64(2*j + 2), Reject: c == 'r'})
		}
		out = append(out, u)
	}
	return out
}

func fitReply(t *testing.T, m survival.ReplyModel, units []survival.ReplyUnit) *survival.ReplyFit {
	t.Helper()
	f, err := m.Fit(units)
	require.NoError(t, err)
	return f
}

func quantile(t *testing.T, f *survival.ReplyFit, x []float64, p float64) survival.ReplyEstimate {
	t.Helper()
	e, err := f.Quantile(x, p)
	require.NoError(t, err)
	require.False(t, math.IsNaN(e.From+e.To+e.Lower+e.Upper) && !math.IsInf(e.From, 0), "%+v", e)
	require.True(t, e.From <= e.To && e.Lower <= e.From && e.To <= e.Upper, "%+v", e)
	return e
}

// drawn is a panel of study s as units.
func drawn(seed uint64, s simulate.Study) []survival.ReplyUnit {
	return unitsOf(s.Draw(rand.New(rand.NewPCG(21, seed))), s.SideBySide)
}

// What does not change an answer: order of rows and replies, names of subjects, the unit of age, weight 2 for two subjects.
func TestReplyLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(22, 1))
	m := survival.ReplyModel{Slips: 0.02}
	for trial := range 12 {
		units := drawn(uint64(trial), simulate.Study{Tasters: 5 + trial%4, ReplySD: 0.25 * float64(trial%3)})
		f := fitReply(t, m, units)
		if f.Kind != survival.ReplyInterior {
			continue
		}
		q, tenth := quantile(t, f, nil, 0.5), quantile(t, f, nil, 0.1)
		same := func(g *survival.ReplyFit, k float64) {
			require.InDelta(t, f.LogLik, g.LogLik, 1e-8)
			for _, pair := range [][2]survival.ReplyEstimate{{q, quantile(t, g, nil, 0.5)}, {tenth, quantile(t, g, nil, 0.1)}} {
				require.InEpsilon(t, k*pair[0].From, pair[1].From, 1e-5)
				near(t, k*pair[0].Lower, pair[1].Lower, 2e-6)
				near(t, k*pair[0].Upper, pair[1].Upper, 2e-6)
			}
		}
		mixed := slices.Clone(units)
		rng.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		for i := range mixed {
			mixed[i].Subject = 1000 - 7*mixed[i].Subject
			mixed[i].Replies = slices.Clone(mixed[i].Replies)
			slices.Reverse(mixed[i].Replies)
		}
		same(fitReply(t, m, mixed), 1)
		same(fitReply(t, m, scaled(units, 60)), 60)
	}
	units := drawn(3, simulate.Study{Tasters: 6, ReplySD: 0.2})
	twice := append(slices.Clone(units), units[0])
	twice[6].Subject = 99
	a, err := m.FitWeighted(units, map[int]float64{0: 2})
	require.NoError(t, err)
	b := fitReply(t, m, twice)
	require.InDelta(t, a.LogLik, b.LogLik, 1e-9)
	require.InDelta(t, a.Coef[0], b.Coef[0], 1e-6)
	c, err := m.FitWeighted(twice, map[int]float64{99: 0})
	require.NoError(t, err)
	require.Equal(t, 6, c.Subjects)
	require.Equal(t, fitReply(t, m, units).LogLik, c.LogLik)
}

func near(t *testing.T, want, got, rel float64) {
	t.Helper()
	if want != got {
		require.InEpsilon(t, want, got, rel)
	}
}

func scaled(units []survival.ReplyUnit, k float64) []survival.ReplyUnit {
	out := slices.Clone(units)
	for i := range out {
		out[i].Replies = slices.Clone(out[i].Replies)
		for j := range out[i].Replies {
			out[i].Replies[j].Age *= k
		}
	}
	return out
}

// At the limits of a quantile the limits of the share meet: they profile the same set of curves.
func TestReplyShareInvertsQuantile(t *testing.T) {
	for seed := range uint64(6) {
		f := fitReply(t, survival.ReplyModel{Slips: 0.02}, drawn(seed, simulate.Study{Tasters: 12, ReplySD: 0.2 * float64(seed%2)}))
		for _, p := range []float64{0.5, 0.25} {
			q := quantile(t, f, nil, p)
			if math.IsInf(q.Upper, 1) || q.Lower == 0 {
				continue
			}
			at := func(age float64) survival.ReplyEstimate {
				s, err := f.Share(nil, age)
				require.NoError(t, err)
				require.True(t, s.Lower <= s.From && s.To <= s.Upper, "%+v", s)
				return s
			}
			require.InDelta(t, 1-p, at(q.From).From, 1e-9)
			require.InDelta(t, 1-p, at(q.Lower).Lower, 1e-4) // humps that differ by some 1e-5 are not told apart
			require.InDelta(t, 1-p, at(q.Upper).Upper, 1e-4)
		}
		s, err := f.Share(nil, 0)
		require.NoError(t, err)
		require.Equal(t, 1.0, s.From)
		k := math.Sqrt(12.0 / 11)
		z := (math.Log(9) - f.Coef[0]) / math.Hypot(k*f.Sigma, f.Tau)
		require.InDelta(t, 1-(0.02+0.96*math.Erfc(-z/math.Sqrt2)/2), f.OfReplies(nil, 9), 1e-12)
		require.Equal(t, 0.98, f.OfReplies(nil, 0))
	}
}

// Worked by hand. All between 4 and 6: every median there is as likely, and each reply costs log(0.98). Two tasters on the two
// sides of 4: half of the limits lie on each, whatever the spread. One age: two of three rejections.
func TestReplyPlateaus(t *testing.T) {
	m := survival.ReplyModel{Slips: 0.02}
	f := fitReply(t, m, said("aarr", "aarr", "aarr"))
	require.Equal(t, survival.ReplyPlateau, f.Kind)
	require.InDelta(t, 12*math.Log(0.98), f.LogLik, 1e-9)
	require.Zero(t, f.Sigma+f.Tau)
	q := quantile(t, f, nil, 0.5)
	require.Equal(t, []float64{4, 6}, []float64{math.Round(q.From*1e9) / 1e9, math.Round(q.To*1e9) / 1e9})
	require.True(t, q.Lower < 4 && q.Upper > 6)
	s, err := f.Share(nil, 5)
	require.NoError(t, err)
	require.Equal(t, []float64{0, 1}, []float64{s.From, s.To})
	s, err = f.Share(nil, 2)
	require.NoError(t, err)
	require.Equal(t, 1.0, s.From)
	require.ErrorIs(t, errors.Join(f.Warnings()...), survival.ErrReplyPlateau)

	f = fitReply(t, survival.ReplyModel{}, said("aarr", "arrr"))
	require.Equal(t, survival.ReplyPlateau, f.Kind)
	require.InDelta(t, 2*math.Log(0.5), f.LogLik, 1e-9)
	q = quantile(t, f, nil, 0.5)
	require.InDelta(t, 4, q.From, 1e-6)
	require.InDelta(t, 4, q.To, 1e-6)

	f = fitReply(t, survival.ReplyModel{}, said("a", "r", "r"))
	require.Equal(t, survival.ReplyDivided, f.Kind)
	require.InDelta(t, math.Log(4.0/27), f.LogLik, 1e-9)
	q = quantile(t, f, nil, 0.5)
	require.Equal(t, 0.0, q.From)
	require.InDelta(t, 2, q.To, 1e-9)
}

// No finite median: all accept, all reject, some limits below all ages and some above.
func TestReplyWithoutMedian(t *testing.T) {
	inf := math.Inf(1)
	for _, tt := range []struct {
		reason   string
		units    []survival.ReplyUnit
		slips    float64
		kind     survival.ReplyKind
		from, to float64
		loglik   float64
	}{
		{"never rejected", said("aaaa", "aaaa", "aaaa", "aaaa", "aaaa", "aaaa"), 0.02, survival.ReplyAllAccept, inf, inf, 24 * math.Log(0.98)},
		{"never accepted", said("rrrr", "rrrr", "rrr"), 0.02, survival.ReplyAllReject, 0, 0, 11 * math.Log(0.98)},
		{"two never, one always", said("aaaa", "rrrr", "aaaa"), 0, survival.ReplyDivided, inf, inf, math.Log(4.0 / 27)},
		{"half and half", said("aaaa", "rrrr"), 0, survival.ReplyDivided, 0, inf, 2 * math.Log(0.5)},
	} {
		t.Run(tt.reason, func(t *testing.T) {
			f := fitReply(t, survival.ReplyModel{Slips: tt.slips}, tt.units)
			require.Equal(t, tt.kind, f.Kind)
			require.InDelta(t, tt.loglik, f.LogLik, 1e-9)
			q := quantile(t, f, nil, 0.5)
			require.Equal(t, []float64{tt.from, tt.to}, []float64{q.From, q.To})
			require.ErrorIs(t, errors.Join(f.Warnings()...), survival.ErrReplyNoMedian)
			for _, age := range []float64{1, 5, 50} {
				s, err := f.Share(nil, age)
				require.NoError(t, err)
				require.True(t, s.Lower <= s.From && s.To <= s.Upper && s.Lower >= 0 && s.Upper <= 1, "%+v", s)
				require.False(t, math.IsNaN(f.OfReplies(nil, age)))
			}
		})
	}
	six := quantile(t, fitReply(t, survival.ReplyModel{Slips: 0.02}, said("aaaa", "aaaa", "aaaa", "aaaa", "aaaa", "aaaa")), nil, 0.5)
	require.True(t, six.Lower > 6 && six.Upper == inf, "six who accept at 8 say that half of all do at some age below: %+v", six)
}

// One group of a covariate that never rejects has an infinite ratio, bounded on one side; the other group has its numbers.
func TestReplySeparated(t *testing.T) {
	units := said("aarrr", "aaarr", "aaaar", "arrrr", "aaaaa", "aaaaa", "aaaaa", "aaaaa")
	for i := range units {
		units[i].X = []float64{float64(i / 4)}
	}
	f := fitReply(t, survival.ReplyModel{Slips: 0.02}, units)
	require.Equal(t, survival.ReplySeparated, f.Kind)
	require.ErrorIs(t, errors.Join(f.Warnings()...), survival.ErrReplySeparated)
	require.True(t, math.IsInf(f.Coef[1], 1))
	r, err := f.Ratio(1)
	require.NoError(t, err)
	require.True(t, math.IsInf(r.From, 1) && math.IsInf(r.Upper, 1) && r.Lower > 0.5 && !math.IsInf(r.Lower, 1), "%+v", r)
	require.True(t, math.IsInf(quantile(t, f, []float64{1}, 0.5).From, 1))
	alone := fitReply(t, survival.ReplyModel{Slips: 0.02}, said("aarrr", "aaarr", "aaaar", "arrrr"))
	require.InEpsilon(t, quantile(t, alone, nil, 0.5).From, quantile(t, f, []float64{0}, 0.5).From, 1e-4)
}

// Different tasters per style: the ratio turned round is its inverse, and its limits are where the likelihood ratio test is met.
func TestReplyRatio(t *testing.T) {
	m := survival.ReplyModel{Slips: 0.02}
	first, second := drawn(1, simulate.Study{Tasters: 8, ReplySD: 0.2}), drawn(2, simulate.Study{Tasters: 8, ReplySD: 0.2, Median: 9})
	make2 := func(a, b float64) []survival.ReplyUnit {
		var out []survival.ReplyUnit
		for i, u := range append(slices.Clone(first), second...) {
			u.Subject, u.X = i, []float64{a}
			if i >= len(first) {
				u.X = []float64{b}
			}
			out = append(out, u)
		}
		return out
	}
	f, g := fitReply(t, m, make2(0, 1)), fitReply(t, m, make2(1, 0))
	require.InDelta(t, f.LogLik, g.LogLik, 1e-8)
	r, err := f.Ratio(1)
	require.NoError(t, err)
	back, err := g.Ratio(1)
	require.NoError(t, err)
	require.InEpsilon(t, r.From, 1/back.From, 1e-5)
	require.InEpsilon(t, r.Lower, 1/back.Upper, 1e-5)
	require.InEpsilon(t, r.Upper, 1/back.Lower, 1e-5)
	require.InDelta(t, r.P, back.P, 1e-6)
	require.Equal(t, r.P < 0.05, r.Lower > 1 || r.Upper < 1)
	at := quantile(t, f, []float64{1}, 0.5).From / quantile(t, f, []float64{0}, 0.5).From
	require.InEpsilon(t, r.From, at, 1e-9)
	atP := m
	atP.Level = 1 - r.P
	h := fitReply(t, atP, make2(0, 1))
	edge, err := h.Ratio(1)
	require.NoError(t, err)
	require.InDelta(t, 1, min(math.Abs(edge.Lower-1), math.Abs(edge.Upper-1))+1, 1e-4, "at level 1-p an end is 1: %+v", edge)
}

// The same tasters for both styles: with limits that go together the pairs say much more than two panels.
func TestReplyPaired(t *testing.T) {
	var together, apart []survival.ReplyUnit
	for i, u := range drawn(5, simulate.Study{Tasters: 8, ReplySD: 0.1, LogSD: 0.5}) {
		for x := range 2 {
			v := survival.ReplyUnit{Subject: i, X: []float64{float64(x)}, Replies: slices.Clone(u.Replies)}
			for j := range v.Replies {
				v.Replies[j].Age *= 1 + 0.2*float64(x)
			}
			together = append(together, v)
			v.Subject = 100*x + i
			apart = append(apart, v)
		}
	}
	m := survival.ReplyModel{Slips: 0.02}
	f, g := fitReply(t, m, together), fitReply(t, m, apart)
	require.True(t, f.Apart)
	require.False(t, g.Apart)
	require.Equal(t, []int{8, 16, 16}, []int{f.Subjects, f.Units, g.Subjects})
	require.InDelta(t, 0, f.UnitSD, 1e-9, "each taster's two limits differ by the same factor")
	require.InDelta(t, f.Sigma, math.Hypot(f.SubjectSD, f.UnitSD), 1e-9)
	require.Greater(t, f.LogLik, g.LogLik+3)
	a, err := f.Ratio(1)
	require.NoError(t, err)
	b, err := g.Ratio(1)
	require.NoError(t, err)
	require.InDelta(t, 1.2, a.From, 0.02)
	require.Less(t, math.Log(a.Upper/a.Lower), math.Log(b.Upper/b.Lower)/2)
}

// A fit may be asked by many at once, and says the same to all.
func TestReplyConcurrent(t *testing.T) {
	f := fitReply(t, survival.ReplyModel{Slips: 0.02}, drawn(7, simulate.Study{Tasters: 6, ReplySD: 0.3}))
	want := quantile(t, f, nil, 0.25)
	got := make([]survival.ReplyEstimate, 8)
	var wg sync.WaitGroup
	for i := range got {
		wg.Add(1)
		go func() {
			defer wg.Done()
			got[i], _ = f.Quantile(nil, 0.25)
		}()
	}
	wg.Wait()
	for _, g := range got {
		require.Equal(t, want, g)
	}
}

// One or two tasters are fitted; one has no limits, two have them by the law for one degree of freedom.
func TestReplyFewTasters(t *testing.T) {
	one := quantile(t, fitReply(t, survival.ReplyModel{Slips: 0.02}, said("aaarr")), nil, 0.5)
	require.Equal(t, []float64{0, math.Inf(1)}, []float64{one.Lower, one.Upper})
	quantile(t, fitReply(t, survival.ReplyModel{Slips: 0.02}, said("aaarr", "aarrr")), nil, 0.5)
}

func TestReplyRefuses(t *testing.T) {
	ok := survival.Reply{Age: 2}
	for _, tt := range []struct {
		reason, column string
		model          survival.ReplyModel
		units          []survival.ReplyUnit
		weights        map[int]float64
		err            error
	}{
		{"no unit", "", survival.ReplyModel{}, nil, nil, dataerr.ErrTooFew},
		{"no reply", "Replies", survival.ReplyModel{}, []survival.ReplyUnit{{}}, nil, dataerr.ErrTooFew},
		{"NaN age", "Replies[1].Age", survival.ReplyModel{}, []survival.ReplyUnit{{Replies: []survival.Reply{ok, {Age: math.NaN()}}}}, nil, dataerr.ErrNumber},
		{"negative age", "Replies[0].Age", survival.ReplyModel{}, []survival.ReplyUnit{{Replies: []survival.Reply{{Age: -1}}}}, nil, dataerr.ErrRange},
		{"slips of a half", "Slips", survival.ReplyModel{Slips: 0.5}, said("ar"), nil, dataerr.ErrRange},
		{"NaN slips", "Slips", survival.ReplyModel{Slips: math.NaN()}, said("ar"), nil, dataerr.ErrNumber},
		{"level", "Level", survival.ReplyModel{Level: 1}, said("ar"), nil, dataerr.ErrRange},
		{"weights all 0", "weight", survival.ReplyModel{}, said("ar"), map[int]float64{0: 0}, dataerr.ErrTooFew},
		{"negative weight", "weight", survival.ReplyModel{}, said("ar"), map[int]float64{0: -1}, dataerr.ErrRange},
		{"X of two lengths", "X", survival.ReplyModel{}, []survival.ReplyUnit{{Replies: []survival.Reply{ok}}, {X: []float64{1}, Replies: []survival.Reply{ok}}}, nil, dataerr.ErrConflict},
		{"NaN in X", "X[0]", survival.ReplyModel{}, []survival.ReplyUnit{{X: []float64{math.NaN()}, Replies: []survival.Reply{ok}}}, nil, dataerr.ErrNumber},
		{"X that repeats the intercept", "X[0]", survival.ReplyModel{}, []survival.ReplyUnit{{X: []float64{1}, Replies: []survival.Reply{ok}}}, nil, dataerr.ErrConflict},
		{"wavering without noise or slips", "Replies", survival.ReplyModel{Sharp: true}, said("ara"), nil, dataerr.ErrConflict},
		{"rejections at age 0 alone, without slips", "Replies", survival.ReplyModel{}, []survival.ReplyUnit{{Replies: []survival.Reply{{Reject: true}}}}, nil, dataerr.ErrTooFew},
		{"age 0 alone", "Replies", survival.ReplyModel{Slips: 0.02}, []survival.ReplyUnit{{Replies: []survival.Reply{{}, {}}}}, nil, dataerr.ErrTooFew},
	} {
		t.Run(tt.reason, func(t *testing.T) {
			_, err := tt.model.FitWeighted(tt.units, tt.weights)
			require.ErrorIs(t, err, tt.err)
			var cell *dataerr.Cell
			require.ErrorAs(t, err, &cell)
			require.Equal(t, tt.column, cell.Column)
			require.NotEmpty(t, cell.Want)
		})
	}
	f := fitReply(t, survival.ReplyModel{}, append(said("aarr", "aaar"), survival.ReplyUnit{Subject: 9, Replies: []survival.Reply{{Age: 0, Reject: true}, {Age: 3}, {Age: 7, Reject: true}}}))
	require.Equal(t, 1, f.LeftOut)
	require.Equal(t, [][2]int{{2, 0}}, f.LeftOutRows)
	require.NotEmpty(t, f.Warnings())
	for _, p := range []float64{0, 1, math.NaN()} {
		_, err := f.Quantile(nil, p)
		require.Error(t, err)
	}
	_, err := f.Quantile([]float64{1}, 0.5)
	require.ErrorIs(t, err, dataerr.ErrConflict)
	_, err = f.Share(nil, -1)
	require.ErrorIs(t, err, dataerr.ErrRange)
	_, err = f.Ratio(1)
	require.ErrorIs(t, err, dataerr.ErrRange)
	require.True(t, math.IsNaN(f.OfReplies(nil, -1)))
}
