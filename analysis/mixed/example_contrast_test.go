package mixed_test

import (
	"fmt"
	"log"

	"lastsip/analysis/mixed"
)

// How much worse than fresh, age by age? Each difference with limits that hold for both at once.
func ExampleFit_Contrasts() {
	table, err := mixed.NewTable(
		mixed.Labels("taster", []string{"a", "a", "a", "b", "b", "b", "c", "c", "c", "d", "d", "d"}),
		mixed.Numbers("age", []float64{0, 5, 10, 0, 5, 10, 0, 5, 10, 0, 5, 10}),
		mixed.Numbers("score", []float64{8, 7, 5.5, 7, 6.5, 4, 8.5, 8, 6, 6.5, 5.5, 4.5}))
	if err != nil {
		log.Fatal(err)
	}
	fit, err := mixed.Spec{Response: "score", Fixed: []mixed.Term{mixed.Factor{Name: "age"}}, Random: []mixed.Random{{Group: []string{"taster"}}}}.Fit(table)
	if err != nil {
		log.Fatal(err)
	}
	ages, err := fit.Means([]string{"age"})
	if err != nil {
		log.Fatal(err)
	}
	got, err := fit.Contrasts(mixed.AgainstFirst(ages), mixed.ContrastOptions{Adjust: mixed.MaxT})
	if err != nil {
		log.Fatal(err)
	}
	for _, c := range got.List {
		fmt.Printf("%s: %.2f (%.2f to %.2f), p %.4f\n", c.Name, c.Estimate, c.JointLower, c.JointUpper, c.Adjusted)
	}
	// Output:
	// 5 - 0: -0.75 (-1.42 to -0.08), p 0.0334
	// 10 - 0: -2.50 (-3.17 to -1.83), p 0.0001
}
