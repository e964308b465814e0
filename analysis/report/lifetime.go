package report

import (
	"fmt"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
)

// lifetimeTable gives the ages by which shares of the tasters have reached their limit, the headline's first; what other
// choices of ours would have given; spreads; halves by evening and batch; the share going on at each age step.
func lifetimeTable(a *answer.Lifetime) string {
	var b strings.Builder
	var rows, others, spreads, groups [][]string
	for i := range a.Parts {
		p := &a.Parts[i]
		rows = append(rows, quantileRows(p)...)
		others = append(others, choiceRows(p)...)
		spreads = append(spreads, spreadRows(p)...)
		groups = append(groups, groupRows(p)...)
	}
	b.WriteString(table([]string{"how", "what", "estimate, min", "lower limit", "upper limit", "level reached", "status", "method"}, "llrrrrll", rows))
	b.WriteString(table([]string{"how", "another choice", "half, min", "limits", "one in ten, min", "log-likelihood", "AIC", "distance from the curve without a family", "p", ""}, "llrrrrrrrl", others))
	b.WriteString(table([]string{"how", "spread", "log-sd"}, "llr", spreads))
	b.WriteString(table([]string{"how", "half by", "which", "tasters", "half, min", "limits", "status"}, "lllrrrl", groups))
	b.WriteString(shareTable(a))
	for i := range a.Parts {
		b.WriteString(fitted(&a.Parts[i]))
	}
	if q := a.ModeRatio; q != nil {
		fmt.Fprintf(&b, "Tasted again and again it lasts %s times as long as side by side, limits %s.\n\n", ratio(*q), ratioLimits(*q))
	}
	return b.String()
}

// estimate prints a quantile's estimate: an age, a range of ages, or that it lies past the last age.
func estimate(q answer.Quantile) string {
	switch from, to := age(q.From), age(q.To); {
	case q.From.Empty():
		return ""
	case q.From.Open(), q.Beyond && q.To.Finite():
		return "past the last age"
	case !q.To.Finite():
		return "later than " + from
	case from == to:
		return from
	default:
		return from + " to " + to
	}
}

// lowerLimit prints a lower limit, which is open at 0.
func lowerLimit(n answer.Num) string {
	if n.Finite() && n.Float() == 0 {
		return "open"
	}
	return age(n)
}

// limits prints a quantile's limits.
func limits(q answer.Quantile) string {
	if q.Lower.Empty() && q.Upper.Empty() {
		return ""
	}
	return lowerLimit(q.Lower) + " to " + age(q.Upper)
}

var quantileNames = map[float64]string{0.1: "one in ten", 0.25: "a quarter", 0.5: "half"}

func quantileRows(p *answer.LifetimePart) [][]string {
	const without = "without a family"
	var rows [][]string
	add := func(what, method string, q answer.Quantile) {
		rows = append(rows, []string{mode(p.Mode), what, estimate(q), lowerLimit(q.Lower), age(q.Upper), fmt.Sprintf("%.1f %%", 100*q.Level), q.Status, method})
	}
	method := without
	if h := p.Headline; h != nil {
		method = "all replies"
		if h.Early {
			method = "first no (early)"
		}
		for _, q := range h.Quantiles {
			add(quantileNames[q.P]+" would leave the rest", method, q)
		}
	}
	for _, q := range p.Quantiles {
		add(quantileNames[q.P]+" would leave the rest", without, q)
	}
	if p.BandHalf != nil {
		add("half would leave the rest", without+", whole tasters drawn again", *p.BandHalf)
	}
	if p.Unclear > 0 {
		for _, r := range p.Readings[min(1, len(p.Readings)):] {
			add("half, read by the "+strings.ReplaceAll(r.Name, "_", " "), without, r.Median)
		}
	}
	if p.WithoutNever != nil {
		who := ", without " + strings.Join(p.NeverTook, ", ")
		add("half"+who, method, *p.WithoutNever)
		if p.WithoutNeverTenth != nil {
			add("one in ten"+who, method, *p.WithoutNeverTenth)
		}
	}
	return rows
}

// choiceRows list what other choices of ours would have given.
func choiceRows(p *answer.LifetimePart) [][]string {
	var rows [][]string
	for _, c := range p.Sensitivity.Rows {
		half := estimate(c.Half)
		if half == "" {
			half = strings.ReplaceAll(c.Status, "_", " ")
		}
		rows = append(rows, []string{mode(p.Mode), c.Words, half, limits(c.Half), estimate(c.Tenth), decimals(c.LogLik, 3), decimals(c.AIC, 2), decimals(c.Distance, 3), probability(c.P), c.Note})
	}
	if s := p.Sensitivity; len(rows) > 0 && s.From.Finite() && s.To.Finite() {
		var notes []string
		if s.Open > 0 {
			notes = append(notes, fmt.Sprintf("%d open or not told", s.Open))
		}
		if len(s.Unfit) > 0 {
			notes = append(notes, "without "+strings.Join(s.Unfit, ", ")+", which the replies rule out")
		}
		rows = append(rows, []string{mode(p.Mode), "smallest and largest, the headline among them", estimate(answer.Quantile{From: s.From, To: s.To}), "", "", "", "", "", "", strings.Join(notes, "; ")})
	}
	return rows
}

func spreadRows(p *answer.LifetimePart) [][]string {
	h := p.Headline
	if h == nil {
		return nil
	}
	var rows [][]string
	add := func(what string, n answer.Num) {
		if !n.Empty() {
			rows = append(rows, []string{mode(p.Mode), what, decimals(n, 3)})
		}
	}
	add("own limits between drinkers like these", h.LogSD)
	add("between tasters", h.TasterSD)
	add("between glasses of one taster", h.GlassSD)
	add("a reply about the own limit", h.ReplySD)
	return rows
}

func groupRows(p *answer.LifetimePart) [][]string {
	h := p.Headline
	if h == nil {
		return nil
	}
	var rows [][]string
	add := func(what, which string, g answer.Groups) {
		for _, x := range g.Each {
			rows = append(rows, []string{mode(p.Mode), what, x.Name, strconv.Itoa(x.Tasters), estimate(x.Half), limits(x.Half), x.Half.Status})
		}
		if g.Half != nil {
			rows = append(rows, []string{mode(p.Mode), what, which, "", estimate(*g.Half), limits(*g.Half), g.Half.Status})
		}
	}
	add("evening", "evenings like these", h.Evenings)
	add("batch", "batches like these", h.Batches)
	return rows
}

// fitted says how well the maxima were reached, and on how much they rest.
func fitted(p *answer.LifetimePart) string {
	var b strings.Builder
	if h := p.Headline; h != nil {
		what := "every reply"
		if h.Early {
			what = "intervals up to the first no"
		}
		fmt.Fprintf(&b, "%s, %s: log-likelihood %.6f, %s, of replies %d", upper(mode(p.Mode)), what, h.LogLik, answer.Count(h.Units, "own limit"), h.Replies)
		if !h.Early {
			fmt.Fprintf(&b, ", of which %s are taken to be slips", share(h.Slips))
		}
		if h.LeftOut > 0 {
			fmt.Fprintf(&b, "; %d left out: before a first yes", h.LeftOut)
		}
		b.WriteString(".\n\n")
	}
	if len(p.Curve.Sets) > 0 {
		fmt.Fprintf(&b, "%s, without a family: log-likelihood %.6f, optimality gap %.1e (the true maximum is higher by no more than that), %s.\n\n", upper(mode(p.Mode)), p.Curve.LogLik, max(p.Curve.Gap, 0), answer.Count(p.Curve.Rows, "row"))
	}
	return b.String()
}
