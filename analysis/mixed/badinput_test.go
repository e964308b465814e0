package mixed_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mixed"
)

var nan, inf = math.NaN(), math.Inf(1)

// tasting is four tasters times two styles times three ages, with a response that is not on any grid.
func tasting(extra ...mixed.Column) []mixed.Column {
	var score, age []float64
	var taster, style []string
	for i := range 4 {
		for j := range 2 {
			for k := range 3 {
				score = append(score, 7+float64(i)-0.3*float64(k)+0.5*float64(j)+math.Sin(float64(7*i+5*j+3*k)))
				age = append(age, float64(4*k))
				taster, style = append(taster, fmt.Sprint("t", i)), append(style, []string{"sour", "stirred"}[j])
			}
		}
	}
	return append([]mixed.Column{mixed.Numbers("score", score), mixed.Numbers("age", age), mixed.Labels("taster", taster), mixed.Labels("style", style)}, extra...)
}

func repeated(n int, value func(i int) float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = value(i)
	}
	return out
}

func TestSpecRefuses(t *testing.T) {
	each := make([]string, 24)
	for i := range each {
		each[i] = fmt.Sprint("row", i)
	}
	pair := make([]string, 24)
	for i := range pair {
		pair[i] = fmt.Sprint("glass", i/2)
	}
	data := table(t, tasting(
		mixed.Numbers("seven", slices.Repeat([]float64{7}, 24)), mixed.Labels("one", slices.Repeat([]string{"ann"}, 24)), mixed.Labels("row", each), mixed.Labels("glass", pair),
		mixed.Labels("person", slices.Concat(slices.Repeat([]string{"x"}, 6), slices.Repeat([]string{"a"}, 6), slices.Repeat([]string{"m"}, 6), slices.Repeat([]string{"c"}, 6))),
		mixed.Numbers("huge", repeated(24, func(i int) float64 { return 1e100 * float64(1+i) })), mixed.Numbers("nought", make([]float64, 24)),
	)...)
	base := mixed.Spec{Response: "score", Fixed: terms(num("age")), Random: []mixed.Random{over("taster")}}
	with := func(change func(s *mixed.Spec)) mixed.Spec {
		s := base
		change(&s)
		return s
	}
	fixed := func(list ...mixed.Term) mixed.Spec { return with(func(s *mixed.Spec) { s.Fixed = list }) }
	random := func(list ...mixed.Random) mixed.Spec { return with(func(s *mixed.Spec) { s.Random = list }) }
	spline := func(knots ...float64) mixed.Spec { return fixed(mixed.Spline{Name: "age", Knots: knots}) }
	_, err := base.Fit(data)
	require.NoError(t, err)
	for _, tt := range []struct {
		reason string
		spec   mixed.Spec
		says   string
	}{
		{"unknown response", with(func(s *mixed.Spec) { s.Response = "scor" }), "did you mean score"},
		{"no response", with(func(s *mixed.Spec) { s.Response = "" }), "column is missing"},
		{"labels as response", with(func(s *mixed.Spec) { s.Response = "style" }), "column style: \"sour\" is not a number"},
		{"constant response", with(func(s *mixed.Spec) { s.Response = "seven" }), "column seven: \"7\" does not vary"},
		{"unknown covariate", fixed(num("aeg")), "did you mean age"},
		{"name far off", fixed(num("temperature")), "the columns are score, age"},
		{"labels as numbers", fixed(num("style")), "column style: \"sour\" is not a number; this column holds labels"},
		{"a factor of one level", fixed(fac("one")), "at least two levels"},
		{"unknown base", fixed(mixed.Factor{Name: "style", Base: "punch"}), "a base is one of the levels, sour, stirred"},
		{"base of another coding", fixed(mixed.Factor{Name: "style", Base: "sour", Contrast: mixed.Sum}), "only Treatment"},
		{"unknown coding", fixed(mixed.Factor{Name: "style", Contrast: 9}), "contrasts are Treatment"},
		{"nil term", fixed(nil), "a term is nil"},
		{"nil in an interaction", fixed(by(num("age"), nil)), "a term is nil"},
		{"interaction of one", fixed(by(num("age"))), "at least two terms"},
		{"degree 0", fixed(mixed.Polynomial{Name: "age"}), "degree of at least 1"},
		{"degree above values", fixed(mixed.Polynomial{Name: "age", Degree: 3}), "3 distinct values"},
		{"overflow", fixed(mixed.Polynomial{Name: "huge", Degree: 3, Raw: true}), "huge^2: \"1e+200\" is out of range"},
		{"overflow of an orthogonal one", fixed(mixed.Polynomial{Name: "huge", Degree: 2}), "use another unit"},
		{"too many knots", spline(1, 2, 3), "3 distinct values"},
		{"knot outside", spline(9), "an interior knot lies between"},
		{"knot outside the data", fixed(mixed.Spline{Name: "age", Knots: []float64{9}, Boundary: [2]float64{0, 12}}), "inside the data, which go from 0 to 8"},
		{"knot twice", fixed(mixed.Spline{Name: "huge", Knots: []float64{5e100, 5e100}}), "rising order"},
		{"knot NaN", spline(nan), "a knot is a finite number"},
		{"boundary reversed", fixed(mixed.Spline{Name: "age", Boundary: [2]float64{8, 0}}), "lies below the second"},
		{"boundary NaN", fixed(mixed.Spline{Name: "age", Boundary: [2]float64{0, nan}}), "a boundary knot is a finite number"},
		{"nothing fixed", mixed.Spec{Response: "score", NoIntercept: true, Random: base.Random}, "needs a term"},
		{"only zeros fixed", mixed.Spec{Response: "score", NoIntercept: true, Fixed: terms(num("nought"))}, "no column of the fixed side is other than 0"},
		{"the response explains itself", fixed(num("score")), "is met exactly by the model; the fixed side leaves nothing"},
		{"no group", random(mixed.Random{}), "name the column"},
		{"unknown group", random(over("tasters")), "did you mean taster"},
		{"group twice", random(mixed.Random{Group: []string{"taster", "taster"}}), "each column of a grouping once"},
		{"one taster", random(over("one")), "column one: \"ann\" too few observations; a variance between levels needs at least two"},
		{"as many levels as rows", random(over("row")), "there are no more rows than levels"},
		{"as many effects as rows", random(over("glass", num("age"))), "12 levels times intercept and age are no fewer than the 24 rows"},
		{"twice the same term", random(over("taster"), over("taster")), "stands twice"},
		{"twice the same slope", random(over("taster", num("age")), mixed.Random{Group: []string{"taster"}, Slopes: terms(num("age")), NoIntercept: true}), "stands twice"},
		{"two names of one thing", random(over("taster"), over("person")), "person parts the rows as taster does"},
		{"a slope of zeros", random(over("taster", num("nought"))), "needs values other than 0"},
		{"a constant slope", random(over("taster", num("seven"))), "over taster it is 7 intercept"},
		{"all levels and an intercept", random(over("taster", mixed.Factor{Name: "style", Contrast: mixed.Indicator})), "over taster it is intercept - style[sour]"},
		{"no column", random(mixed.Random{Group: []string{"taster"}, NoIntercept: true}), "needs a slope"},
		{"unknown slope", random(over("taster", num("agee"))), "did you mean age"},
	} {
		t.Run(tt.reason, func(t *testing.T) {
			f, err := tt.spec.Fit(data)
			require.Nil(t, f)
			require.ErrorContains(t, err, tt.says)
			require.NotEmpty(t, dataerr.All(err), "located")
		})
	}
	_, err = base.Fit(nil)
	require.ErrorIs(t, err, dataerr.ErrTooFew)
	_, err = mixed.Spec{Response: "scor", Fixed: terms(num("aeg")), Random: []mixed.Random{over("tester")}}.Fit(data)
	require.Len(t, dataerr.All(err), 3, "every fault at once: %v", err)
	few := table(t, mixed.Numbers("y", []float64{1, 2, 4}), mixed.Numbers("a", []float64{1, 2, 3}), mixed.Numbers("b", []float64{4, 1, 1}))
	_, err = mixed.Spec{Response: "y", Fixed: terms(num("a"), num("b"))}.Fit(few)
	require.ErrorContains(t, err, "3 rows")
	require.ErrorIs(t, err, dataerr.ErrTooFew)
}

