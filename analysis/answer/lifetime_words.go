package answer

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// say writes the sentences of a lifetime from its parts.
func (a *Lifetime) say() {
	if len(a.Parts) == 0 {
		return
	}
	p := &a.Parts[0]
	heading, coverage := batchWords(p.Counts)
	if p.Unit == "pour" {
		heading = "for this taster"
	}
	if q := p.half(); !q.limited() || q.Status == NotEnough || q.Status == NotConverged || p.Unit != "taster" {
		coverage = ""
	}
	a.add(p.halfWords(heading), p.earlyWords(), p.tenthWords(), p.noFamilyWords(), p.shareWords(), coverage, p.neverWords())
	for _, l := range p.Counts.LeftOut {
		a.add(fmt.Sprintf("Left out: %s, %s.", replyWords(l.Rows), l.Reason))
	}
	a.add(p.waverWords(), p.choiceWords())
	if p.Mode == panel.SipThrough.String() {
		a.add("One glass tasted again and again: a taster who repeats their own last no makes this about a tenth early.")
	}
	for i := range a.Parts[1:] {
		other := &a.Parts[i+1]
		a.add(modeWords(other.Mode) + ": " + lowerFirst(other.halfWords("")))
	}
	a.add(a.jointWords())
}

// add appends sentences, passing over empty ones.
func (h *Head) add(sentences ...string) {
	for _, s := range sentences {
		if s != "" {
			h.Sentences = append(h.Sentences, s)
		}
	}
}

func modeWords(mode string) string {
	if mode == panel.SideBySide.String() {
		return "Side by side"
	}
	return "One glass tasted again and again"
}

func lowerFirst(s string) string { return mapFirst(s, unicode.ToLower) }

func upperFirst(s string) string { return mapFirst(s, unicode.ToUpper) }

func mapFirst(s string, f func(rune) rune) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(f(r)) + s[n:]
}

// half is what the sentence about half rests on: the headline's, else the one without a family; empty where there is none.
func (p *LifetimePart) half() Quantile {
	if q, ok := p.Headline.Quantile(0.5); ok {
		return q
	}
	if len(p.Quantiles) > 0 {
		return p.median()
	}
	return Quantile{}
}

// halfWords is the sentence about half.
func (p *LifetimePart) halfWords(heading string) string {
	switch {
	case p.Status == BeforeFirstAge && p.Units == 0:
		return "Everyone rejected it at age 0, the only age tasted: when it was still good is not seen."
	case p.Units == 0:
		return "No reply tells how long it lasts."
	case p.Units < 3:
		return p.fewWords()
	}
	who := "Half of drinkers like these would leave the rest"
	if p.Unit == "pour" {
		who = "In half of such pours taster " + p.Intervals[0].Taster + " would leave the rest"
	}
	return p.half().words(who, heading)
}

// words complete a sentence about who would leave the rest.
func (q Quantile) words(who, heading string) string {
	g := GrainOf(q.Lower, q.Upper)
	limits := q.limitsWords(g, heading)
	switch {
	case q.Status == NotConverged:
		return who + " at an age that could not be estimated: the fit did not converge."
	case q.From.Empty():
		return fmt.Sprintf("%s at an age that cannot be told: the tasters' limits lie too far apart, before the first age and past the last %s.", who, limits)
	case q.Beyond && q.From.Float() == 0:
		return fmt.Sprintf("%s at an age that was not tasted: only fresh drinks were %s.", who, limits)
	case q.Beyond:
		return fmt.Sprintf("%s later than %s%smin, when those still going on were last asked %s.", who, Age(q.From.Float()), nbsp, limits)
	case q.To.Open():
		return fmt.Sprintf("%s at some age from %s%smin on %s.", who, g.Minutes(q.From), nbsp, limits)
	case q.Before:
		return fmt.Sprintf("%s by %s%smin, the first age tasted %s.", who, Age(q.To.Float()), nbsp, limits)
	case q.From.Float() == 0:
		return fmt.Sprintf("%s at some age up to %s%smin %s.", who, g.Minutes(q.To), nbsp, limits)
	case g.Minutes(q.From) == g.Minutes(q.To):
		return fmt.Sprintf("%s at about %s%smin %s.", who, g.Minutes(q.From), nbsp, limits)
	}
	return fmt.Sprintf("%s at some age between %s and %s%smin %s.", who, g.Minutes(q.From), g.Minutes(q.To), nbsp, limits)
}

