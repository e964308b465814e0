package figure_test

import (
	"lastsip/analysis/answer"
)

// windowOf is an ordinary window from the start; the others change it.
func windowOf(change func(*answer.Window)) *answer.Window {
	w := &answer.Window{Status: answer.OK, From: n(0), To: n(7.5), FromLower: n(0), FromUpper: n(0), ToLower: n(6), ToUpper: n(9.5), AtLeastUntil: n(6), Limit: 7, Highest: 8.4}
	if change != nil {
		change(w)
	}
	return w
}

// scored is the ribbon of a style with a window, one in ten and half.
func scored(change func(*answer.ServeBy)) *answer.ServeBy {
	return serveBy(func(a *answer.ServeBy) {
		a.Ribbon.Window = windowOf(nil)
		a.Ribbon.Half = half(n(9), n(10.5), n(10.5), n(12.5))
		a.Ribbon.Tenth, a.Ribbon.HasTenth = half(n(2.5), n(4.5), n(4.5), n(7)), true
		a.Ribbon.Tenth.P = .1
		if change != nil {
			change(a)
		}
	})
}

// windows are the states of the prime window, of one in ten and of noticing, that a ribbon knows.
func windows() map[string]answer.Answer {
	with := func(change func(*answer.Window)) *answer.ServeBy {
		return scored(func(a *answer.ServeBy) { change(a.Ribbon.Window) })
	}
	few := func(a *answer.ServeBy, ends ...answer.Num) {
		a.Ribbon.Units, a.Ribbon.Intervals = len(ends)/2, intervals("taster", ends...)
		a.Ribbon.HasHalf = a.Ribbon.Units >= 3
	}
	return map[string]answer.Answer{
		"window_usual": scored(nil),
		"window_never": with(func(w *answer.Window) {
			*w = answer.Window{Status: answer.Never, Limit: 7, Highest: 6.4, HighestAt: 2}
		}),
		"window_always": with(func(w *answer.Window) {
			*w = answer.Window{Status: answer.Always, Limit: 7, Highest: 8.1, HighestAt: 4}
		}),
		"window_beyond": scored(func(a *answer.ServeBy) {
			a.Ribbon.LastAge = 14
			w := a.Ribbon.Window
			w.Status, w.To, w.ToLower, w.ToUpper = answer.BeyondLastAge, openEnd, n(11), openEnd
		}),
		"window_open_lower": with(func(w *answer.Window) { w.ToLower, w.AtLeastUntil = answer.Num{}, answer.Num{} }),
		"window_open_upper": with(func(w *answer.Window) { w.To, w.ToUpper = n(12), openEnd }),
		"window_starts_late": scored(func(a *answer.ServeBy) {
			a.Ribbon.Label, a.HandOverAfter, a.Act = "on the rock", n(2), n(9)
			w := a.Ribbon.Window
			w.From, w.FromLower, w.FromUpper = n(2), n(1), n(3)
			w.To, w.ToLower, w.ToUpper = n(10.5), n(9), n(12)
		}),
		"window_never_sure": with(func(w *answer.Window) {
			w.From, w.FromLower, w.FromUpper = n(4), n(2), n(8)
		}),
		"window_second_run": with(func(w *answer.Window) { w.ToUpper, w.Others = n(9), []answer.Span{{From: 11, To: 13}} }),
		"window_not_tasted": scored(func(a *answer.ServeBy) { a.Ribbon.FirstAge, a.Ribbon.LastAge = 2, 12 }),
		"window_noticed":    scored(func(a *answer.ServeBy) { a.Ribbon.Noticed = n(5.5) }),
		"window_noticed_late": scored(func(a *answer.ServeBy) {
			a.Ribbon.Noticed, a.Ribbon.Tenth = n(14.5), answer.Quantile{P: .1, From: n(3), To: n(5), Lower: n(0), Upper: n(7), Level: .95}
		}),
		"window_from_first": scored(func(a *answer.ServeBy) { // tasted first at a quarter of a minute, at its best from then on
			a.Ribbon.FirstAge = .25
			w := a.Ribbon.Window
			w.From, w.FromUpper, w.ToLower, w.AtLeastUntil = n(.25), n(.25), n(6), n(6)
		}),
		"window_unsure_start": with(func(w *answer.Window) { w.FromUpper = n(2.5) }),
		"window_always_unsure": with(func(w *answer.Window) {
			w.Status, w.To, w.ToLower, w.ToUpper, w.AtLeastUntil = answer.Always, answer.Num{}, n(11), openEnd, n(11)
		}),
		"window_always_open": with(func(w *answer.Window) {
			w.Status, w.FromUpper, w.To, w.ToLower, w.ToUpper, w.AtLeastUntil = answer.Always, openEnd, answer.Num{}, n(0), openEnd, answer.Num{}
		}),
		"window_late_to_last": scored(func(a *answer.ServeBy) {
			a.Ribbon.Label, a.HandOverAfter, a.Act = "on the rock", n(2), n(9)
			w := a.Ribbon.Window
			w.Status, w.From, w.FromLower, w.FromUpper = answer.BeyondLastAge, n(2), n(0), n(3)
			w.To, w.ToLower, w.ToUpper, w.AtLeastUntil = answer.Num{}, n(16), openEnd, n(16)
		}),
		"window_late_beyond": scored(func(a *answer.ServeBy) {
			a.Ribbon.Label, a.HandOverAfter, a.Act, a.Ribbon.HasTenth = "on the rock, in a tumbler of two fingers", n(6.5), n(12), false
			w := a.Ribbon.Window
			w.Status, w.From, w.FromLower, w.FromUpper = answer.BeyondLastAge, n(6.6), n(5), n(8)
			w.To, w.ToLower, w.ToUpper, w.AtLeastUntil = answer.Num{}, n(13), openEnd, n(13)
		}),
		"window_late_early_act": scored(func(a *answer.ServeBy) { // one in ten leave it before it is at its best
			a.HandOverAfter, a.Act, a.Ribbon.HasHalf = n(4), n(3), false
			w := a.Ribbon.Window
			w.From, w.FromLower, w.FromUpper = n(4), n(2), n(5.5)
		}),
		"window_low": with(func(w *answer.Window) { w.Below, w.Limit = true, 3 }),
		"window_never_low": with(func(w *answer.Window) {
			*w = answer.Window{Status: answer.Never, Below: true, Limit: 3, Highest: 3.6, HighestAt: 2}
		}),
		"window_at_once": scored(func(a *answer.ServeBy) {
			a.Act, a.HandOverAfter = n(0), n(2)
			a.Ribbon.Window.From, a.Ribbon.Window.FromLower, a.Ribbon.Window.FromUpper = n(2), n(1), n(3.5)
		}),
		"window_not_converged": with(func(w *answer.Window) { *w = answer.Window{Status: answer.NotConverged, Limit: 7} }),
		"window_no_rail":       scored(func(a *answer.ServeBy) { a.Ribbon.HasHalf, a.Ribbon.HasTenth = false, false }),
		"window_3_tasters": scored(func(a *answer.ServeBy) {
			few(a, n(3.9), n(6.1), n(6.1), n(8), n(9.8), n(12.2))
		}),
		"window_1_taster": scored(func(a *answer.ServeBy) {
			a.Ribbon.Unit, a.Ribbon.Units, a.Ribbon.Words = "pour", 3, "taster A only"
			a.Ribbon.Intervals = intervals("pour", n(3.9), n(6.1), n(6), n(8), n(6.1), openEnd)
		}),
	}
}

