package survival_test

import (
	"math/rand/v2"
	"testing"

	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
)

// unitsOf turns a drawn study into units, one per taster and glass; side by side one per taster.
func unitsOf(glasses []simulate.Glass, together bool) []survival.ReplyUnit {
	var out []survival.ReplyUnit
	for _, g := range glasses {
		k := len(out) - 1
		if !(together && k >= 0 && out[k].Subject == g.Taster) {
			out = append(out, survival.ReplyUnit{Subject: g.Taster})
			k++
		}
		for i, a := range g.Ages {
			out[k].Replies = append(out[k].Replies, survival.Reply{Age: a, Reject: g.Reject[i]})
		}
	}
	return out
}

// BenchmarkReplyFit fits and takes limits: 12 tasters at 8 common ages, and 24 tasters with 24 replies each, all ages apart.
func BenchmarkReplyFit(b *testing.B) {
	small := unitsOf(simulate.Study{ReplySD: 0.2, RoundsAfter: 100}.Draw(rand.New(rand.NewPCG(1, 1))), false)
	clean := unitsOf(simulate.Study{RoundsAfter: 100}.Draw(rand.New(rand.NewPCG(1, 2))), false)
	large := distinct(rand.New(rand.NewPCG(1, 3)), 24, 24)
	for _, tt := range []struct {
		name   string
		units  []survival.ReplyUnit
		p      []float64
		shares int
	}{{"12x8", small, []float64{0.5, 0.1}, 0}, {"12x8clean", clean, []float64{0.5, 0.1}, 0}, {"24x24", large, []float64{0.5, 0.25, 0.1}, 8}} {
		b.Run(tt.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				f, err := survival.ReplyModel{Slips: 0.02}.Fit(tt.units)
				if err != nil {
					b.Fatal(err)
				}
				for _, p := range tt.p {
					if _, err := f.Quantile(nil, p); err != nil {
						b.Fatal(err)
					}
				}
				for k := range tt.shares {
					if _, err := f.Share(nil, 2*float64(k+1)); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// BenchmarkReplyPaired fits both styles of 12 tasters at 8 common ages, one limit a style, and takes the ratio with its limits.
func BenchmarkReplyPaired(b *testing.B) {
	for _, tt := range []struct {
		name string
		rho  float64
		tau  float64
	}{{"noise/rho=0.6", 0.6, 0.2}, {"clean/rho=0.6", 0.6, 0}, {"noise/rho=0.9", 0.9, 0.2}, {"clean/rho=0.9", 0.9, 0}} {
		b.Run(tt.name, func(b *testing.B) {
			first, second := simulate.Pair{Study: simulate.Study{ReplySD: tt.tau, RoundsAfter: 100}, Ratio: 1.3, Rho: tt.rho}.Draw(rand.New(rand.NewPCG(2, 1)))
			var units []survival.ReplyUnit
			for x, glasses := range [][]simulate.Glass{first, second} {
				for _, u := range unitsOf(glasses, false) {
					u.X = []float64{float64(x)}
					units = append(units, u)
				}
			}
			b.ReportAllocs()
			for b.Loop() {
				f, err := survival.ReplyModel{Slips: 0.02}.Fit(units)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := f.Ratio(1); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// distinct invents tasters with replies at ages no two of which are alike.
func distinct(rng *rand.Rand, tasters, replies int) []survival.ReplyUnit {
	var out []survival.ReplyUnit
	for t := range tasters {
		ages := make([]float64, replies)
		for j := range ages {
			ages[j] = 16 * (float64(j) + rng.Float64()) / float64(replies)
		}
		g := simulate.Study{Tasters: 1, ReplySD: 0.3, Ages: ages, RoundsAfter: 100}.Draw(rng)
		u := unitsOf(g, false)[0]
		u.Subject = t
		out = append(out, u)
	}
	return out
}
