package multiplicity_test

import (
	"fmt"
	"log"

	"lastsip/analysis/multiplicity"
)

func ExampleHolm() {
	adjusted, err := multiplicity.Holm([]float64{0.04, 0.01, 0.2})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.2f\n", adjusted)
	// Output: [0.08 0.03 0.20]
}
