package figure_test

import (
	"math"

	"lastsip/analysis/answer"
)

// Answers made by hand: one for each state that a drawing knows. Their numbers are invented and belong together only as far
// as a drawing needs it.

var n = answer.Of

var openEnd = answer.Of(math.Inf(1))

func head(question, title string, act answer.Num) answer.Head {
	return answer.Head{Question: question, Title: title, Style: "sour", Serve: "coupe", Status: answer.OK, Act: act, AxisEnd: 16, Invented: true}
}

func half(lower, from, to, upper answer.Num) answer.Quantile {
	return answer.Quantile{P: .5, Lower: lower, From: from, To: to, Upper: upper, Level: .95, Status: answer.OK}
}

// serveBy is the ordinary ribbon; the others change it.
func serveBy(change func(*answer.ServeBy)) *answer.ServeBy {
	a := &answer.ServeBy{Head: head("serve_by", "sour, coupe", n(3.5)), Basis: "smallest_l", SmallestL: n(3.9), Tasters: []string{"C"}}
	a.Ribbon = answer.Ribbon{Label: "sour, coupe", Half: half(n(6), n(7.5), n(7.5), n(9.5)), HasHalf: true, LastAge: 16, Unit: "taster", Units: 12}
	if change != nil {
		change(a)
	}
	return a
}

func intervals(unit string, ends ...answer.Num) []answer.Interval {
	var out []answer.Interval
	for i := 0; i < len(ends); i += 2 {
		iv := answer.Interval{Taster: string(rune('A' + i/2)), L: ends[i], R: ends[i+1]}
		if unit == "pour" {
			iv.Taster, iv.Pour = "A", "pour "+string(rune('1'+i/2))
		}
		out = append(out, iv)
	}
	return out
}

func ribbons() map[string]answer.Answer {
	few := func(ends ...answer.Num) func(*answer.ServeBy) {
		return func(a *answer.ServeBy) {
			a.Ribbon.Units, a.Ribbon.Intervals = len(ends)/2, intervals("taster", ends...)
			a.Ribbon.HasHalf = a.Ribbon.Units >= 3
			a.Ribbon.Half = half(n(3.9), n(6.1), n(8), n(12.2))
		}
	}
	return map[string]answer.Answer{
		"ribbon_usual":    serveBy(nil),
		"ribbon_interval": serveBy(func(a *answer.ServeBy) { a.Ribbon.Half = half(n(6), n(7.1), n(8.2), n(10.1)) }),
		"ribbon_open_lower": serveBy(func(a *answer.ServeBy) {
			a.Act, a.Ribbon.Half = n(1.5), half(n(0), n(4.1), n(6), n(9.5))
		}),
		"ribbon_open_upper": serveBy(func(a *answer.ServeBy) { a.Ribbon.Half = half(n(6), n(12), n(14), openEnd) }),
		"ribbon_beyond": serveBy(func(a *answer.ServeBy) {
			a.Ribbon.Half = half(n(11), n(14), openEnd, openEnd)
			a.Ribbon.Half.Status, a.Ribbon.LastAge = answer.BeyondLastAge, 14
		}),
		"ribbon_never": serveBy(func(a *answer.ServeBy) {
			a.Status, a.Act = answer.Never, n(0)
			a.Ribbon.Half = half(n(0), n(0), n(2), n(4))
			a.Ribbon.Words = "two of twelve never took it"
		}),
		"ribbon_always": serveBy(func(a *answer.ServeBy) {
			a.Status, a.Act, a.AxisEnd = answer.Always, n(12), 16
			a.Ribbon.LastAge, a.Ribbon.Half = 12, half(n(12), n(12), openEnd, openEnd)
			a.Ribbon.Words = "all would still go on at 12, the last age tasted"
		}),
		"ribbon_not_tasted": serveBy(func(a *answer.ServeBy) { a.Ribbon.FirstAge, a.Ribbon.LastAge = 2, 12 }),
		"ribbon_starts_late": serveBy(func(a *answer.ServeBy) {
			a.HandOverAfter, a.Act, a.Ribbon.Label = n(2), n(5), "on the rock"
		}),
		"ribbon_3_tasters": serveBy(few(n(3.9), n(6.1), n(6.1), n(8), n(9.8), n(12.2))),
		"ribbon_5_tasters": serveBy(few(n(3.9), n(6.1), n(0), n(2), n(6), n(8), n(7.9), n(10), n(14), openEnd)),
		"ribbon_2_tasters": serveBy(few(n(3.9), n(6.1), n(8), openEnd)),
		"ribbon_1_taster": serveBy(func(a *answer.ServeBy) {
			a.Ribbon.Unit, a.Ribbon.Units, a.Ribbon.Words = "pour", 3, "taster A only"
			a.Ribbon.Intervals = intervals("pour", n(3.9), n(6.1), n(6), n(8), n(6.1), openEnd)
			a.Ribbon.HasHalf = true // also then the word half must not appear
		}),
		"ribbon_late_act": serveBy(func(a *answer.ServeBy) {
			a.Act, a.Ribbon.Half = n(15.5), half(n(15.7), n(16), openEnd, openEnd)
		}),
		"ribbon_not_enough": serveBy(func(a *answer.ServeBy) {
			a.Status, a.Act = answer.NotEnough, answer.Num{}
			a.Ribbon.HasHalf, a.Ribbon.Half = false, answer.Quantile{}
		}),
		"ribbon_hostile_long": serveBy(func(a *answer.ServeBy) {
			a.Ribbon.Label = `</svg><script>alert("1")</script> a sour with a very long name & more`
			a.Ribbon.Words = "a long remark about what these tasters said, longer than any strip could hold beside it & <b>bold</b>"
		}),
	}
}