// tenthWords is the sentence about one in ten; few tasters are told that it needs eight.
func (p *LifetimePart) tenthWords() string {
	q, ok := p.Headline.Quantile(0.1)
	if !ok {
		return ""
	}
	s := q.words("One in ten would leave the rest", "")
	if len(p.Headline.Below) < 2 && q.Status == OK {
		s = strings.TrimSuffix(s, ".") + ", read off the curve's shape, not seen."
	}
	return s
}

// earlyWords say why the headline reads the first no only.
func (p *LifetimePart) earlyWords() string {
	if p.Headline == nil || !p.Headline.Early {
		return ""
	}
	return "Most tasted no further after their first no, so every limit is read by that no: this is early, the more so the oftener they were asked. Two rounds more after a no would tell."
}

// noFamilyWords set the half without an assumed curve beside the headline's; of a small panel with the limits that the replies
// alone allow.
func (p *LifetimePart) noFamilyWords() string {
	if p.Headline == nil || len(p.Quantiles) == 0 {
		return ""
	}
	q := p.median()
	g := GrainOf(q.Lower, q.Upper) // the exact limits say how finely it is known
	var where string
	switch {
	case q.Beyond && q.From.Float() == 0:
		return ""
	case q.Beyond:
		where = fmt.Sprintf("past %s%smin, when those still going on were last asked", Age(q.From.Float()), nbsp)
	case q.To.Open():
		where = fmt.Sprintf("past %s%smin", g.Minutes(q.From), nbsp)
	case q.From.Float() == 0:
		where = fmt.Sprintf("at some age up to %s%smin", g.Minutes(q.To), nbsp)
	default:
		where = between(g, q.From, q.To)
	}
	s := "Without an assumed curve the half lies " + where
	if p.Units < 6 {
		s += " " + q.limitsWords(GrainOf(q.Lower, q.Upper), "by the replies alone")
	}
	return s + "."
}

// choiceWords say how much the half depends on our choices.
func (p *LifetimePart) choiceWords() string {
	s := p.Sensitivity
	if p.Headline == nil || len(s.Rows) == 0 || s.From.Empty() {
		return ""
	}
	half := p.half()
	words := fmt.Sprintf("Under other choices of curve, reading and slips the half lies %s", between(GrainOf(half.Lower, half.Upper), s.From, s.To))
	if q, ok := p.Headline.Quantile(0.1); ok && s.TenthFrom.Finite() {
		words += ", the one in ten " + between(GrainOf(q.Lower, q.Upper), s.TenthFrom, s.TenthTo)
	}
	if s.Open > 0 {
		words += fmt.Sprintf("; under %d of %d choices the half cannot be told or lies past the ages tasted", s.Open, len(s.Rows)+1)
	}
	if len(s.Unfit) > 0 {
		words += fmt.Sprintf(" (%s left aside, which the replies rule out)", list(s.Unfit))
	}
	return words + "."
}

// limited tells whether one end at least is closed.
func (q Quantile) limited() bool { return q.Lower.Float() > 0 || q.Upper.Finite() }

// limitsWords prints the exact limits of a quantile with the level they reach.
func (q Quantile) limitsWords(g Grain, heading string) string {
	level := percent(Level)
	if q.Status == NotEnough {
		level = percent(q.Level)
	}
	var s string
	lower, upper := g.Minutes(q.Lower), g.Minutes(q.Upper)
	switch noLower := q.Lower.Float() == 0; {
	case noLower && q.Upper.Open():
		s = level + " limits open at both ends"
	case noLower:
		s = fmt.Sprintf("%s limits up to %s%smin, lower end open", level, upper, nbsp)
	case q.Upper.Open():
		s = fmt.Sprintf("%s limits from %s%smin, upper end open", level, lower, nbsp)
	default:
		s = fmt.Sprintf("%s limits %s to %s%smin", level, lower, upper, nbsp)
	}
	if heading != "" {
		s += ", " + heading
	}
	return "(" + s + ")"
}

