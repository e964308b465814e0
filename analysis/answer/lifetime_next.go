package answer

import (
	"fmt"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// cannotSay lists what the panel leaves open, whatever it answers.
func (a *Lifetime) cannotSay(in Input, d endpoint.Drink) {
	say := func(format string, args ...any) { a.CannotSay = append(a.CannotSay, fmt.Sprintf(format, args...)) }
	last := 0.0
	for _, t := range in.tastesOf(d) {
		last = max(last, panel.Minutes(t.Age))
	}
	say("The oldest drink was %s%smin old: nothing is known past that.", Age(last), nbsp)
	if len(a.Parts) == 0 {
		return
	}
	p := &a.Parts[0]
	if p.Mode == panel.SipThrough.String() {
		say("One glass was tasted again and again, so age and order cannot be told apart, and a taster may repeat their own last no. Several ages side by side, blind, would tell.")
	}
	switch {
	case p.Counts.Batches == 0:
		say("Which drinks came from one shake is not noted, so a bad shake cannot be told from an early limit.")
	case !p.Counts.OwnBatch && p.Unit == "taster":
		say("%s shared %s: the limits speak for these drinks, not for every shake.", upperFirst(Count(p.Counts.Tasters, "taster")), Count(p.Counts.Batches, "batch"))
	}
	if p.Unit == "taster" && len(in.sessionsOf(d)) == 1 {
		say("One evening is one evening: the room, the ice and the mood of another may differ.")
	}
	if p.Unit == "pour" {
		say("One taster speaks for one person, not for guests.")
	}
	if p.Unit == "taster" && p.Units < tenthFrom {
		say("The age at which one in ten would leave the rest needs eight tasters or more; here are %d.", p.Units)
	} else if p.Unit == "taster" {
		say("The age at which one in ten would leave the rest rests on the assumed curve: without one its lower limit stays open.")
	}
	if in.Panel.Settings.Overall == "" {
		say("How much an average taster still likes it at the act is not known: no overall score was asked.")
	}
}

// nextEvening says what another evening should do, as far as the exact limits tell.
func (a *Lifetime) nextEvening(in Input, d endpoint.Drink) {
	say := func(format string, args ...any) { a.NextEvening = append(a.NextEvening, fmt.Sprintf(format, args...)) }
	if len(a.Parts) == 0 || len(a.Parts[0].Quantiles) == 0 {
		say("Ask at least six tasters whether they would go on with it, at ages from fresh to past all use.")
		return
	}
	p := &a.Parts[0]
	q := p.half()
	g := GrainOf(q.Lower, q.Upper)
	from := g.Minutes(q.Lower)
	switch {
	case q.Upper.Open() && len(p.stoppedEarly()) > 0:
		say("%s stopped before turning away, which opens the upper limit: taste on with every taster, in smaller sips, or ask more of them.", upperFirst(tasters(p.stoppedEarly())))
	case q.Upper.Open():
		say("Taste on to later ages, from %s%smin: the half may lie past the last age tasted.", from, nbsp)
	default:
		what := "the half lies there"
		if t, ok := p.Headline.Quantile(0.1); ok && t.Lower.Finite() && t.Lower.Float() > 0 && t.Lower.Float() < q.Lower.Float() {
			from, what = GrainOf(t.Lower, t.Upper).Minutes(t.Lower), "one in ten, on which the act rests, and the half lie there"
		}
		say("Taste most between %s and %s%smin, several ages side by side and blind: %s.", from, g.Minutes(q.Upper), nbsp, what)
	}
	if p.Unit == "pour" {
		say("Ask others: one taster's pours say nothing about guests.")
		return
	}
	if p.Units < tenthFrom {
		say("From eight tasters on the age by which one in ten would leave the rest can be told, which the act then rests on.")
	}
	say("Limits narrow about with the square root of the number of tasters: %d more would about halve them, %d more take 30%s%% off.", 3*p.Units, p.Units, nbsp)
	if p.Mode == panel.SipThrough.String() {
		switch {
		case p.Counts.Batches == 0:
			say("Give every taster a shake of their own, or note which glasses shared one.")
		case !p.Counts.OwnBatch:
			say("Give every taster a shake of their own.")
		}
	}
}
