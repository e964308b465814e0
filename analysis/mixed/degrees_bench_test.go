package mixed

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
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
