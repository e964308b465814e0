package survival_test

import (
	"errors"
	"fmt"
	"log"
	"math"

	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/survival"
)

// Eight tasters, minutes; limits of the median that hold for eight.
func ExampleParametric() {
	rows := []survival.Interval{{L: 4, R: 6}, {L: 2, R: 4}, {L: 6, R: 8}, {L: 8, R: 10}, {L: 12, R: math.Inf(1)}, {L: 6, R: 10}, {L: 4, R: 8}, {L: 0, R: 4}}
	for _, family := range []survival.Family{survival.Weibull, survival.LogNormal} {
		fit, err := survival.Parametric{Family: family}.Fit(rows, nil, nil)
		if err != nil {
			log.Fatal(err)
		}
		median, err := fit.ProfileQuantile(nil, 0, 0.5, likelihood.SmallPanelCut(8, 7, 0.95))
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%v: AIC %.2f, median %.1f (%.1f to %.1f)\n", family, fit.AIC, median.Value, median.Lower, median.Upper)
	}
	_, err := survival.Parametric{Family: survival.Weibull}.Fit(rows[:1], nil, nil)
	fmt.Println(errors.Is(err, survival.ErrNoSpread))
	// Output:
	// weibull: AIC 28.97, median 6.4 (3.3 to 10.6)
	// lognormal: AIC 28.40, median 6.1 (3.5 to 10.5)
	// true
}
