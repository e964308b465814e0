package mixed_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
	"lastsip/analysis/mixed"
	"lastsip/analysis/multiplicity"
)

// evening is an invented panel: tasters, styles sour, still and tall, ages 0, 4, 9 and 15 min, rows lost by chance.
func evening(t testing.TB, rng *rand.Rand, tasters int, lost float64) *mixed.Table {
	return eveningWhere(t, rng, tasters, func(string, float64) bool { return rng.Float64() >= lost })
}

// eveningWhere keeps the rows for which keep holds.
func eveningWhere(t testing.TB, rng *rand.Rand, tasters int, keep func(style string, age float64) bool) *mixed.Table {
	styles, ages := []string{"sour", "still", "tall"}, []float64{0, 4, 9, 15}
	var taster, style []string
	var age, score []float64
	for k := range tasters {
		offset, slope := rng.NormFloat64(), 0.05*rng.NormFloat64()
		for s, name := range styles {
			for _, a := range ages {
				if !keep(name, a) {
					continue
				}
				taster, style, age = append(taster, string(rune('a'+k))), append(style, name), append(age, a)
				score = append(score, 8+offset-0.3*float64(s)-(0.1+0.05*float64(s)+slope)*a+0.7*rng.NormFloat64())
			}
		}
	}
	return table(t, mixed.Labels("taster", taster), mixed.Labels("style", style), mixed.Numbers("age", age), mixed.Numbers("score", score))
}

var perTaster = []mixed.Random{{Group: []string{"taster"}}}

// In a balanced panel with one random intercept differences of means are differences of raw means, with standard error
// sqrt(2 residual mean square / tasters), (tasters-1)(types-1) degrees of freedom and correlation 1/2.
func TestContrastsByHand(t *testing.T) {
	f := compared(t, "ergostool", "ergostool")
	list := mixed.AgainstFirst(means(t, f, "Type"))
	got, err := f.Contrasts(list, mixed.ContrastOptions{DF: mixed.KenwardRoger, Adjust: mixed.MaxT})
	require.NoError(t, err)
	const source = "worked by hand: raw means 8.5556, 12.4444, 10.7778, 9.2222; residual mean square 1.21065 on 24 degrees of freedom"
	for i, want := range []float64{35.0 / 9, 20.0 / 9, 6.0 / 9} {
		mathtest.Close(t, "difference", got.List[i].Estimate, want, 1e-9, source)
		mathtest.Close(t, "standard error", got.List[i].SE, math.Sqrt(2*1.2106481481/9), 1e-6, source)
		mathtest.Close(t, "df", got.List[i].DF, 24, 1e-4, source)
	}
	mathtest.Close(t, "critical value", got.Critical, 2.51, 0.005, "Dunnett (1964) table, three comparisons, 24 degrees of freedom, from memory")
}

// Whatever the coding, means are the same; and MaxT lies between no adjustment and Sidak's, Tukey is MaxT where all means
// are equally precise.
func TestContrastLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(20310402, 1))
	for round := range 6 {
		lost := 0.15
		if round == 0 {
			lost = 0
		}
		data := evening(t, rng, 6, lost)
		var before *mixed.Comparisons
		for _, coding := range []mixed.Coding{mixed.Treatment, mixed.Sum, mixed.Helmert} {
			style := mixed.Factor{Name: "style", Contrast: coding}
			f := fit(t, mixed.Spec{Response: "score", Fixed: terms(style, num("age"), by(style, num("age"))), Random: perTaster}, data)
			pairs := mixed.AllPairs(means(t, f, "style", mixed.At{Name: "age", Values: []float64{9}}))
			kept := slices.Clone(pairs[0].L)
			family := map[mixed.Adjustment]*mixed.Comparisons{}
			for adjust := mixed.None; adjust <= mixed.Tukey; adjust++ {
				var err error
				family[adjust], err = f.Contrasts(pairs, mixed.ContrastOptions{DF: mixed.Satterthwaite, Adjust: adjust, Level: 0.9})
				require.NoError(t, err)
			}
			for i, c := range family[mixed.MaxT].List {
				alone, sidak, bonferroni, tukey := family[mixed.None].List[i], family[mixed.Sidak].List[i], family[mixed.Bonferroni].List[i], family[mixed.Tukey].List[i]
				require.Equal(t, alone.P, alone.Adjusted)
				require.False(t, alone.Joint)
				require.GreaterOrEqual(t, c.Adjusted, alone.P)
				require.LessOrEqual(t, sidak.Adjusted, bonferroni.Adjusted)
				require.Less(t, c.JointUpper-c.JointLower, bonferroni.JointUpper-bonferroni.JointLower)
				require.Greater(t, c.JointUpper-c.JointLower, alone.Upper-alone.Lower)
				require.Equal(t, c.Adjusted < 0.1, c.JointLower > 0 || c.JointUpper < 0, "p-values and limits decide alike")
				require.Equal(t, tukey.Adjusted < 0.1, tukey.JointLower > 0 || tukey.JointUpper < 0)
				if lost == 0 {
					mathtest.CloseRel(t, "Tukey", tukey.Adjusted, c.Adjusted, 1e-12, 1e-5, "equal precision: the studentised range is the exact law")
				}
				if before != nil {
					mathtest.CloseRel(t, "other coding", c.Adjusted, before.List[i].Adjusted, 1e-10, 1e-4, "coding changes no mean")
					mathtest.Close(t, "other coding", c.Estimate, before.List[i].Estimate, 1e-7, "coding changes no mean")
				}
			}
			require.Equal(t, kept, pairs[0].L)
			before = family[mixed.MaxT]
		}
	}
}

