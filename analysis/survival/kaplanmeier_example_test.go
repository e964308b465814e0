package survival_test

import (
	"fmt"
	"log"

	"lastsip/analysis/survival"
)

// Minutes to the last sip of eight guests; two left with the glass half full.
func ExampleKaplanMeier() {
	rows := []survival.Timed{{Time: 12, Event: true}, {Time: 9, Event: true}, {Time: 15}, {Time: 14, Event: true}, {Time: 20, Event: true},
		{Time: 11, Event: true}, {Time: 18}, {Time: 25, Event: true}}
	curve, err := survival.KaplanMeier{}.Fit(rows)
	if err != nil {
		log.Fatal(err)
	}
	s, _ := curve.At(12)
	fmt.Printf("not yet done at 12: %.3f (%.3f to %.3f)\n", s.Value, s.Lower, s.Upper)
	q, err := curve.Quantile(0.5)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("median %g (%g to %g)\n", q.Value, q.Lower, q.Upper)
	m, err := curve.MeanTo(20)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("mean to 20: %.2f (%.2f to %.2f)\n", m.Value, m.Lower, m.Upper)
	// Output:
	// not yet done at 12: 0.625 (0.229 to 0.861)
	// median 17 (9 to +Inf)
	// mean to 20: 15.75 (12.68 to 18.82)
}