// A column may be called as a coefficient is; then that name states none.
func TestLinearRefusesAnAmbiguousName(t *testing.T) {
	columns := tasting(mixed.Numbers("intercept", repeated(24, func(i int) float64 { return float64(i % 5) })))
	f, err := mixed.Spec{Response: "score", Fixed: terms(num("intercept"), fac("style"))}.Fit(table(t, columns...))
	require.NoError(t, err)
	_, err = f.Linear("x", map[string]float64{"intercept": 1})
	require.ErrorIs(t, err, dataerr.ErrDuplicate)
	_, err = f.Linear("x", map[string]float64{f.Coefficients()[2]: 1})
	require.NoError(t, err)
}

// In units in which squares are no numbers the fit says so.
func TestUnitsBeyondNumbers(t *testing.T) {
	tiny := mixed.Numbers("tiny", repeated(24, func(i int) float64 { return 1e-300 * float64(i%3) }))
	_, err := mixed.Spec{Response: "score", Fixed: terms(num("tiny")), Random: []mixed.Random{over("taster", num("tiny"))}}.Fit(table(t, tasting(tiny)...))
	require.NotEmpty(t, dataerr.All(err))
	require.ErrorContains(t, err, "units")
}

// Columns that others determine are left out and named; the fit is that without them.
func TestAliased(t *testing.T) {
	columns := tasting()
	n := 24
	ages := repeated(n, func(i int) float64 { return float64(4 * (i % 3)) })
	columns = append(columns, mixed.Numbers("same", ages), mixed.Numbers("chill", repeated(n, func(i int) float64 { return 2 - 3*ages[i] })), mixed.Numbers("nought", make([]float64, n)))
	data := table(t, columns...)
	plain := fit(t, mixed.Spec{Response: "score", Fixed: terms(num("age")), Random: []mixed.Random{over("taster")}}, data)
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(num("age"), num("same"), num("chill"), num("nought")), Random: []mixed.Random{over("taster")}}, data)
	require.Equal(t, []string{"same = age", "chill = 2 intercept - 3 age", "nought = 0"}, f.Aliased())
	require.Equal(t, []string{"intercept", "age"}, f.Coefficients())
	require.Equal(t, plain.Beta(), f.Beta())
	require.Len(t, f.Warnings(), 3)
	require.Contains(t, f.Warnings()[1], "chill = 2 intercept - 3 age")
	require.Equal(t, []mixed.Part{{"intercept", []int{0}}, {"age", []int{1}}, {"same", nil}, {"chill", nil}, {"nought", nil}}, f.Parts())

	at := func(age, chill float64) *mixed.Table {
		return table(t, mixed.Numbers("age", []float64{age}), mixed.Numbers("same", []float64{age}), mixed.Numbers("chill", []float64{chill}), mixed.Numbers("nought", []float64{0}))
	}
	got, err := f.Predict(at(5, -13), mixed.Average)
	require.NoError(t, err)
	want, err := plain.Predict(at(5, -13), mixed.Average)
	require.NoError(t, err)
	require.Equal(t, want, got)
	_, err = f.Predict(at(5, 0), mixed.Average)
	require.ErrorContains(t, err, "observation 1, column chill: \"0\" is out of range; the rows of the fit do not tell this combination")
}