// row makes a row of a comparison.
func row(label string, act answer.Num, change func(*answer.Ribbon)) answer.CompareStyle {
	r := answer.Ribbon{Label: label, Half: half(n(6), n(7.5), n(7.5), n(9.5)), HasHalf: true, LastAge: 16, Unit: "taster", Units: 12}
	if change != nil {
		change(&r)
	}
	return answer.CompareStyle{Act: act, Basis: "smallest_l", Ribbon: r}
}

func comparison(rows ...answer.CompareStyle) *answer.Compare {
	return &answer.Compare{Head: answer.Head{Question: "compare", Title: "the drinks", Status: answer.OK, AxisEnd: 16, Invented: true}, Styles: rows}
}

func comparisons() map[string]answer.Answer {
	win := func(w *answer.Window) func(*answer.Ribbon) {
		return func(r *answer.Ribbon) {
			r.Window, r.Half = w, half(n(9), n(10.5), n(10.5), n(12.5))
			r.Tenth, r.HasTenth = half(n(2.5), n(4.5), n(4.5), n(7)), true
		}
	}
	replies := []answer.CompareStyle{
		row("stirred, coupe", n(9), func(r *answer.Ribbon) { r.Half = half(n(11), n(13), n(13), openEnd) }),
		row("highball, tall glass", n(5.5), func(r *answer.Ribbon) { r.Half = half(n(8), n(8.5), n(10), n(14)) }),
		row("sour, coupe", n(3.5), nil),
	}
	late := func(act, after answer.Num, r answer.CompareStyle) answer.CompareStyle {
		r.Act, r.HandOverAfter = act, after
		return r
	}
	bare := func(w *answer.Window) func(*answer.Ribbon) {
		return func(r *answer.Ribbon) { r.Window, r.HasHalf, r.FirstAge = w, false, .25 }
	}
	return map[string]answer.Answer{
		"compare_windows": comparison(
			row("usual", n(4.5), win(windowOf(nil))),
			row("always, and surely", n(10), win(&answer.Window{Status: answer.Always, Limit: 7, From: n(0), FromUpper: n(0), ToLower: n(16), ToUpper: openEnd})),
			row("always, not surely", n(4.5), bare(&answer.Window{Status: answer.Always, Limit: 7, From: n(.25), FromUpper: n(.25), ToLower: n(11), ToUpper: openEnd})),
			row("never", n(2), bare(&answer.Window{Status: answer.Never, Limit: 7, Highest: 6.4, HighestAt: 2})),
			late(n(8.5), n(2), row("late", n(8), win(windowOf(func(w *answer.Window) {
				w.From, w.FromLower, w.FromUpper, w.To, w.ToLower, w.ToUpper = n(2), n(1), n(3), n(10), n(8.5), n(13)
			})))),
			late(n(12), n(6.5), row("late, to the last age tasted", n(8), bare(windowOf(func(w *answer.Window) {
				w.Status, w.From, w.FromLower, w.FromUpper, w.To, w.ToLower, w.ToUpper = answer.BeyondLastAge, n(6.6), n(5), n(8), answer.Num{}, n(16), openEnd
			})))),
			row("beyond", n(6), win(windowOf(func(w *answer.Window) {
				w.Status, w.From, w.To, w.ToLower, w.ToUpper = answer.BeyondLastAge, n(0), answer.Num{}, n(9), openEnd
			}))),
			row("again", n(3), bare(windowOf(func(w *answer.Window) { w.Others = []answer.Span{{From: 11, To: 13}} }))),
			row("open below", n(3), win(windowOf(func(w *answer.Window) { w.FromUpper, w.ToLower = openEnd, n(0) }))),
			row("not converged", n(3), win(&answer.Window{Status: answer.NotConverged})),
		),
		"compare_three": comparison(replies...),
		"compare_one":   comparison(replies[2]),
		"compare_eight": comparison(
			row("never <b>asked</b> enough", answer.Num{}, func(r *answer.Ribbon) { *r = answer.Ribbon{Label: r.Label, LastAge: 4} }),
			row("spritz", n(2), win(&answer.Window{Status: answer.Never, Limit: 7, Highest: 6.4, HighestAt: 2})),
			row("stirred", n(9), win(&answer.Window{Status: answer.BeyondLastAge, From: n(0), To: openEnd, ToLower: n(9.5), ToUpper: openEnd, Limit: 7})),
			row("on the rock", n(8), win(windowOf(func(w *answer.Window) {
				w.From, w.FromLower, w.FromUpper, w.To, w.ToLower, w.ToUpper = n(2), n(1), n(3), n(10), n(8.5), n(13)
			}))),
			row("water", n(10), func(r *answer.Ribbon) {
				win(&answer.Window{Status: answer.Always, Limit: 7})(r)
				r.LastAge, r.HasHalf, r.HasTenth = 12, false, false
			}),
			row("a highball with a name that is longer than any list of drinks would print", n(5.5), win(windowOf(func(w *answer.Window) { w.Others = []answer.Span{{From: 11, To: 13}} }))),
			row("sour", n(3.5), func(r *answer.Ribbon) { win(windowOf(nil))(r); r.Noticed = n(5.5) }),
			row("egg-white sour", n(2), func(r *answer.Ribbon) {
				r.Units, r.Intervals = 3, intervals("taster", n(2), n(4), n(4), n(6), n(8), openEnd)
			}),
		),
		"compare_small_panels": comparison(
			row("sour", n(3.5), func(r *answer.Ribbon) {
				r.Units, r.Intervals = 5, intervals("taster", n(3.9), n(6.1), n(0), n(2), n(6), n(8), n(7.9), n(10), n(14), openEnd)
			}),
			row("stirred", n(2), func(r *answer.Ribbon) {
				r.Unit, r.Units, r.Words = "pour", 3, "taster A only"
				r.Intervals = intervals("pour", n(3.9), n(6.1), n(6), n(8), n(6.1), openEnd)
			}),
			row("highball", n(0), func(r *answer.Ribbon) { r.Half = half(n(0), n(2), n(4), n(30)) }),
		),
	}
}

