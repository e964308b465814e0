package mixed_test

import (
	"fmt"
	"log"

	"lastsip/analysis/mixed"
)

// Where does the decline begin? The bend, its slopes, the places that are as good, and a test against one straight line.
func ExampleBrokenStick() {
	var age, score []float64
	var taster []string
	for i, level := range []float64{0.4, -0.3, 0.1, -0.6, 0.5} {
		for k, mean := range []float64{8.1, 7.9, 8.0, 7.8, 6.9, 5.8, 4.9, 3.7} {
			wobble := 0.2 * float64((3*i+5*k)%7-3)
			age, score, taster = append(age, 2*float64(k)), append(score, mean+level+wobble), append(taster, string(rune('a'+i)))
		}
	}
	table, err := mixed.NewTable(mixed.Numbers("age", age), mixed.Numbers("score", score), mixed.Labels("taster", taster))
	if err != nil {
		log.Fatal(err)
	}
	model := mixed.Spec{Response: "score", Random: []mixed.Random{{Group: []string{"taster"}}}}
	bend, err := mixed.BrokenStick{Spec: model, Name: "age", Cut: 4.9}.Fit(table)
	if err != nil {
		log.Fatal(err)
	}
	draws, err := bend.Bootstrap(1, 199)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("bend at %.1f min; %.2f points a minute before, %.2f after\n", bend.At, bend.Before.Estimate, bend.After.Estimate)
	for _, p := range bend.Set() {
		fmt.Printf("from %.1f to %.1f\n", p.Lower, p.Upper)
	}
	fmt.Printf("p %.3f\n", draws.P)
	// Output:
	// bend at 6.5 min; -0.04 points a minute before, -0.54 after
	// from 4.6 to 7.8
	// p 0.005
}
