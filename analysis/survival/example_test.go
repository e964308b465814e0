package survival_test

import (
	"fmt"
	"log"
	"math"

	"lastsip/analysis/survival"
)

// Six tasters, minutes: the first would go on at 4 and no more at 6, the fifth to the last sip at 12.
func ExampleNPMLE() {
	obs := []survival.Interval{{L: 4, R: 6}, {L: 2, R: 5}, {L: 6, R: 9}, {L: 7, R: 9}, {L: 12, R: math.Inf(1)}, {L: 8, R: 12}}
	curve, err := survival.NPMLE{}.Fit(obs)
	if err != nil {
		log.Fatal(err)
	}
	mass := curve.Mass()
	for k, s := range curve.Sets() {
		fmt.Printf("(%g, %g] %.3f\n", s.L, s.R, mass[k])
	}
	lo, hi := curve.Quantile(0.5)
	fmt.Printf("median between %g and %g, gap below 1e-6: %t\n", lo, hi, curve.Gap < 1e-6)
	lim, err := survival.ExactQuantile(obs, 0.5, 0.95)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("limits %g to %g at %.1f %%\n", lim.Lower, lim.Upper, 100*lim.Level)
	// Output:
	// (4, 5] 0.333
	// (8, 9] 0.500
	// (12, +Inf] 0.167
	// median between 8 and 9, gap below 1e-6: true
	// limits 2 to +Inf at 96.9 %
}

// Five tasters had both drinks, looked at every 2 minutes. All but the last left drink 2 earlier.
func ExampleScoreTest_within() {
	rows := []survival.Interval{{L: 6, R: 8}, {L: 4, R: 6}, {L: 8, R: 10}, {L: 4, R: 6}, {L: 6, R: 8}, {L: 2, R: 4}, {L: 10, R: math.Inf(1)}, {L: 6, R: 8},
		{L: 4, R: 6}, {L: 6, R: 8}}
	drink := []int{1, 2, 1, 2, 1, 2, 1, 2, 1, 2}
	taster := []int{1, 1, 2, 2, 3, 3, 4, 4, 5, 5}
	r, err := survival.ScoreTest{}.Within(rows, drink, taster)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("drink 2: %+.2f, z %.2f, p %.4f (%s, %g relabellings, smallest %.4f)\n", r.Score()[1], r.Z, r.P, r.Method, r.Relabellings, r.SmallestP)
	// Output: drink 2: +1.83, z 1.56, p 0.1875 (exact, 32 relabellings, smallest 0.0625)
}