// fewWords lists what one or two rows tell.
func (p *LifetimePart) fewWords() string {
	var each []string
	for _, iv := range p.counted() {
		each = append(each, fmt.Sprintf("%s %s", iv.Taster, intervalWords(iv)))
	}
	few := "Two tasters cannot speak for drinkers."
	switch {
	case p.Unit == "pour":
		few = "One taster cannot speak for drinkers, nor one or two pours for that taster."
	case p.Units < 2:
		few = "One taster cannot speak for drinkers."
	}
	return fmt.Sprintf("%s What the replies tell: %s.", few, list(each))
}

func intervalWords(iv Interval) string {
	switch {
	case iv.R.Open():
		return fmt.Sprintf("would still go on with it at %s%smin", Age(iv.L.Float()), nbsp)
	case iv.L.Float() == 0:
		return fmt.Sprintf("would leave the rest by %s%smin", Age(iv.R.Float()), nbsp)
	}
	return fmt.Sprintf("would leave the rest between %s and %s%smin", Age(iv.L.Float()), Age(iv.R.Float()), nbsp)
}

// shareWords tells the last step at which everyone and the first at which nobody would go on.
func (p *LifetimePart) shareWords() string {
	var all, none *Share
	everyone := true
	for i := range p.Shares {
		s := &p.Shares[i]
		if s.Units < 2 {
			return "" // the act says it
		}
		everyone = everyone && s.Going == s.Units
		if everyone && s.No == 0 {
			all = s
		}
		if s.Possible == 0 && none == nil {
			none = s
		}
	}
	units := func(n int) string { return Count(n, p.Unit) }
	switch {
	case all != nil && none != nil:
		return fmt.Sprintf("All %s would go on with it at %s%smin, none at %s%smin.", units(all.Units), Age(all.AgeMin), nbsp, Age(none.AgeMin), nbsp)
	case all != nil:
		return fmt.Sprintf("All %s would go on with it at %s%smin.", units(all.Units), Age(all.AgeMin), nbsp)
	case none != nil:
		return fmt.Sprintf("None of the %s would go on with it at %s%smin.", units(none.Units), Age(none.AgeMin), nbsp)
	}
	return ""
}

func (p *LifetimePart) neverWords() string {
	fresh := ""
	if n := len(p.RejectedFresh); n > 0 {
		fresh = upperFirst(tasters(p.RejectedFresh)) + " rejected it fresh and tasted no older one: not in these figures."
	}
	if len(p.NeverTook) == 0 {
		return fresh
	}
	if fresh != "" {
		fresh = " " + fresh
	}
	s := "Taster " + p.NeverTook[0] + " never accepted it, at any age, and stays in"
	without := "this taster"
	if len(p.NeverTook) > 1 {
		s = "Tasters " + list(p.NeverTook) + " never accepted it, at any age, and stay in"
		without = "them"
	}
	if q := p.WithoutNever; q != nil {
		return s + "; " + lowerFirst(q.words("without "+without+" half would leave the rest", "")) + fresh
	}
	return s + "." + fresh
}

// OtherReadings are the readings of wavering replies, other than the one in force, under which the median without a family
// prints differently.
func (p *LifetimePart) OtherReadings() []Reading {
	var out []Reading
	for _, r := range p.Readings[min(1, len(p.Readings)):] {
		if g := p.Readings[0].grain(); r.where(g) != p.Readings[0].where(g) {
			out = append(out, r)
		}
	}
	return out
}

// Words names the reading.
func (r Reading) Words() string { return readingNames[endpoint.Reading(r.Name)] }

func (r Reading) grain() Grain { return GrainOf(r.Median.Lower, r.Median.Upper) }

// where prints the median of a reading.
func (r Reading) where(g Grain) string {
	if r.Median.To.Open() {
		return fmt.Sprintf("later than %s%smin", g.Minutes(r.Median.From), nbsp)
	}
	return between(g, r.Median.From, r.Median.To)
}

