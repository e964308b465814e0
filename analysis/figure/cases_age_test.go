package figure_test

import (
	"math"

	"lastsip/analysis/answer"
)

// aged is a prime window whose numbers are read off its own curve, which has half a width of limits at each age.
func aged(title string, curve, half func(age float64) float64, change func(*answer.PrimeWindow)) *answer.PrimeWindow {
	a := &answer.PrimeWindow{Head: head("prime_window", title, n(3.5)), Attribute: "liking", Better: "high", Ranged: true, High: 10, Limit: n(7), Shape: "spline"}
	for i := 0; i <= 160; i++ {
		age := float64(i) / 10
		m, h := curve(age), half(age)
		a.Curve = append(a.Curve, answer.CurvePoint{AgeMin: age, Mean: m, Lower: m - h, Upper: m + h})
	}
	for k := range 8 {
		l := answer.TasterLine{Taster: string(rune('A' + k))}
		offset, slope := .35*(float64(k)-3.5), .03*math.Sin(float64(3*k))
		for _, pt := range a.Curve {
			l.Means = append(l.Means, pt.Mean+offset+slope*pt.AgeMin)
		}
		a.Lines = append(a.Lines, l)
		for i := 0; i <= 160; i += 20 {
			at := min(max(i+(k*5+i/4)%7-3, 0), 160)
			score := math.Round(10*(l.Means[at]+math.Sin(float64(i*7+k*13))))/10 + 0
			score = min(max(score, 0), 10)
			a.Points = append(a.Points, answer.ScorePoint{Taster: l.Taster, AgeMin: float64(at) / 10, Score: score})
			a.Residuals = append(a.Residuals, answer.Residual{Taster: l.Taster, AgeMin: float64(at) / 10, Fitted: l.Means[at], Residual: score - l.Means[at]})
		}
	}
	for i := 0; i <= 160; i += 20 {
		a.Steps = append(a.Steps, answer.ScoreStep{AgeMin: float64(i) / 10, Tasters: 8, Mean: a.Curve[i].Mean})
	}
	if change != nil {
		change(a)
	}
	return a
}

// ended gives it with a window of its own.
func ended(status string, change func(*answer.Window)) func(*answer.PrimeWindow) {
	return func(a *answer.PrimeWindow) {
		a.Main = answer.Window{Status: status, Limit: a.Limit.Float(), From: n(0), FromLower: n(0), FromUpper: n(0), ToLower: n(0), ToUpper: openEnd}
		change(&a.Main)
	}
}

// falls is a curve that falls from 8.4 through 7 at 6 minutes.
func falls(age float64) float64 { return 8.4 - 1.4*math.Pow(age/6, 1.5)/(.4+.6*math.Pow(age/6, .9)) }

// rises is one that rises through 7 at 2 minutes and comes down through it at 10.
func rises(age float64) float64 { return 8 - math.Pow((age-6)/4, 2)*(1-.012*age*age/10) }

func steady(h float64) func(float64) float64 { return func(float64) float64 { return h } }

// where finds the age at which a curve passes the limit between two ages.
func where(f func(float64) float64, level, from, to float64) answer.Num {
	up := f(to) > f(from)
	for range 60 {
		if mid := (from + to) / 2; (f(mid) > level) == up {
			to = mid
		} else {
			from = mid
		}
	}
	return n((from + to) / 2)
}

func shifted(f func(float64) float64, by float64) func(float64) float64 {
	return func(age float64) float64 { return f(age) + by }
}

