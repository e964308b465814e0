package mixed_test

import (
	"fmt"
	"log"

	"lastsip/analysis/mixed"
)

// Three tasters score two styles at three ages; each has an own level.
func ExampleSpec_Fit() {
	table, err := mixed.NewTable(
		mixed.Numbers("score", []float64{8, 7, 5, 8, 8, 7, 7, 5, 4, 7, 7, 6, 9, 7, 6, 9, 9, 9}),
		mixed.Numbers("age", []float64{0, 4, 8, 0, 4, 8, 0, 4, 8, 0, 4, 8, 0, 4, 8, 0, 4, 8}),
		mixed.Labels("style", []string{"sour", "sour", "sour", "stirred", "stirred", "stirred", "sour", "sour", "sour", "stirred", "stirred", "stirred", "sour", "sour", "sour", "stirred", "stirred", "stirred"}),
		mixed.Labels("taster", []string{"ann", "ann", "ann", "ann", "ann", "ann", "bo", "bo", "bo", "bo", "bo", "bo", "cy", "cy", "cy", "cy", "cy", "cy"}),
	)
	if err != nil {
		log.Fatal(err)
	}
	style, age := mixed.Factor{Name: "style"}, mixed.Numeric{Name: "age"}
	fit, err := mixed.Spec{
		Response: "score",
		Fixed:    []mixed.Term{style, age, mixed.Interaction{Of: []mixed.Term{style, age}}},
		Random:   []mixed.Random{{Group: []string{"taster"}}},
	}.Fit(table)
	if err != nil {
		log.Fatal(err)
	}
	for j, name := range fit.Coefficients() {
		fmt.Printf("%-18s %6.3f\n", name, fit.Beta()[j])
	}
	fmt.Printf("tasters differ by %.2f, single scores by %.2f\n", fit.Components()[0].SD, fit.Sigma())
	at, err := mixed.NewTable(mixed.Numbers("age", []float64{6}), mixed.Labels("style", []string{"sour"}), mixed.Labels("taster", []string{"bo"}))
	if err != nil {
		log.Fatal(err)
	}
	average, _ := fit.Predict(at, mixed.Average)
	bo, _ := fit.Predict(at, mixed.Named)
	fmt.Printf("a sour of 6 min: %.1f, by bo %.1f\n", average[0].Value, bo[0].Value)
	// Output:
	// intercept           7.944
	// style[stirred]      0.167
	// age                -0.375
	// style[stirred]:age  0.292
	// tasters differ by 1.07, single scores by 0.35
	// a sour of 6 min: 5.7, by bo 4.6
}
