package mixed

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"slices"
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/mathtest"
)

// part keeps the rows of a table (numbered from 1) that a rule keeps.
func part(t testing.TB, table *Table, keep func(row int) bool) *Table {
	t.Helper()
	columns := slices.Clone(table.columns)
	for j, c := range columns {
		var numbers []float64
		var labels []string
		for i := range table.rows {
			if !keep(i + 1) {
				continue
			}
			if c.numbers != nil {
				numbers = append(numbers, c.numbers[i])
			} else {
				labels = append(labels, c.labels[i])
			}
		}
		if c.numbers != nil {
			columns[j] = Numbers(c.name, numbers)
		} else {
			columns[j] = Labels(c.name, labels)
		}
	}
	out, err := NewTable(columns...)
	require.NoError(t, err)
	return out
}

// unbalanced is the crossed panel with the holes of testdata/mixed/joint.R.
func unbalanced(t testing.TB) *Fit {
	t.Helper()
	full := model(t, "crossed")
	label := func(name string) []string { c, _ := full.table.column(name); return c.labels }
	taster, drink := label("taster"), label("drink")
	time, err := full.table.numeric("time")
	require.NoError(t, err)
	fit, err := full.spec.Fit(part(t, full.table, func(row int) bool {
		i := row - 1
		return row%7 != 3 && !(taster[i] == "2" && time[i] > 10) && !(drink[i] == "1" && slices.Contains([]string{"3", "4", "5"}, taster[i]))
	}))
	require.NoError(t, err)
	return fit
}

// ergoWithHoles is ergostool less six rows, as in testdata/mixed/joint.R.
func ergoWithHoles(t testing.TB) *Fit {
	t.Helper()
	full := model(t, "ergostool")
	fit, err := full.spec.Fit(part(t, full.table, func(row int) bool { return !slices.Contains([]int{1, 6, 7, 12, 17, 30}, row) }))
	require.NoError(t, err)
	return fit
}

func TestJointReference(t *testing.T) {
	file, err := os.Open("../../testdata/mixed/joint.csv")
	require.NoError(t, err)
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	crossed, ergo := unbalanced(t), ergoWithHoles(t)
	unit := func(p int, at ...int) (out [][]float64) {
		for _, j := range at {
			row := make([]float64, p)
			row[j] = 1
			out = append(out, row)
		}
		return out
	}
	for _, r := range records[1:] {
		var fit *Fit
		var l [][]float64
		switch r[0] {
		case "crossed_style":
			fit, l = crossed, unit(6, 1, 2)
		case "crossed_slopes":
			fit, l = crossed, unit(6, 4, 5)
		case "crossed_all":
			fit, l = crossed, unit(6, 1, 2, 3, 4, 5)
		case "crossed_at_20":
			fit, l = crossed, [][]float64{{0, 1, 0, 0, 20, 0}, {0, 0, 1, 0, 0, 20}}
		case "ergostool_type":
			fit, l = ergo, unit(4, 1, 2, 3)
		case "ergostool_pairs":
			fit, l = ergo, [][]float64{{0, 1, -1, 0}, {0, 0, 1, -1}}
		case "dyestuff2_mean":
			fit, l = model(t, "dyestuff2"), unit(1, 0)
		}
		t.Run(r[0]+" "+r[1], func(t *testing.T) {
			method := map[string]DF{"Satterthwaite": Satterthwaite, "Kenward-Roger": KenwardRoger}[r[1]]
			d, err := fit.Degrees(method)
			require.NoError(t, err)
			got, err := d.Joint(l)
			require.NoError(t, err)
			want := make([]float64, 4)
			for i := range want {
				want[i], err = strconv.ParseFloat(r[2+i], 64)
				require.NoError(t, err)
			}
			source := "testdata/mixed/joint.R: lmerTest 3.1-3, pbkrtest 0.5.2, contest(m, L, ddf = " + r[1] + ")"
			require.Equal(t, want[0], got.Num)
			mathtest.CloseRel(t, "denominator", got.Den, want[1], 0, 1e-4, source)
			mathtest.CloseRel(t, "F", got.F, want[2], 0, 2e-5, source)
			mathtest.CloseRel(t, "p", got.P, want[3], 0, 2e-4, source)
			if len(l) > 1 { // rows that others imply change nothing
				more, err := d.Joint(append(slices.Clone(l), l[0], l[1]))
				require.NoError(t, err)
				require.InDelta(t, got.F, more.F, 1e-9*got.F)
				require.Equal(t, got.Num, more.Num)
			}
		})
	}
}