func ages() map[string]answer.Answer {
	end := func(f func(float64) float64, h, from float64) func(*answer.Window) {
		return func(w *answer.Window) {
			w.To, w.ToLower, w.ToUpper = where(f, 7, from, 16), where(shifted(f, -h), 7, from, 16), where(shifted(f, h), 7, from, 16)
			w.AtLeastUntil = w.ToLower
		}
	}
	late := func(w *answer.Window) {
		end(rises, .5, 6)(w)
		w.From, w.FromLower, w.FromUpper = where(rises, 7, 0, 6), where(shifted(rises, .5), 7, 0, 6), where(shifted(rises, -.5), 7, 0, 6)
	}
	low := func(age float64) float64 { return 5.6 + 1.3*math.Exp(-math.Pow((age-2)/5, 2)) }
	high := func(age float64) float64 { return 8.6 - .05*age }
	slow := func(age float64) float64 { return 8.6 - .09*age }
	wave := func(age float64) float64 { return 7 + 1.2*math.Cos(age/2) - .03*age }
	mirror := func(age float64) float64 { return 10 - falls(age) }
	return map[string]answer.Answer{
		"age_usual": aged("sour, coupe", falls, steady(.5), ended(answer.OK, end(falls, .5, 0))),
		"age_late": aged("highball, on the rock", rises, steady(.5), func(a *answer.PrimeWindow) {
			a.Act = n(8.5)
			ended(answer.OK, late)(a)
		}),
		"age_never": aged("spritz", low, steady(.4), ended(answer.Never, func(w *answer.Window) {
			*w = answer.Window{Status: answer.Never, Limit: 7, Highest: 6.9, HighestAt: 2}
		})),
		"age_lost": aged("spritz", low, steady(.4), func(a *answer.PrimeWindow) {
			a.Main, a.Drop, a.Status = answer.Window{Status: answer.Never, Limit: 7, Highest: 6.9, HighestAt: 2}, n(1), answer.NotConverged
			a.Variants = []answer.Variant{{Variant: "one_point", Window: answer.Window{Status: answer.OK, Limit: 1, From: n(0), FromLower: n(0), FromUpper: n(0),
				To: n(9.4), ToLower: n(7), ToUpper: openEnd, AtLeastUntil: n(7)}}}
		}),
		"age_always": aged("water", high, steady(.4), ended(answer.Always, func(w *answer.Window) {
			w.To, w.ToLower, w.AtLeastUntil = answer.Num{}, n(16), n(16)
		})),
		"age_always_unsure": aged("stirred", slow, steady(1.), ended(answer.Always, func(w *answer.Window) {
			w.ToLower = where(shifted(slow, -1), 7, 0, 16)
			w.AtLeastUntil = w.ToLower
		})),
		"age_beyond": aged("stirred", slow, steady(1.), ended(answer.BeyondLastAge, func(w *answer.Window) {
			w.ToLower = where(shifted(slow, -1), 7, 0, 16)
			w.AtLeastUntil = w.ToLower
		})),
		"age_open": aged("sour, coupe", falls, steady(2.4), ended(answer.OK, func(w *answer.Window) {
			w.To, w.ToUpper = where(falls, 7, 0, 16), where(shifted(falls, 2.4), 7, 0, 16)
			w.FromUpper = openEnd
		})),
		"age_again": aged("sour, coupe", wave, steady(.4), ended(answer.OK, func(w *answer.Window) {
			w.To, w.ToLower, w.ToUpper = where(wave, 7, 0, 6), where(shifted(wave, -.4), 7, 0, 6), where(shifted(wave, .4), 7, 0, 6)
			w.AtLeastUntil = w.ToLower
			w.Others = []answer.Span{{From: where(wave, 7, 6, 12).Float(), To: where(wave, 7, 12, 16).Float()}}
		})),
		"age_low": aged("tonic", mirror, steady(.5), func(a *answer.PrimeWindow) {
			a.Attribute, a.Better, a.Limit = "off taste", "low", n(3)
			ended(answer.OK, func(w *answer.Window) {
				w.Below = true
				w.To, w.ToLower, w.ToUpper = where(falls, 7, 0, 16), where(shifted(falls, -.5), 7, 0, 16), where(shifted(falls, .5), 7, 0, 16)
				w.AtLeastUntil = w.ToLower
			})(a)
		}),
		"age_one_taster": aged("sour, coupe", falls, steady(.7), func(a *answer.PrimeWindow) {
			a.Lines, a.Points, a.Ranged, a.Low, a.High = nil, a.Points[27:36], false, 3, 9
			a.Unit, a.Units = "pour", 9
			ended(answer.OK, end(falls, .7, 0))(a)
		}),
		"age_no_limit": aged("sour, coupe", falls, steady(.5), func(a *answer.PrimeWindow) {
			a.Limit, a.Main, a.Act = answer.Num{}, answer.Window{Status: answer.NotAsked}, answer.Num{}
		}),
	}
}