// waverWords tell how many glasses wavered.
func (p *LifetimePart) waverWords() string {
	if p.Unclear == 0 || len(p.Readings) < 2 {
		return ""
	}
	wavered := fmt.Sprintf("Replies about %d of %s went back and forth", p.Unclear, Count(p.Glasses, "glass"))
	if p.Headline != nil && !p.Headline.Early {
		return wavered + "; every one of them counts."
	}
	return wavered + "."
}

// readingNames say each reading in words.
var readingNames = map[endpoint.Reading]string{
	endpoint.EitherSide: "either side",
	endpoint.FirstNo:    "the first no",
	endpoint.LastYes:    "the last yes",
}

// warn adds the warnings that the design asks for.
func (a *Lifetime) warn(in Input) {
	for _, p := range a.Parts {
		where := modeWords(p.Mode) + ": "
		if n := len(p.UnclearBy); n > 0 && 5*n >= p.Replying && p.Mode == panel.SipThrough.String() {
			a.Warnings = append(a.Warnings, fmt.Sprintf("%sthe replies of %d of %s went back and forth; the half may depend on how these are read.", where, n, Count(p.Replying, "taster")))
		}
		if n := len(p.EarlyBy); n > 0 && 5*n >= p.Replying {
			advice := "if the drink is known to improve first, say improves_first in the descriptor before tasting"
			if in.Panel.Settings.ImprovesFirst {
				advice = "as was said beforehand, those noes are left out; from when on it is good is not answered here"
			}
			a.Warnings = append(a.Warnings, fmt.Sprintf("%s%d of %s began with a no and accepted later; %s.", where, n, Count(p.Replying, "taster"), advice))
		}
		if p.readingsDiffer() {
			a.Warnings = append(a.Warnings, fmt.Sprintf("%sthe median moves by more than 10%s%% between the first no and the last yes.", where, nbsp))
		}
		if p.AgeIsBatch {
			a.Warnings = append(a.Warnings, where+"all glasses of one age came from one batch, so an age cannot be told from its shake; make two batches of every age.")
		}
		if p.Status == NotConverged {
			a.Warnings = append(a.Warnings, where+"an estimate did not converge: the figures are not to be relied on.")
		}
	}
	if a.Basis == string(endpoint.ByScore) {
		a.Warnings = append(a.Warnings, fmt.Sprintf("No verdicts: a score of %s past the reject limit of %s stands in for a rejection.", in.Panel.Settings.Overall, points(in.Panel.Settings.RejectLimit)))
	}
}

// readingsDiffer tells whether the medians by first no and last yes (mid-points where they are ranges) lie more than a tenth
// apart, or only one of them is open.
func (p *LifetimePart) readingsDiffer() bool {
	var first, last Quantile
	for _, r := range p.Readings {
		switch endpoint.Reading(r.Name) {
		case endpoint.FirstNo:
			first = r.Median
		case endpoint.LastYes:
			last = r.Median
		}
	}
	switch {
	case len(p.Readings) == 0 || first.To.Open() && last.To.Open():
		return false
	case first.To.Open() != last.To.Open():
		return true
	}
	return last.From.Float()+last.To.Float() > 1.1*(first.From.Float()+first.To.Float())
}

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
	if len(in.Panel.Attributes) > 0 {
		say("How much an average taster still likes it at the act is not estimated here; the scores on this page are raw.")
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

// replyWords counts replies.
func replyWords(n int) string {
	if n == 1 {
		return "1 reply"
	}
	return fmt.Sprintf("%d replies", n)
}

// stoppedEarly names tasters who were still going on when they stopped, well before the last age step.
func (p *LifetimePart) stoppedEarly() []string {
	if len(p.Shares) < 2 {
		return nil
	}
	before := p.Shares[len(p.Shares)-2].AgeMin // the last but one step: a minute late at the last one is no early stop
	var out []string
	for _, iv := range p.counted() {
		if iv.R.Open() && iv.L.Float() < before {
			out = append(out, iv.Taster)
		}
	}
	return out
}
