package simulate_test

import (
	"fmt"
	"log"
	"math/rand/v2"
	"strings"

	"lastsip/analysis/simulate"
)

// An invented evening, its truth, and the first lines of its table.
func ExampleEvening_Run() {
	evening, err := simulate.Evening{Tasters: 4, Ages: []float64{2, 4.5, 8, 12}}.Run(rand.New(rand.NewPCG(1, 2)))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("median limit of the style %.1f min\n", evening.Truth.Styles[0].MedianMin)
	for _, l := range evening.Truth.Limits {
		fmt.Printf("%-6s batch %s  own limit %.1f min\n", l.Taster, l.Batch, l.GlassMin)
	}
	files, err := evening.Files(simulate.Format{Separator: ';', DecimalComma: true, ClockTimes: true})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(strings.Join(strings.SplitN(string(files["tastes.csv"]), "\n", 4)[:3], "\n"))
	// Output:
	// median limit of the style 8.0 min
	// Ada    batch B1  own limit 4.2 min
	// Bruno  batch B1  own limit 6.4 min
	// Carla  batch B2  own limit 6.5 min
	// Dmitri batch B2  own limit 13.5 min
	// taster;pour;planned_age_min;tasted_at;verdict;liking;liveliness;coldness
	// Ada;1;2;22:31:54;accept;7,5;6;7
	// Ada;1;4,5;22:34:24;reject;5,5;4;6
}