// sharesAt gives shares with Clopper-Pearson limits of 12 tasters at four steps; the limits are those of R 4.2,
// binom.test(x, 12)$conf.int for x = 12, 10, 6, 0, to four digits.
func sharesAt() []answer.Share {
	return []answer.Share{
		{AgeMin: 2, EstLo: 1, EstHi: 1, Lower: .7354, Upper: 1, Level: .95, Going: 12, Possible: 12, Units: 12},
		{AgeMin: 6, EstLo: .7, EstHi: .83, Lower: .5159, Upper: .9791, Level: .95, Going: 9, Possible: 10, Units: 12},
		{AgeMin: 8, EstLo: .5, EstHi: .5, Lower: .2109, Upper: .7891, Level: .95, Going: 6, Possible: 6, Units: 12},
		{AgeMin: 16, EstLo: 0, EstHi: 0, Lower: 0, Upper: .2646, Level: .95, Going: 0, Possible: 0, Units: 12},
	}
}

func part(mode string) answer.LifetimePart {
	return answer.LifetimePart{
		Mode: mode, Unit: "taster", Units: 12, Method: "turnbull", Status: answer.OK,
		Curve: answer.Curve{Sets: []answer.Set{
			{L: n(3.9), R: n(6), Mass: .25}, {L: n(6.1), R: n(8), Mass: .25}, {L: n(8), R: n(8), Mass: .125}, {L: n(10), R: n(12), Mass: .375},
		}},
		Shares:    sharesAt(),
		Quantiles: []answer.Quantile{half(n(6), n(6.1), n(8), n(12))},
	}
}

func life(change func(*answer.Lifetime)) *answer.Lifetime {
	a := &answer.Lifetime{Head: head("lifetime", "sour, coupe", n(3.5)), Basis: "verdict", Parts: []answer.LifetimePart{part("side_by_side")}}
	if change != nil {
		change(a)
	}
	return a
}

func lifetimes() map[string]answer.Answer {
	return map[string]answer.Answer{
		"lifetime_usual": life(nil),
		"lifetime_open": life(func(a *answer.Lifetime) {
			p := &a.Parts[0]
			p.Curve.Sets[3] = answer.Set{L: n(14), R: openEnd, Mass: .375}
			p.Quantiles = []answer.Quantile{half(n(0), n(8), n(10), openEnd)}
		}),
		"lifetime_two_modes": life(func(a *answer.Lifetime) { a.Parts = append(a.Parts, part("sip_through")) }),
		"lifetime_never":     life(func(a *answer.Lifetime) { a.Act = n(0); a.Parts[0].Curve.Sets[0].L = n(0) }),
		"lifetime_shares_only": life(func(a *answer.Lifetime) {
			a.Parts[0].Curve, a.Parts[0].Quantiles = answer.Curve{}, nil
			a.Parts[0].Unit = "pour"
		}),
		"lifetime_narrow_limits": life(func(a *answer.Lifetime) {
			a.Parts[0].Quantiles = []answer.Quantile{half(n(14.6), n(15.2), n(15.2), n(15.8))}
		}),
	}
}

// glass makes the replies of one glass: ages at which the taster would go on, then ages at which not.
func glass(taster, pour string, l, r answer.Num, yes, no []float64) answer.GlassReplies {
	g := answer.GlassReplies{Taster: taster, Pour: pour, L: l, R: r, Never: len(yes) == 0}
	for _, age := range yes {
		g.Replies = append(g.Replies, answer.Reply{AgeMin: age})
	}
	for _, age := range no {
		g.Replies = append(g.Replies, answer.Reply{AgeMin: age, Reject: true})
	}
	return g
}