// A family of one needs no adjustment.
func TestOneContrast(t *testing.T) {
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("style"), num("age")), Random: perTaster}, evening(t, rand.New(rand.NewPCG(20310402, 2)), 5, 0.1))
	one, err := f.Linear("ageing", map[string]float64{"age": 10})
	require.NoError(t, err)
	for adjust := mixed.None; adjust <= mixed.Tukey; adjust++ {
		got, err := f.Contrasts([]mixed.Contrast{one}, mixed.ContrastOptions{Adjust: adjust})
		require.NoError(t, err)
		require.Equal(t, mixed.KenwardRoger, got.Method)
		c := got.List[0]
		mathtest.CloseRel(t, adjust.String(), c.Adjusted, c.P, 1e-300, 1e-8, "one test")
		if c.Joint {
			mathtest.CloseRel(t, adjust.String(), c.JointLower, c.Lower, 0, 1e-8, "one interval")
		}
	}
	got, err := f.Contrasts([]mixed.Contrast{one}, mixed.ContrastOptions{DF: mixed.Normal, Adjust: mixed.MaxT})
	require.NoError(t, err)
	mathtest.Close(t, "critical value", got.Critical, 1.959964, 1e-6, "normal table")
}

// Contrasts of different degrees of freedom: the smallest serves all, and the notes say so.
func TestMaxTSmallestDF(t *testing.T) {
	f := compared(t, "crossed", "sim_crossed")
	styles := means(t, f, "style")
	slopes, err := f.Slopes("time", nil)
	require.NoError(t, err)
	list := append(mixed.AgainstFirst(styles), slopes...)
	got, err := f.Contrasts(list, mixed.ContrastOptions{DF: mixed.Satterthwaite, Adjust: mixed.MaxT})
	require.NoError(t, err)
	least := math.Inf(1)
	for _, c := range got.List {
		least = min(least, c.DF)
		require.GreaterOrEqual(t, c.Adjusted, c.P)
	}
	require.Equal(t, least, got.FamilyDF)
	require.Len(t, got.Notes, 1)
	require.Contains(t, got.Notes[0], "the smallest")
}

// MaxT takes the correlations of the covariance that gives the standard errors, in small unbalanced panels Kenward and
// Roger's.
func TestMaxTCorrelation(t *testing.T) {
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("age")), Random: perTaster}, evening(t, rand.New(rand.NewPCG(20310402, 3)), 2, 0.5))
	d, err := f.Degrees(mixed.KenwardRoger)
	require.NoError(t, err)
	list := mixed.AgainstFirst(means(t, f, "age"))
	got, err := d.Contrasts(list, mixed.ContrastOptions{Adjust: mixed.MaxT})
	require.NoError(t, err)
	correlation := func(cov *mat.SymDense) *mat.SymDense {
		out := mat.NewSymDense(len(list), nil)
		for i := range list {
			for j := range i + 1 {
				a, b := mat.NewVecDense(4, list[i].L), mat.NewVecDense(4, list[j].L)
				out.SetSym(i, j, mat.Inner(a, cov, b)/math.Sqrt(mat.Inner(a, cov, a)*mat.Inner(b, cov, b)))
			}
		}
		return out
	}
	adjusted, plain := correlation(d.Covariance()), correlation(f.Covariance())
	want, err := multiplicity.MaxTCritical(adjusted, got.FamilyDF, 0.95, multiplicity.TwoSided)
	require.NoError(t, err)
	other, err := multiplicity.MaxTCritical(plain, got.FamilyDF, 0.95, multiplicity.TwoSided)
	require.NoError(t, err)
	require.Greater(t, math.Abs(other-want), 1e-6, "the two covariances are not the same here")
	mathtest.Close(t, "critical value", got.Critical, want, 1e-9, "package multiplicity at the adjusted covariance")
}

