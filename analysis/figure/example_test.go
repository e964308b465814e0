package figure_test

import (
	"bytes"
	"fmt"
	"log"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

func ExampleOf() {
	act := &answer.ServeBy{
		Head: answer.Head{Question: "serve_by", Title: "sour, coupe", Act: answer.Of(3.5), AxisEnd: 16},
		Ribbon: answer.Ribbon{
			Label: "sour, coupe", LastAge: 16, Unit: "taster", Units: 12, HasHalf: true,
			Half: answer.Quantile{P: .5, From: answer.Of(7.5), To: answer.Of(7.5), Lower: answer.Of(6), Upper: answer.Of(9.5), Level: .95},
		},
	}
	f, err := figure.Of(act, figure.Narrow)
	if err != nil {
		log.Fatal(err)
	}
	svg, err := f.SVG()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(f.Alt())
	fmt.Println(bytes.HasPrefix(svg, []byte("<svg ")))
	// Output:
	// Age ribbon of sour, coupe, minutes since it was made, tasted from 0 to 16: serve by 3½; until then all would go on with it; surely more than half would until 6; half of tasters have reached their limit at 7½ (6 to 9½).
	// true
}
