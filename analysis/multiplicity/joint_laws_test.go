package multiplicity_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/multiplicity"
)

// single is the p-value of one t statistic alone.
func single(c, df float64, side multiplicity.Side) float64 {
	p := math.Erfc(c/math.Sqrt2) / 2
	if !math.IsInf(df, 1) {
		p = distuv.StudentsT{Sigma: 1, Nu: df}.CDF(-c)
	}
	if side == multiplicity.TwoSided {
		return 2 * p
	}
	return p
}

// invented is a correlation matrix of n statistics in rank dimensions.
func invented(rng *rand.Rand, n, rank int) *mat.SymDense {
	l := make([][]float64, n)
	for i := range l {
		l[i] = make([]float64, rank)
		for k := range l[i] {
			l[i][k] = rng.NormFloat64()
		}
	}
	return of(ones(rank), l)
}

func TestOneStatisticIsStudentsT(t *testing.T) {
	for _, df := range []float64{0.5, 1, 2.5, 7, 30, 1000, 1e6, math.Inf(1)} {
		for _, side := range []multiplicity.Side{multiplicity.TwoSided, multiplicity.Greater} {
			for _, c := range []float64{0.1, 1, 3, 8, 25} {
				p, _ := tail(t, joint(t, equal(1, 0), df, side), c)
				mathtest.CloseRel(t, "one statistic", p, single(c, df, side), 1e-300, 1e-9, "gonum distuv.StudentsT")
			}
		}
	}
}

// Uncorrelated normal statistics are independent: Sidak's formula.
func TestIndependence(t *testing.T) {
	for _, n := range []int{2, 5, 20} {
		for _, c := range []float64{0.5, 2, 6} {
			p, _ := tail(t, joint(t, equal(n, 0), math.Inf(1), multiplicity.TwoSided), c)
			alone := make([]float64, n)
			alone[0] = single(c, math.Inf(1), multiplicity.TwoSided)
			want, err := multiplicity.Sidak(alone)
			require.NoError(t, err)
			mathtest.CloseRel(t, "independent", p, want[0], 0, 1e-10, "independence: Sidak's formula")
		}
	}
}

// Statistics that are one and the same count once, of whatever sign where both sides count; two groups without correlation
// make the product.
func TestPerfectCorrelationAndGroups(t *testing.T) {
	flip := func(i, j int) float64 { return math.Pow(-1, float64(i+j)) }
	for _, df := range []float64{6, math.Inf(1)} {
		p, _ := tail(t, joint(t, equal(4, 1), df, multiplicity.Greater), 2)
		mathtest.CloseRel(t, "same", p, single(2, df, multiplicity.Greater), 0, 1e-9, "one statistic")
		p, _ = tail(t, joint(t, filled(4, flip), df, multiplicity.TwoSided), 2)
		mathtest.CloseRel(t, "same up to sign", p, single(2, df, multiplicity.TwoSided), 0, 1e-9, "one statistic")
		p, _ = tail(t, joint(t, filled(4, flip), df, multiplicity.Greater), 2)
		mathtest.CloseRel(t, "both signs", p, single(2, df, multiplicity.TwoSided), 0, 1e-8, "one statistic, both sides")
	}
	groups := filled(6, func(i, j int) float64 {
		if i/3 == j/3 {
			return 0.5
		}
		return 0
	})
	j := joint(t, groups, math.Inf(1), multiplicity.TwoSided)
	require.Equal(t, []string{"product", "product"}, j.Methods())
	p, _ := tail(t, j, 2.3)
	one, _ := tail(t, joint(t, equal(3, 0.5), math.Inf(1), multiplicity.TwoSided), 2.3)
	mathtest.CloseRel(t, "two groups", p, 1-(1-one)*(1-one), 0, 1e-10, "independence of the groups")
}

// Over random matrices of any rank: between one p-value and Bonferroni's and Sidak's; falling in c; unchanged by order and,
// two-sided, by signs; the sides mirror each other.
func TestJointLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310401, 1))
	for range 12 {
		n := 2 + rng.IntN(5)
		corr := invented(rng, n, 1+rng.IntN(n+1))
		df := []float64{3, 11.5, 80, math.Inf(1)}[rng.IntN(4)]
		turned := rng.Perm(n)
		signs := make([]float64, n)
		for i := range signs {
			signs[i] = float64(1 - 2*rng.IntN(2))
		}
		again := filled(n, func(i, j int) float64 { return corr.At(turned[i], turned[j]) * signs[i] * signs[j] })
		mirror := filled(n, func(i, j int) float64 { return corr.At(turned[i], turned[j]) })
		last := 1.0
		j, k := joint(t, corr, df, multiplicity.TwoSided), joint(t, again, df, multiplicity.TwoSided)
		for c := 0.3; c < 7; c += 0.9 {
			p, within := tail(t, j, c)
			one := single(c, df, multiplicity.TwoSided)
			require.GreaterOrEqual(t, p, one*(1-1e-8))
			require.LessOrEqual(t, p, min(1, -math.Expm1(float64(n)*math.Log1p(-one)))*(1+1e-8)+within, "Sidak 1967: his bound holds whatever the correlation")
			require.Less(t, p, last)
			last = p
			q, also := tail(t, k, c)
			mathtest.Close(t, "order and signs", q, p, 2*(within+also)+1e-9, "symmetry")
		}
		j, k = joint(t, corr, df, multiplicity.Greater), joint(t, mirror, df, multiplicity.Less)
		for _, c := range []float64{-1.1, -0.1, 0.02, 1.7} {
			p, within := tail(t, j, c)
			q, also := tail(t, k, -c)
			mathtest.Close(t, "mirror", q, p, 2*(within+also)+1e-9, "symmetry")
		}
	}
}