func TestContrastMakers(t *testing.T) {
	list := []mixed.Contrast{{"a", []float64{1, 0, 0}}, {"b", []float64{1, 1, 0}}, {"c", []float64{1, 0, 1}}}
	names := func(of []mixed.Contrast) (out []string) {
		for _, c := range of {
			out = append(out, c.Name)
		}
		return out
	}
	require.Equal(t, []string{"a - b", "a - c", "b - c"}, names(mixed.AllPairs(list)))
	require.Equal(t, []string{"b - a", "c - a"}, names(mixed.AgainstFirst(list)))
	require.Equal(t, []string{"b - a", "c - b"}, names(mixed.Consecutive(list)))
	require.Equal(t, []float64{0, 1, -1}, mixed.AllPairs(list)[2].L)
	require.Equal(t, []float64{0, -1, 1}, mixed.Consecutive(list)[1].L)
	both, err := mixed.Combine("rest less a", list, []float64{-1, 0.5, 0.5})
	require.NoError(t, err)
	require.Equal(t, []float64{0, 0.5, 0.5}, both.L)
	for _, none := range [][]mixed.Contrast{mixed.AllPairs(nil), mixed.AgainstFirst(nil), mixed.Consecutive(nil), mixed.AgainstFirst(list[:1])} {
		require.Empty(t, none)
	}
	_, err = mixed.Combine("short", list, []float64{1})
	require.ErrorIs(t, err, dataerr.ErrConflict)
}

func TestContrastBadInput(t *testing.T) {
	f := compared(t, "ergostool", "ergostool")
	list := means(t, f, "Type")
	pairs := mixed.AllPairs(list)
	for _, tt := range []struct {
		name    string
		of      []mixed.Contrast
		options mixed.ContrastOptions
		fault   error
		says    string
	}{
		{"nothing", nil, mixed.ContrastOptions{}, dataerr.ErrTooFew, "at least one"},
		{"too short", []mixed.Contrast{{"short", []float64{1}}}, mixed.ContrastOptions{}, dataerr.ErrConflict, "contrast short"},
		{"NaN", []mixed.Contrast{list[0], {"bad", []float64{0, math.NaN(), 0, 0}}}, mixed.ContrastOptions{}, dataerr.ErrNumber, "contrast bad"},
		{"a mean less itself", mixed.AllPairs([]mixed.Contrast{list[0], list[0]}), mixed.ContrastOptions{}, dataerr.ErrRange, "contrast T1 - T1"},
		{"adjustment", pairs, mixed.ContrastOptions{Adjust: 9}, dataerr.ErrUnknown, "MaxT"},
		{"degrees of freedom", pairs, mixed.ContrastOptions{DF: 9}, dataerr.ErrUnknown, "Satterthwaite"},
		{"level", pairs, mixed.ContrastOptions{Level: 95}, dataerr.ErrRange, "0.95"},
		{"Tukey of some pairs", pairs[:5], mixed.ContrastOptions{Adjust: mixed.Tukey}, dataerr.ErrConflict, "AllPairs"},
		{"Tukey of other contrasts", mixed.AgainstFirst(list), mixed.ContrastOptions{Adjust: mixed.Tukey}, dataerr.ErrConflict, "AllPairs"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := f.Contrasts(tt.of, tt.options)
			require.ErrorIs(t, err, tt.fault)
			require.ErrorContains(t, err, tt.says)
		})
	}
	_, err := f.Linear("x", map[string]float64{"Type[T9]": 1, "intercept": 1})
	require.ErrorIs(t, err, dataerr.ErrUnknown)
	require.ErrorContains(t, err, "Type[T2]")
}
