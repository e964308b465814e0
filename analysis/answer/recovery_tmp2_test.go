package answer_test

import (
	"fmt"
	"lastsip/analysis/simulate"
	"lastsip/analysis/survival"
	"math/rand/v2"
	"testing"
	"time"
)

func TestTmpOne(t *testing.T) {
	for _, n := range []int{3, 5, 8, 12} {
		for i := range 6 {
			p := simulate.Pair{Study: simulate.Study{Tasters: n, ReplySD: .2}, Rho: .6}
			a, b := p.Draw(rand.New(rand.NewPCG(7, uint64(i))))
			var units []survival.ReplyUnit
			for s, g := range [][]simulate.Glass{a, b} {
				for _, u := range tastedOf(g, n).units() {
					u.X = []float64{float64(s)}
					units = append(units, u)
				}
			}
			t0 := time.Now()
			f, err := survival.ReplyModel{Slips: .02}.Fit(units)
			t1 := time.Since(t0)
			if err != nil {
				t.Fatal(err)
			}
			t0 = time.Now()
			r, err := f.Ratio(1)
			fmt.Println(n, i, "fit", t1, "ratio", time.Since(t0), f.Kind, f.Converged, f.SubjectSD, f.UnitSD, f.Tau, r, err)
		}
	}
}
