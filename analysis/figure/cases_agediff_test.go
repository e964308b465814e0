package figure_test

import "lastsip/analysis/answer"

// since makes an answer from differences with the half width of their limits, at 1, 3, 6, 10 ... minutes.
func since(change func(*answer.AgeDifferences), differences ...[2]float64) *answer.AgeDifferences {
	a := &answer.AgeDifferences{Head: head("difference", "sour, coupe", n(3.5)), Attribute: "liking", Better: "high", Decimals: 1, Unit: "taster", Units: 6, FreshAge: 1, Level: .95}
	ages := []float64{1, 3, 6, 10, 13, 16}
	a.Steps = []answer.AgeDifference{{AgeMin: 1, Mean: 8}}
	for i, d := range differences {
		age := ages[i+1]
		a.Steps = append(a.Steps, answer.AgeDifference{AgeMin: age, Mean: 8 + d[0], Difference: d[0], Lower: d[0] - d[1], Upper: d[0] + d[1]})
		if a.FirstSure.Empty() && d[0]+d[1] < 0 {
			a.FirstSure = n(age)
		}
		for k := range a.Units {
			a.Own = append(a.Own, answer.ScorePoint{Taster: string(rune('A' + k)), AgeMin: age, Score: d[0] + .4*float64(k-3)})
		}
	}
	if change != nil {
		change(a)
	}
	return a
}

func ageDifferenceCases() map[string]answer.Answer {
	margin := func(m float64, upTo answer.Num) func(*answer.AgeDifferences) {
		return func(a *answer.AgeDifferences) { a.Margin, a.SameUpTo = n(m), upTo }
	}
	return map[string]answer.Answer{
		"since_usual":    since(nil, [2]float64{-.4, .8}, [2]float64{-1.4, .9}, [2]float64{-2.9, 1.2}, [2]float64{-4.6, 1.5}, [2]float64{-6.2, 1.9}),
		"since_margin":   since(margin(.5, n(3)), [2]float64{-.1, .4}, [2]float64{-.5, .9}, [2]float64{-1.2, 1.1}, [2]float64{-1.6, 1.2}),
		"since_unshown":  since(margin(1, answer.Num{}), [2]float64{.3, 1.4}, [2]float64{-.5, 1.6}),
		"since_improves": since(margin(.5, answer.Num{}), [2]float64{1.2, .7}, [2]float64{.9, .8}, [2]float64{-1.1, .9}),
		"since_low":      since(func(a *answer.AgeDifferences) { a.Better, a.Attribute = "low", "staleness" }, [2]float64{.4, .8}, [2]float64{1.4, .9}, [2]float64{2.9, 1.2}),
		"since_few": since(func(a *answer.AgeDifferences) {
			a.Units, a.Own, a.Act = 3, a.Own[:2], answer.Num{}
			a.Better, a.Attribute = "middle", "how sour it is, in a name that is longer than any scale would give it"
		}, [2]float64{.4, 18}, [2]float64{1.4, 25}),
	}
}