// One way, balanced: the mean has the standard error sqrt(MS between / n) on groups - 1 degrees of freedom.
func TestOneWayByHand(t *testing.T) {
	fit := model(t, "dyestuff")
	groups := map[int][]float64{}
	for i, g := range fit.groups[0].code {
		groups[g] = append(groups[g], fit.y[i])
	}
	grand, between := 0.0, 0.0
	for _, v := range fit.y {
		grand += v / float64(len(fit.y))
	}
	for _, g := range groups {
		mean := 0.0
		for _, v := range g {
			mean += v / float64(len(g))
		}
		between += float64(len(g)) * (mean - grand) * (mean - grand) / float64(len(groups)-1)
	}
	for _, df := range []DF{KenwardRoger, KenwardRogerDropped, Satterthwaite} {
		got, err := fit.Infer([]float64{1}, df)
		require.NoError(t, err)
		source := "worked by hand: analysis of variance, " + df.String()
		mathtest.CloseRel(t, "mean", got.Estimate, grand, 0, 1e-12, source)
		mathtest.CloseRel(t, "standard error", got.SE, math.Sqrt(between/float64(len(fit.y))), 0, 1e-7, source)
		mathtest.CloseRel(t, "df", got.DF, float64(len(groups)-1), 0, 1e-6, source)
		mathtest.CloseRel(t, "upper", got.Upper, grand+2.570581835636314*got.SE, 0, 1e-9, source+"; R 4.2.2 qt(.975, 5)")
	}
	normal, err := fit.Infer([]float64{1}, Normal)
	require.NoError(t, err)
	require.True(t, math.IsInf(normal.DF, 1))
	mathtest.CloseRel(t, "upper", normal.Upper, grand+1.959963984540054*normal.SE, 0, 1e-9, "R 4.2.2 qnorm(.975)")
}

// Two way, balanced: differences are on (types-1)(subjects-1) = 24, with the mean square of residuals.
func TestTwoWayByHand(t *testing.T) {
	fit := model(t, "ergostool")
	for _, df := range []DF{KenwardRoger, Satterthwaite} {
		got, err := fit.Infer([]float64{0, 1, -1, 0}, df)
		require.NoError(t, err)
		mathtest.CloseRel(t, "df", got.DF, 24, 0, 1e-6, "worked by hand: (4-1)(9-1)")
		mathtest.CloseRel(t, "standard error", got.SE, math.Sqrt(2*fit.Sigma()*fit.Sigma()/9), 0, 1e-9, "worked by hand")
		tests, err := fit.Tests(df)
		require.NoError(t, err)
		mathtest.CloseRel(t, "denominator", tests[0].Den, 24, 0, 1e-6, "worked by hand")
	}
}

// A variance of 0: Satterthwaite is left with the residual, n - 1 = 29; Kenward and Roger's batch may move, and has 5.
func TestSingular(t *testing.T) {
	fit := model(t, "dyestuff2")
	for df, want := range map[DF]float64{Satterthwaite: 29, KenwardRogerDropped: 29, KenwardRoger: 5} {
		d, err := fit.Degrees(df)
		require.NoError(t, err)
		got, err := d.Infer([]float64{1}, 0.95)
		require.NoError(t, err)
		require.InDelta(t, want, got.DF, 1e-5, df)
		mathtest.CloseRel(t, "standard error", got.SE, 0.678388031232524, 0, 1e-9, "lmerTest 3.1-3: lmer(Yield ~ 1 + (1 | Batch)), dyestuff2")
		require.Contains(t, d.Notes()[0], "intercept over Batch: variance 0")
	}
	// bends that tasters do not differ in, beside intercept and slope: a covariance matrix that is not of full rank
	one := again(t, model(t, "crossed"), func(s *Spec) { s.Random[0].Slopes = []Term{Polynomial{Name: "time", Degree: 2}} })
	require.NotEmpty(t, one.Singular())
	for _, df := range []DF{KenwardRoger, KenwardRogerDropped, Satterthwaite} {
		table, err := one.Coef(df)
		require.NoError(t, err)
		for _, c := range table {
			require.True(t, c.DF >= 1 && c.DF < 1000 && c.SE > 0 && c.SE < 1, "%v %v", df, c)
		}
	}
}

