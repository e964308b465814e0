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
	a.add(p.halfWords(heading), p.earlyWords(), p.tenthWords(), p.noFamilyWords(), p.shareWords(), coverage, p.lawWords(), p.neverWords())
	for _, l := range p.Counts.LeftOut {
		a.add(fmt.Sprintf("Left out: %s, %s.", replyWords(l.Rows), l.Reason))
	}
	a.add(p.waverWords(), p.choiceWords())
	a.add(p.memoryWords())
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
	return "Most tasted no further after their first no, so every limit is read by that no: this is early, the more so the oftener they were asked. Two rounds more after a no would tell." + p.stoppedWords()
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