// A cell of an interaction without rows has no coefficient, and no prediction.
func TestEmptyCell(t *testing.T) {
	data := readRows(t, "machines", func(row map[string]string) bool {
		return row["Machine"] != "B" || row["Worker"] != "3" && row["Worker"] != "5"
	}, "Worker", "Machine")
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(fac("Machine"), fac("Worker"), by(fac("Machine"), fac("Worker")))}, data)
	require.Equal(t, []string{"Machine[B]:Worker[3] = 0", "Machine[B]:Worker[5] = 0"}, f.Aliased())
	require.Len(t, f.Beta(), 16)
	at := table(t, mixed.Labels("Machine", []string{"A", "B", "B"}), mixed.Labels("Worker", []string{"3", "2", "3"}))
	_, err := f.DesignRow(at)
	require.ErrorContains(t, err, "observation 3, column Machine[B]:Worker[3]")
	require.Len(t, dataerr.All(err), 1)
}

func TestWarnsOfAFlatSlope(t *testing.T) {
	height := repeated(24, func(i int) float64 { return []float64{1.6, 1.9, 1.7, 1.8}[i/6] })
	data := table(t, tasting(mixed.Numbers("height", height))...)
	f := fit(t, mixed.Spec{Response: "score", Fixed: terms(num("height")), Random: []mixed.Random{over("taster", num("height"))}}, data)
	require.Contains(t, f.Warnings(), "slope of height over taster: height does not vary within any level of taster, so that its variance is only told from how far levels scatter")
}

// A covariate far from 0 beside its range: digits are lost, too many at last.
func TestCovariateFarFromZero(t *testing.T) {
	clock := func(from float64) *mixed.Table {
		return table(t, tasting(mixed.Numbers("clock", repeated(24, func(i int) float64 { return from + float64(i%5) })))...)
	}
	line := mixed.Spec{Response: "score", Fixed: terms(num("clock")), Random: []mixed.Random{over("taster", num("clock"))}}
	want := fit(t, line, clock(0))
	near(t, want.Fitted(), fit(t, line, clock(1000)).Fitted(), 1e-6, "fitted")
	f := fit(t, line, clock(3e4))
	require.Contains(t, f.Warnings(), "column clock: but for 5e-05 of its size it is 3e+04 intercept; subtract a constant that lies amid the values, or leave it out, as digits are lost")
	near(t, want.Fitted(), f.Fitted(), 1e-4, "fitted")
	for _, from := range []float64{1e6, 1e7, 1e8} {
		_, err := line.Fit(clock(from))
		require.ErrorContains(t, err, "column clock: is nearly a combination of the columns before it; but for ")
		require.ErrorContains(t, err, " of its size it is "+map[float64]string{1e6: "1e+06", 1e7: "1e+07", 1e8: "1e+08"}[from]+" intercept; subtract a constant")
	}
}

// When tasters' means meet every row there is no residual, and no answer.
func TestPerfectFit(t *testing.T) {
	var y []float64
	var who []string
	for i := range 12 {
		y, who = append(y, []float64{3, 5, 9, 1}[i/3]), append(who, fmt.Sprint(i/3))
	}
	data := table(t, mixed.Numbers("y", y), mixed.Labels("who", who))
	for _, ml := range []bool{false, true} {
		f, err := mixed.Spec{Response: "y", Random: []mixed.Random{over("who")}, ML: ml}.Fit(data)
		require.Nil(t, f)
		require.ErrorContains(t, err, "column y: is met exactly by the model; fixed and random effects leave nothing")
	}
}
