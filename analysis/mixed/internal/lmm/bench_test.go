package lmm

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// A fit counts from the rows: New, Space and Fit from a cold start. Refit is SetResponse and Fit from the estimate, as in a
// parametric bootstrap.
//
// With BENCH_DATA naming a folder with sleepstudy.csv, penicillin.csv, panelN.csv (score, style, age, taster, session) and
// insteval.csv (y, s, d, dept, service), the same rows may be timed with lme4 in R:
//
//	R: d <- read.csv("panel1.csv"); f <- c("taster", "session", "style"); d[f] <- lapply(d[f], factor); library(lme4)
//	   system.time(lmer(score ~ style * age + (1 + age | taster) + (1 | session) + (1 | taster:style), d))
//	   d <- read.csv("insteval.csv"); system.time(lmer(y ~ service + (1 | s) + (1 | d) + (1 | dept), d, REML = FALSE))
//	BENCH_DATA=FOLDER go test -run '^$' -bench . ./analysis/mixed/internal/lmm
//
// Compare user CPU time within one run only.
func BenchmarkFit(b *testing.B) {
	panel := model{"score", []string{"1", "f:style", "age", "f:style*age"}, nil,
		[]random{{"taster", []string{"1", "age"}, false}, {"session", []string{"1"}, false}, {"taster:style", []string{"1"}, false}}}
	insteval := model{"y", []string{"1", "service"}, nil, []random{{"s", []string{"1"}, false}, {"d", []string{"1"}, false}, {"dept", []string{"1"}, false}}}
	for _, c := range []struct {
		name, file string
		m          model
		reml       bool
	}{
		{"sleepstudy/REML", "sleepstudy", models["sleepstudy_corr"], true},
		{"sleepstudy/ML", "sleepstudy", models["sleepstudy_corr"], false},
		{"penicillin/REML", "penicillin", models["penicillin"], true},
		{"penicillin/ML", "penicillin", models["penicillin"], false},
		{"panel/n=2880", "panel1", panel, true},
		{"panel/n=28800", "panel10", panel, true},
		{"panel/n=288000", "panel100", panel, true},
		{"insteval/ML", "insteval", insteval, false},
		{"insteval/REML", "insteval", insteval, true},
	} {
		b.Run(c.name, func(b *testing.B) {
			p := c.m.problem(b, benchFrame(b, c.file))
			terms := make([]Term, len(p.terms))
			for i := range terms {
				terms[i] = p.terms[i].Term
			}
			var o Optimum
			b.ReportAllocs()
			for b.Loop() {
				o = New(p.x, p.y, terms).Space().Fit(c.reml, nil)
			}
			require.True(b, o.Converged, o.Why)
			b.ReportMetric(float64(o.Evaluations), "evaluations")
			b.ReportMetric(o.Deviance, "criterion")
		})
	}
}

func BenchmarkRefit(b *testing.B) {
	s := models["sleepstudy_corr"].problem(b, testdata(b, "sleepstudy")).Space()
	o := s.Fit(false, nil)
	y := append([]float64(nil), s.p.y...)
	b.ReportAllocs()
	for b.Loop() {
		y[0], y[1] = y[1], y[0]
		s.SetResponse(y)
		s.Fit(false, o.Theta)
	}
}

func BenchmarkEvaluation(b *testing.B) {
	s := models["sleepstudy_corr"].problem(b, testdata(b, "sleepstudy")).Space()
	theta, g := []float64{0.97, 0.02, 0.23}, make([]float64, 3)
	b.Run("value", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			s.Deviance(theta, true)
		}
	})
	b.Run("gradient", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			s.Gradient(theta, true, g)
		}
	})
}

// benchFrame reads a benchmark's rows: those under testdata, else those of BENCH_DATA.
func benchFrame(b *testing.B, name string) frame {
	if name == "sleepstudy" || name == "penicillin" {
		return testdata(b, name)
	}
	file := filepath.Join(os.Getenv("BENCH_DATA"), name+".csv")
	if _, err := os.Stat(file); os.Getenv("BENCH_DATA") == "" || err != nil {
		b.Skip("BENCH_DATA names no folder with " + name + ".csv")
	}
	return readFrame(b, file)
}