func replies(change func(*answer.Rejections)) *answer.Rejections {
	a := &answer.Rejections{Head: head("rejections", "sour, coupe", n(3.5)), Basis: "verdict", Parts: []answer.RejectionPart{{
		Mode: "sip_through", Glasses: []answer.GlassReplies{
			glass("A", "", n(6.1), n(8), []float64{0.2, 2, 4.1, 6.1}, []float64{8, 10, 12.1}),
			glass("B", "", n(3.9), n(9.9), []float64{0.3, 2.1, 3.9, 7.8}, []float64{6, 9.9, 12}),
			glass("C", "", n(16), openEnd, []float64{0.1, 4, 8, 12, 16}, nil),
			glass("D", "", n(0), n(2.2), nil, []float64{2.2, 4, 6}),
			glass("E", "", answer.Num{}, answer.Num{}, nil, []float64{0}),
		}}}}
	if change != nil {
		change(a)
	}
	return a
}

func repliesCases() map[string]answer.Answer {
	return map[string]answer.Answer{
		"rejections_usual": replies(nil),
		"rejections_long_names": replies(func(a *answer.Rejections) {
			for i, name := range []string{"Maximiliane from the back bar", "<Bo & Co>", "Wolfgang Amadeus of the long shaker and the cold coupe, third of his name", "Li", "Al"} {
				a.Parts[0].Glasses[i].Taster = name
			}
		}),
		"rejections_two_modes": replies(func(a *answer.Rejections) {
			side := replies(nil).Parts[0]
			side.Mode, side.Glasses = "side_by_side", side.Glasses[:2]
			side.Glasses[1].Taster, side.Glasses[0].Pour, side.Glasses[1].Pour = "A", "first", "second"
			a.Parts = append(a.Parts, side)
		}),
	}
}

// series makes one attribute with a falling score: four tasters at five steps.
func series(name string, overall bool, from, slope float64) answer.ScoreSeries {
	s := answer.ScoreSeries{Name: name, Overall: overall, Ranged: true, High: 10, Better: "high", Limit: n(4)}
	if overall {
		s.Prime, s.LowMeans, s.HighMeans = n(7), "pour it away", "could not be better"
	}
	for step := range 5 {
		age := float64(step) * 3.9
		mean := from - slope*age
		for taster := range 4 {
			d := float64(taster) - 1.5
			s.Points = append(s.Points, answer.ScorePoint{Taster: string(rune('A' + taster)), AgeMin: age + .1*float64(taster), Score: min(max(mean+d, 0), 10)})
		}
		s.Steps = append(s.Steps, answer.ScoreStep{AgeMin: age + .15, Tasters: 4, Mean: mean, LowQuarter: mean - .75, HighQuarter: mean + .75, Least: mean - 1.5, Most: mean + 1.5})
	}
	return s
}

func scoresOf(s ...answer.ScoreSeries) *answer.Scores {
	return &answer.Scores{Head: head("scores", "sour, coupe", n(3.5)), Attributes: s}
}

func scoreCases() map[string]answer.Answer {
	eight := scoresOf(series("bubbles", false, 8, .4), series("liking", true, 8.5, .4))
	for i, name := range []string{"sourness", "sweetness", "aroma of fresh citrus peel over crushed ice, as it leaves the strainer and before the straw goes in, first nosing", "cold", "body", "bitter end"} {
		eight.Attributes = append(eight.Attributes, series(name, false, 7.5-float64(i)/2, .05*float64(i)-.05))
	}
	close := series("liking", true, 8.5, .4)
	close.Limit, close.Prime = n(6.6), n(7)
	unranged := series("texture", false, 6, 0)
	unranged.Ranged, unranged.Low, unranged.High, unranged.Limit = false, 6, 6, answer.Num{}
	unranged.Points, unranged.Steps = unranged.Points[:1], unranged.Steps[:1]
	return map[string]answer.Answer{
		"scores_one": scoresOf(series("liking", true, 8.5, .4)), "scores_eight": eight,
		"scores_close_limits": scoresOf(close), "scores_one_step": scoresOf(unranged),
	}
}

// cases are all of them by name.
func cases() map[string]answer.Answer {
	all := map[string]answer.Answer{}
	for _, some := range []map[string]answer.Answer{
		ribbons(), windows(), comparisons(), readingCases(), lifetimes(), headlines(), inTens(), ages(), ageDifferenceCases(), differenceCases(), repliesCases(), scoreCases(), goesFirstCases(),
	} {
		for name, a := range some {
			all[name] = a
		}
	}
	return all
}
