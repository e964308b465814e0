package figure_test

import (
	"lastsip/analysis/answer"
)

// clopper holds Clopper-Pearson limits by x and n: R 4.2.2, binom.test(x, n)$conf.int, to four digits.
var clopper = map[[2]int][2]float64{
	{0, 12}: {0, .2646}, {1, 12}: {.0021, .3848}, {2, 12}: {.0209, .4841}, {3, 12}: {.0549, .5719}, {4, 12}: {.0992, .6511}, {5, 12}: {.1517, .7233},
	{6, 12}: {.2109, .7891}, {7, 12}: {.2767, .8483}, {8, 12}: {.3489, .9008}, {9, 12}: {.4281, .9451}, {10, 12}: {.5159, .9791}, {11, 12}: {.6152, .9979}, {12, 12}: {.7354, 1},
	{0, 4}: {0, .6024}, {1, 4}: {.0063, .8059}, {2, 4}: {.0676, .9324}, {3, 4}: {.1941, .9937}, {4, 4}: {.3976, 1},
}

// failing makes an attribute's steps: pairs of alone and tied, at 0.2, 2, 4 ... minutes. The rest stays open.
func failing(name string, units int, counts ...[2]int) answer.FirstAttribute {
	x := answer.FirstAttribute{Name: name, Better: "high", Limit: n(4)}
	for i, c := range counts {
		st := answer.FirstStep{AgeMin: max(.2, 2*float64(i)), Alone: c[0], Tied: c[1], Nothing: units - c[0] - c[1]}
		if units >= 3 {
			st.Lower, st.Upper = n(clopper[[2]int{c[0], units}][0]), n(clopper[[2]int{c[0] + c[1], units}][1])
		}
		x.Steps = append(x.Steps, st)
	}
	return x
}

func goesFirstOf(parts ...answer.FirstPart) *answer.GoesFirst {
	return &answer.GoesFirst{Head: head("goes_first", "sour, coupe", n(3.5)), Parts: parts}
}

func firstPart(mode, unit string, units int, attributes ...answer.FirstAttribute) answer.FirstPart {
	return answer.FirstPart{Mode: mode, Unit: unit, Units: units, Status: answer.OK, Attributes: attributes}
}

// threeAttributes belong together: twelve tasters, two for whom liveliness and coldness are tied, one for whom nothing fails.
func threeAttributes(mode string) answer.FirstPart {
	return firstPart(mode, "taster", 12,
		failing("coldness", 12, [2]int{0, 0}, [2]int{0, 0}, [2]int{0, 0}, [2]int{0, 2}, [2]int{1, 2}, [2]int{2, 2}, [2]int{2, 2}, [2]int{2, 2}, [2]int{2, 2}),
		failing("liveliness", 12, [2]int{0, 0}, [2]int{1, 0}, [2]int{4, 0}, [2]int{7, 2}, [2]int{7, 2}, [2]int{7, 2}, [2]int{7, 2}, [2]int{7, 2}, [2]int{7, 2}),
		failing("sourness", 12, make([][2]int, 9)...))
}

func goesFirstCases() map[string]answer.Answer {
	long := threeAttributes("side_by_side")
	long.Attributes[1].Name = `aroma of fresh citrus peel & <crushed ice>, as it leaves the strainer and before the straw goes in`
	fresh := failing("bubbles", 12, [2]int{3, 9}, [2]int{3, 9})
	minutes := firstPart("sip_through", "taster", 12, failing("liveliness", 12, [2]int{0, 1}), failing("coldness", 12, [2]int{0, 1}))
	for i := range minutes.Attributes { // every minute to 16
		one := minutes.Attributes[i].Steps[0]
		minutes.Attributes[i].Steps = nil
		for age := 1.; age <= 16; age++ {
			one.AgeMin = age
			minutes.Attributes[i].Steps = append(minutes.Attributes[i].Steps, one)
		}
	}
	return map[string]answer.Answer{
		"first_three": goesFirstOf(threeAttributes("side_by_side")),
		"first_tied": goesFirstOf(firstPart("side_by_side", "taster", 12,
			failing("liveliness", 12, [2]int{0, 0}, [2]int{0, 0}, [2]int{0, 5}, [2]int{0, 12}), failing("coldness", 12, [2]int{0, 0}, [2]int{0, 0}, [2]int{0, 5}, [2]int{0, 12}))),
		"first_nothing": goesFirstOf(firstPart("sip_through", "taster", 12, failing("liveliness", 12, make([][2]int, 7)...), failing("coldness", 12, make([][2]int, 7)...))),
		"first_1_taster": goesFirstOf(firstPart("sip_through", "pour", 4,
			failing("liveliness", 4, [2]int{0, 0}, [2]int{0, 0}, [2]int{1, 1}, [2]int{2, 1}), failing("coldness", 4, [2]int{0, 0}, [2]int{0, 0}, [2]int{0, 1}, [2]int{0, 1}))),
		"first_2_tasters": goesFirstOf(firstPart("sip_through", "taster", 2, failing("liveliness", 2, [2]int{0, 0}, [2]int{1, 0}, [2]int{2, 0}), failing("coldness", 2, make([][2]int, 3)...))),
		"first_two_modes": goesFirstOf(threeAttributes("side_by_side"), threeAttributes("sip_through")),
		"first_long_name": goesFirstOf(long),
		"first_fresh":     goesFirstOf(firstPart("side_by_side", "taster", 12, fresh, failing("body", 12, [2]int{0, 9}, [2]int{0, 9}))),
		"first_minutes":   goesFirstOf(minutes),
	}
}