// measured makes readings of two glasses at uneven minutes.
func measured(change func(*answer.Readings)) *answer.Readings {
	a := &answer.Readings{Head: head("reading", "sour, coupe", n(3.5))}
	for i, q := range []struct {
		quantity, unit string
		from, slope    float64
	}{{"temperature", "C", -3.5, .45}, {"foam", "mm", 9, -.6}, {"co2", "g/L", 5.2, -.11}} {
		ser := answer.ReadingSeries{Quantity: q.quantity, Unit: q.unit}
		for glass := range 2 - i%2 {
			for _, age := range []float64{.4, 2.2, 4.1, 7.9, 12.3, 15.6} {
				ser.Points = append(ser.Points, answer.ReadingPoint{Session: "one", Pour: string(rune('a' + glass)), AgeMin: age + .2*float64(glass), Value: q.from + q.slope*age + .3*float64(glass)})
			}
		}
		a.Series = append(a.Series, ser)
	}
	if change != nil {
		change(a)
	}
	return a
}

func readingCases() map[string]answer.Answer {
	return map[string]answer.Answer{
		"readings_usual": measured(nil),
		"readings_single": measured(func(a *answer.Readings) {
			a.Series = a.Series[:1]
			a.Series[0].Quantity = `a quantity with "quotes" & <tags> and a name that runs on for longer than any instrument would have it, on paper`
			a.Series[0].Points = a.Series[0].Points[:1]
		}),
	}
}
