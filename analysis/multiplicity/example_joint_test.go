package multiplicity_test

import (
	"fmt"
	"log"

	"gonum.org/v1/gonum/mat"

	"lastsip/analysis/multiplicity"
)

// Three ages against fresh, equally precise: any two comparisons share the fresh mean and correlate by 1/2.
func ExampleJoint() {
	corr := mat.NewSymDense(3, []float64{1, 0.5, 0.5, 0.5, 1, 0.5, 0.5, 0.5, 1})
	law, err := multiplicity.NewJoint(corr, 24, multiplicity.TwoSided)
	if err != nil {
		log.Fatal(err)
	}
	adjusted, err := law.Adjust([]float64{7.5, 4.28, 1.29})
	if err != nil {
		log.Fatal(err)
	}
	critical, err := law.Critical(0.95)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("p %.4f, simultaneous limits -+ %.3f standard errors\n", adjusted.P, critical.Value)
	// Output: p [0.0000 0.0007 0.4429], simultaneous limits -+ 2.507 standard errors
}
