package figure_test

import (
	"fmt"
	"math"

	"lastsip/analysis/answer"
)

// going is the share of a log-normal lifetime that outlasts an age, shifted on its normal scale.
func going(logMedian, logSD, age, shift float64) float64 {
	return math.Erfc((math.Log(age)-logMedian-shift)/logSD/math.Sqrt2) / 2
}

// tenthOf is the one-in-ten estimate of a log-normal lifetime.
func tenthOf(logMedian, logSD float64) float64 {
	return math.Exp(logMedian - 1.2815515655446004*logSD)
}

// headline is an ordinary one: half at 7.5 (6 to 9.5), with its curve and the limits of its shares.
func headline(change func(*answer.Headline)) *answer.Headline {
	m, sd := math.Log(7.5), .4
	q10 := n(tenthOf(m, sd))
	h := &answer.Headline{Method: "replies", Status: answer.OK, LogMedian: n(m), LogSD: n(sd), ReplySD: n(.2), Slips: .02, LogLik: -31.25, Units: 12, Replies: 84,
		Quantiles: []answer.Quantile{half(n(6), n(7.5), n(7.5), n(9.5)), {P: .1, From: q10, To: q10, Lower: n(3), Upper: n(6), Level: .95, Status: answer.OK}}}
	for _, age := range []float64{2, 6, 8, 16} {
		h.Shares = append(h.Shares, answer.ModelShare{AgeMin: age, Share: going(m, sd, age, 0), Lower: going(m, sd, age, -.28), Upper: going(m, sd, age, .28), Level: .95, OfReplies: going(m, .45, age, 0)})
	}
	if change != nil {
		change(h)
	}
	return h
}

// told is a lifetime with a headline.
func told(h *answer.Headline, change func(*answer.LifetimePart)) *answer.Lifetime {
	return life(func(a *answer.Lifetime) {
		p := &a.Parts[0]
		p.Headline, p.Sensitivity = h, answer.Sensitivity{From: n(6.6), To: n(8.1)}
		if change != nil {
			change(p)
		}
	})
}

// nineInTen is the ribbon of an act that rests on one in ten.
func nineInTen(change func(*answer.ServeBy)) *answer.ServeBy {
	return serveBy(func(a *answer.ServeBy) {
		a.Basis, a.Act = "one_in_ten", n(4)
		a.Ribbon.Tenth, a.Ribbon.HasTenth = answer.Quantile{P: .1, From: n(4.4), To: n(4.4), Lower: n(3), Upper: n(5.8), Level: .95, Status: answer.OK}, true
		if change != nil {
			change(a)
		}
	})
}

// inTens are ribbons and comparisons whose acts rest on one in ten, and estimates that a curve puts past the last age.
func inTens() map[string]answer.Answer {
	tenth := func(r *answer.Ribbon) { r.Tenth, r.HasTenth = nineInTen(nil).Ribbon.Tenth, true }
	rowOf := func(label string, act answer.Num, change func(*answer.Ribbon)) answer.CompareStyle {
		st := row(label, act, tenth)
		st.Basis = "one_in_ten"
		if change != nil {
			change(&st.Ribbon)
		}
		return st
	}
	far := func(r *answer.Ribbon) {
		r.Half = half(n(13), n(19), n(19), n(44))
		r.Half.Beyond = true
	}
	return map[string]answer.Answer{
		"tenth_usual": nineInTen(nil),
		"tenth_open": nineInTen(func(a *answer.ServeBy) {
			a.Act, a.Ribbon.Tenth.Lower, a.Ribbon.Half.Upper = n(4), n(0), n(38)
		}),
		"tenth_at_once": nineInTen(func(a *answer.ServeBy) {
			a.Act, a.Ribbon.Tenth = n(0), answer.Quantile{P: .1, From: n(.4), To: n(.4), Lower: n(0), Upper: n(2.1), Level: .95, Status: answer.BeforeFirstAge, Before: true}
		}),
		"tenth_beyond": nineInTen(func(a *answer.ServeBy) {
			a.Act = n(16)
			far(&a.Ribbon)
			a.Ribbon.Tenth = answer.Quantile{P: .1, From: n(17), To: n(17), Lower: n(9), Upper: n(60), Level: .95, Beyond: true, Status: answer.BeyondLastAge}
		}),
		"tenth_past_half": nineInTen(func(a *answer.ServeBy) { a.Ribbon.Half = half(n(3.2), n(7.5), n(7.5), n(12)) }),
		"tenth_not_told":  nineInTen(func(a *answer.ServeBy) { a.Basis, a.Ribbon.Tenth = "smallest_l", answer.Quantile{P: .1} }),
		"compare_tenths":  comparison(rowOf("stirred, coupe", n(9), far), rowOf("sour, coupe", n(4), nil)),
		"compare_bases":   comparison(row("highball, tall glass", n(5.5), nil), rowOf("sour, coupe", n(4), nil)),
		"compare_bases_scored": comparison(row("stirred", n(9), func(r *answer.Ribbon) { r.Window = windowOf(nil) }),
			row("highball, tall glass", n(5.5), nil), rowOf("sour, coupe", n(4), nil)),
	}
}

func groups(over *answer.Quantile, each ...answer.Group) answer.Groups {
	return answer.Groups{Each: each, Half: over}
}

func group(name string, q answer.Quantile) answer.Group {
	return answer.Group{Name: name, Tasters: 6, Half: q}
}

