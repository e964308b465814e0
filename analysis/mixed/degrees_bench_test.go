package mixed

import (
	"encoding/csv"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Benchmarks of tests and resampling. Those of the panel read panel1.csv (2,880 rows) from BENCH_DATA, where a program in
// another language that fits the same rows has written it, and are skipped without it:
//
//	BENCH_DATA=folder go test ./analysis/mixed -run - -bench 'Degrees|Bootstrap|Profile' -count 10

func panelOf(b *testing.B) (*Table, Spec) {
	folder := os.Getenv("BENCH_DATA")
	file, err := os.Open(filepath.Join(folder, "panel1.csv"))
	if folder == "" || err != nil {
		b.Skip("no panel1.csv in BENCH_DATA")
	}
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	require.NoError(b, err)
	numbers, labels := map[string][]float64{}, map[string][]string{}
	for _, r := range records[1:] {
		for j, name := range records[0] {
			switch name {
			case "age", "score":
				v, err := strconv.ParseFloat(r[j], 64)
				require.NoError(b, err)
				numbers[name] = append(numbers[name], v)
			case "taster", "style", "session":
				labels[name] = append(labels[name], r[j])
			}
		}
	}
	table, err := NewTable(Numbers("age", numbers["age"]), Numbers("score", numbers["score"]), Labels("taster", labels["taster"]),
		Labels("style", labels["style"]), Labels("session", labels["session"]))
	require.NoError(b, err)
	style, age := Factor{Name: "style"}, Numeric{Name: "age"}
	return table, Spec{Response: "score", Fixed: []Term{style, age, Interaction{Of: []Term{style, age}}}, Random: []Random{
		{Group: []string{"taster"}, Slopes: []Term{age}}, {Group: []string{"session"}}, {Group: []string{"taster", "style"}},
	}}
}

func BenchmarkDegrees(b *testing.B) {
	table, spec := panelOf(b)
	fit, err := spec.Fit(table)
	require.NoError(b, err)
	b.Run("fit and Satterthwaite tests", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			fit, err := spec.Fit(table)
			require.NoError(b, err)
			_, err = fit.Tests(Satterthwaite)
			require.NoError(b, err)
		}
	})
	for _, df := range []DF{Satterthwaite, KenwardRoger} {
		b.Run(df.String()+" tests", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := fit.Tests(df)
				require.NoError(b, err)
			}
		})
	}
	b.Run("one contrast", func(b *testing.B) {
		d, err := fit.Degrees(KenwardRoger)
		require.NoError(b, err)
		l := []float64{1, 0, 0, 0, 0, 0, 6, 0, 0, 0, 0, 0}
		b.ReportAllocs()
		for b.Loop() {
			_, err := d.Infer(l, 0.95)
			require.NoError(b, err)
		}
	})
}

// 200 refits of sleepstudy by ML, of the fixed effects.
func BenchmarkBootstrap200(b *testing.B) {
	fit := again(b, model(b, "sleepstudy_corr"), byML)
	b.ReportAllocs()
	for b.Loop() {
		_, err := fit.Bootstrap(1, 200, firstBeta, secondBeta)
		require.NoError(b, err)
	}
}

func BenchmarkProfileSleepstudy(b *testing.B) {
	fit := model(b, "sleepstudy_corr")
	b.ReportAllocs()
	for b.Loop() {
		_, err := fit.Profile(0.95)
		require.NoError(b, err)
	}
}

// The pieces alone, with 2,000 random effects, the most for which they are dense.
func BenchmarkPieces(b *testing.B) {
	const k, p = mostDense, 12
	rng := rand.New(rand.NewPCG(1, 1))
	o := &optimum{n: 5000, p: p, reml: true, sigma: 1, beta: make([]float64, p), unscaled: make([]float64, p*p),
		zx: mat.NewDense(k, p, nil), zr: make([]float64, k), zz: mat.NewSymDense(k, nil)}
	o.blocks = []block{
		{columns: []string{"intercept", "age"}, scale: []float64{1, 1}, levels: 900, lambda: []float64{1, 0, 0.3, 0.5}},
		{columns: []string{"intercept"}, scale: []float64{1}, levels: 200, at: 1800, lambda: []float64{0.7}},
	}
	for i := range p {
		o.unscaled[i*p+i] = 1e-4
	}
	for i := range k {
		o.zr[i] = rng.NormFloat64()
		for j := range p {
			o.zx.Set(i, j, rng.NormFloat64())
		}
		for j := range i {
			o.zz.SetSym(i, j, 0.01*rng.NormFloat64())
		}
		o.zz.SetSym(i, i, 5)
	}
	for name, f := range map[string]func(){"Satterthwaite": func() { o.satterthwaite() }, "Kenward-Roger": func() { o.kenwardRoger(false) }} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				f()
			}
		})
	}
}