// Differences of the gradient give the information that dense matrices give.
func TestDifferencedInformation(t *testing.T) {
	for _, fit := range []*Fit{unbalanced(t), again(t, unbalanced(t), byML), model(t, "sleepstudy_missing"),
		again(t, model(t, "sleepstudy_missing"), func(s *Spec) { s.Random[0].Independent = true })} {
		o := fit.seen(Satterthwaite)
		dense := o.satterthwaite()
		o.zz = nil
		space := fit.problem.Space()
		o.gradient = func(theta, g []float64) { space.Gradient(theta, fit.REML(), g) }
		apart := o.satterthwaite()
		require.Equal(t, dense.notes, apart.notes)
		for j := range fit.beta {
			l := make([]float64, len(fit.beta))
			l[j] = 1
			want, err := dense.Infer(l, 0.95)
			require.NoError(t, err)
			got, err := apart.Infer(l, 0.95)
			require.NoError(t, err)
			require.InEpsilon(t, want.DF, got.DF, 1e-5)
		}
	}
}

func TestDegreesRefuse(t *testing.T) {
	fit := model(t, "ergostool")
	d, err := fit.Degrees(Default)
	require.NoError(t, err)
	for name, l := range map[string][]float64{"short": {1}, "zero": {0, 0, 0, 0}, "NaN": {1, math.NaN(), 0, 0}, "Inf": {1, math.Inf(1), 0, 0}} {
		_, err := d.Infer(l, 0.95)
		var cell *dataerr.Cell
		require.True(t, errors.As(err, &cell), name)
		_, err = d.Joint([][]float64{{1, 0, 0, 0}, l})
		require.True(t, errors.As(err, &cell), name)
		require.Equal(t, 2, cell.Row)
	}
	for _, level := range []float64{0, 1, math.NaN(), -1} {
		_, err := d.Infer([]float64{1, 0, 0, 0}, level)
		require.Error(t, err)
		_, err = fit.Profile(level)
		require.Error(t, err)
	}
	_, err = d.Joint(nil)
	require.Error(t, err)
	_, err = fit.Degrees(DF(17))
	require.Error(t, err)
	ml := again(t, fit, byML)
	_, err = ml.Degrees(KenwardRoger)
	require.ErrorContains(t, err, "REML")
	d, err = ml.Degrees(Default)
	require.NoError(t, err)
	require.Equal(t, Satterthwaite, d.Method())
	require.Contains(t, d.Notes()[0], "REML")
}

// Covariances of any rank keep as many directions as the set of their rank has dimensions: q r - r (r-1)/2.
func TestFaceHasItsDimension(t *testing.T) {
	for _, tt := range []struct {
		lambda []float64
		dims   int
	}{
		{[]float64{1, 0, 0, 0.5, 1, 0, 0.2, 0.3, 1}, 6},
		{[]float64{1, 0, 0, 0.5, 1, 0, 0.2, 0.3, 0}, 5},
		{[]float64{1, 0, 0, 0.5, 0, 0, 0.2, 0.3, 0}, 5},
		{[]float64{1, 0, 0, 0.5, 0, 0, 0.2, 0, 0}, 3},
		{[]float64{0, 0, 0, 0.5, 0, 0, 0.2, 0.3, 0}, 3}, // rank 2 of two
		{[]float64{0, 0, 0, 0, 0, 0, 0, 0, 0}, 0},
	} {
		b := block{group: "g", columns: []string{"a", "b", "c"}, scale: []float64{1, 1, 1}, levels: 4, lambda: tt.lambda}
		dirs, l := b.face()
		require.Len(t, dirs, tt.dims, tt.lambda)
		require.InDeltaSlice(t, crossproduct(tt.lambda, 3), crossproduct(l, 3), 1e-12)
		// no direction is a combination of others
		columns := make([][]float64, len(dirs))
		for i, d := range dirs {
			columns[i] = d.d
		}
		kept, _ := independent(columns)
		require.Len(t, kept, tt.dims)
	}
}

// A fit may be asked by several goroutines at once.
func TestDegreesAtOnce(t *testing.T) {
	fit := unbalanced(t)
	want, err := fit.Tests(KenwardRoger)
	require.NoError(t, err)
	var all sync.WaitGroup
	for range 4 {
		all.Add(1)
		go func() {
			defer all.Done()
			got, err := fit.Tests(KenwardRoger)
			if err != nil || !slices.Equal(got, want) {
				t.Errorf("%v %v", got, err)
			}
		}()
	}
	all.Wait()
}