// A larger correlation throughout makes the family smaller (Slepian 1962).
func TestMoreCorrelationCostsLess(t *testing.T) {
	for _, side := range []multiplicity.Side{multiplicity.TwoSided, multiplicity.Greater} {
		last := math.Inf(1)
		for _, rho := range []float64{0, 0.1, 0.4, 0.7, 0.95, 0.999, 1} {
			c, err := multiplicity.MaxTCritical(equal(5, rho), 15, 0.95, side)
			require.NoError(t, err)
			require.Less(t, c, last)
			last = c
		}
	}
}

// Critical and Adjust are inverse to each other at every level and side, to the last digits.
func TestCriticalInverts(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310401, 2))
	for _, corr := range []*mat.SymDense{invented(rng, 6, 3), invented(rng, 3, 2), products([]float64{0.2, -0.8, 0.95}), equal(1, 0)} {
		for _, side := range []multiplicity.Side{multiplicity.TwoSided, multiplicity.Greater, multiplicity.Less} {
			for _, level := range []float64{0.01, 0.5, 0.9, 0.9999} {
				j := joint(t, corr, 9, side)
				c, err := j.Critical(level)
				require.NoError(t, err)
				at := c.Value
				if side == multiplicity.Less {
					at = -at
				}
				p, _ := tail(t, j, at)
				mathtest.CloseRel(t, "p at the critical value", p, 1-level, 1e-9, 1e-8, "inverse")
			}
		}
	}
}

func TestSameOnAnyNumberOfCores(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310401, 4))
	corr := invented(rng, 7, 5)
	stats := []float64{0.3, -2, 2.5, 3, -4, 1, 6}
	before := slices.Clone(corr.RawSymmetric().Data)
	all, err := joint(t, corr, 14, multiplicity.TwoSided).Adjust(stats)
	require.NoError(t, err)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	alone, err := joint(t, corr, 14, multiplicity.TwoSided).Adjust(stats)
	require.NoError(t, err)
	require.Equal(t, all, alone)
	require.Equal(t, before, corr.RawSymmetric().Data)
	require.Equal(t, []float64{0.3, -2, 2.5, 3, -4, 1, 6}, stats)
}

func TestJointBadInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := equal(3, 0.5)
	for _, tt := range []struct {
		name  string
		corr  mat.Symmetric
		df    float64
		side  multiplicity.Side
		fault error
	}{
		{"nil", nil, 5, 0, dataerr.ErrTooFew},
		{"NaN inside", equal(3, nan), 5, 0, dataerr.ErrNumber},
		{"beyond 1", equal(3, 1.2), 5, 0, dataerr.ErrRange},
		{"a covariance", mat.NewSymDense(2, []float64{2, 1, 1, 2}), 5, 0, dataerr.ErrRange},
		{"impossible", equal(3, -0.9), 5, 0, dataerr.ErrConflict},
		{"no df", good, nan, 0, dataerr.ErrNumber},
		{"df 0", good, 0, 0, dataerr.ErrRange},
		{"df negative", good, math.Inf(-1), 0, dataerr.ErrRange},
		{"side", good, 5, 7, dataerr.ErrUnknown},
	} {
		_, err := multiplicity.NewJoint(tt.corr, tt.df, tt.side)
		require.ErrorIs(t, err, tt.fault, tt.name)
		require.NotEmpty(t, dataerr.All(err)[0].Want, tt.name)
	}
	_, err := multiplicity.MaxT([]float64{1, nan, 3}, good, 5, multiplicity.TwoSided)
	require.ErrorIs(t, err, dataerr.ErrNumber)
	require.Equal(t, 2, dataerr.All(err)[0].Row)
	_, err = multiplicity.MaxT([]float64{1}, good, 5, multiplicity.TwoSided)
	require.ErrorIs(t, err, dataerr.ErrConflict)
	for _, level := range []float64{0, 1, nan, 95} {
		_, err = multiplicity.MaxTCritical(good, 5, level, multiplicity.TwoSided)
		require.Error(t, err)
	}
	for _, within := range []float64{0, -1, 0.01, nan} {
		_, err = multiplicity.NewJointWithin(good, 5, multiplicity.TwoSided, within)
		require.Error(t, err)
	}
	p, err := multiplicity.MaxT([]float64{inf, -inf, 0}, good, 5, multiplicity.Greater)
	require.NoError(t, err)
	require.Equal(t, []float64{0, 1}, p[:2])
	require.Greater(t, p[2], 0.5)
	_, err = multiplicity.NewRange(1, 5)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	_, err = multiplicity.NewRange(3, nan)
	require.ErrorIs(t, err, dataerr.ErrNumber)
	_, _, err = joint(t, good, 5, multiplicity.TwoSided).Tail(nan)
	require.ErrorIs(t, err, dataerr.ErrNumber)
	_, err = multiplicity.Sidak([]float64{0.1, nan})
	require.ErrorIs(t, err, dataerr.ErrNumber)
}