func headlines() map[string]answer.Answer {
	over := half(n(4.9), n(7.4), n(7.4), n(11.2))
	evenings := groups(nil,
		group("weeknight", half(n(5), n(7), n(7), n(9))),
		group("a saturday that went on for longer than any evening should, <b>twice</b>", half(n(0), n(8.2), n(8.2), openEnd)),
		group("sunday", half(answer.Num{}, n(6), n(7.1), answer.Num{})),
		answer.Group{Name: "two", Tasters: 2, Half: half(n(.2), n(5.4), n(5.4), n(471))},
		group("quiet", answer.Quantile{P: .5, Status: answer.NotEnough}))
	var many answer.Groups
	for i := range 11 {
		many.Each = append(many.Each, group(fmt.Sprint("evening ", i), half(n(5), n(6.5+.3*float64(i%5)), n(6.5+.3*float64(i%5)), n(9))))
	}
	many.Half = &over
	step := func(from, to float64) *answer.Headline {
		return headline(func(h *answer.Headline) {
			h.LogMedian, h.LogSD = answer.Num{}, answer.Num{}
			h.Quantiles = []answer.Quantile{half(n(3.9), n(from), n(to), n(12))}
			for i, age := range []float64{2, 6, 8, 16} {
				s := 1.
				if age > from {
					s = 0
				}
				h.Shares[i] = answer.ModelShare{AgeMin: age, Share: s, Lower: math.Max(0, s-.3), Upper: math.Min(1, s+.3), Level: .95}
			}
		})
	}
	return map[string]answer.Answer{
		"headline_usual": told(headline(nil), nil),
		"headline_small_panel": told(headline(func(h *answer.Headline) {
			h.Quantiles = []answer.Quantile{half(n(4.2), n(7.5), n(7.5), n(13.4))}
		}), func(p *answer.LifetimePart) { p.Sensitivity = answer.Sensitivity{From: n(7.1), To: n(7.8), Open: 2} }),
		"headline_range": told(step(6.1, 8), nil),
		"headline_fall":  told(step(7, 7), nil),
		"headline_open": told(headline(func(h *answer.Headline) {
			h.Quantiles[0].Lower, h.Quantiles[0].Upper = n(0), openEnd
			h.Quantiles[1].Lower = n(0)
		}), func(p *answer.LifetimePart) { p.Sensitivity = answer.Sensitivity{From: n(7.5), To: n(15.5)} }),
		"headline_far_limits": told(headline(func(h *answer.Headline) {
			h.Quantiles[0].Upper, h.Quantiles[1].Upper = n(38), n(15.8)
		}), func(p *answer.LifetimePart) { p.Sensitivity = answer.Sensitivity{From: n(5), To: n(21), Open: 1} }),
		"headline_beyond": told(headline(func(h *answer.Headline) {
			h.LogMedian = n(math.Log(19))
			h.Quantiles[0] = half(n(13), n(19), n(19), n(44))
			h.Quantiles[0].Beyond, h.Quantiles[0].Status = true, answer.BeyondLastAge
			h.Quantiles[1] = answer.Quantile{P: .1, From: n(tenthOf(math.Log(19), .4)), To: n(tenthOf(math.Log(19), .4)), Lower: n(8), Upper: n(14.5), Level: .95, Status: answer.OK}
			for i := range h.Shares {
				s := &h.Shares[i]
				s.Share, s.Lower, s.Upper = going(math.Log(19), .4, s.AgeMin, 0), going(math.Log(19), .4, s.AgeMin, -.3), going(math.Log(19), .4, s.AgeMin, .5)
			}
		}), func(p *answer.LifetimePart) { p.Sensitivity = answer.Sensitivity{Open: 9} }),
		"headline_all_accept": told(headline(func(h *answer.Headline) {
			h.LogMedian, h.LogSD, h.Shares = answer.Num{}, answer.Num{}, nil
			h.Quantiles = []answer.Quantile{{P: .5, From: openEnd, To: openEnd, Lower: n(16), Upper: openEnd, Level: .95, Beyond: true, Status: answer.BeyondLastAge}}
		}), func(p *answer.LifetimePart) {
			p.Curve.Sets = []answer.Set{{L: n(16), R: openEnd, Mass: 1}}
			p.Sensitivity = answer.Sensitivity{}
		}),
		"headline_not_converged": told(headline(func(h *answer.Headline) {
			h.Status = answer.NotConverged
			for i := range h.Quantiles {
				h.Quantiles[i].Status = answer.NotConverged
			}
		}), nil),
		"headline_early": told(headline(func(h *answer.Headline) { h.Early, h.Method = true, "lognormal" }), func(p *answer.LifetimePart) { p.Mode = "sip_through" }),
		"headline_groups": told(headline(func(h *answer.Headline) {
			h.Evenings = evenings
			h.Batches = groups(&over, group("1", half(n(5), n(6), n(6), n(8))), group("2", half(n(6), n(9), n(9), n(15.8))), group("3", half(n(4), n(7), n(7), n(10))), group("4", half(n(4), n(7.8), n(7.8), n(10.3))))
		}), nil),
		"headline_many_evenings": told(headline(func(h *answer.Headline) {
			h.Evenings, h.Batches = many, many
		}), nil),
		"headline_two_modes": life(func(a *answer.Lifetime) {
			a.Parts[0] = told(headline(nil), nil).Parts[0]
			a.Parts[0].Headline.Evenings = groups(nil, evenings.Each[:2]...)
			a.Parts = append(a.Parts, told(headline(nil), func(p *answer.LifetimePart) { p.Mode = "sip_through" }).Parts[0])
		}),
	}
}
