package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lastsip/analysis/endpoint"
)

// Bases of the act.
const (
	atItsBest    = "at_least_until"
	oneInTen     = "one_in_ten"
	leastOfAllLs = "smallest_l"
)

// NewServeBy answers: until when should it have been drunk? The act is the earlier of two ages: until when an average taster
// scores it at its best at least (window; nil: not asked), and by when one in ten drinkers like these would leave the rest, as
// the headline has it. Where one of them cannot be told it is the other; where neither can, the smallest L of any taster, over
// all their glasses: the last age at which every one of them would go on with it. Rounded down to half a minute; never from
// the median.
func NewServeBy(in Input, d endpoint.Drink, life *Lifetime, window *PrimeWindow) (*ServeBy, error) {
	out := &ServeBy{Head: in.head("serve_by", d), Basis: leastOfAllLs}
	out.Method = "The earlier of two ages: until when an average taster's expected overall score is at or above the prime limit at least (one-sided 97.5 %), and by when one in ten drinkers like these would leave the rest (from eight tasters up). Where one is not shown it is the other; where neither is, the last age at which every taster would go on with it (the smallest L of any glass's interval). Rounded down to half a minute."
	out.Source = "our own convention"
	out.Settings = life.Settings
	out.Counts = life.Counts
	if len(life.Parts) > 0 {
		out.Counts = life.Parts[0].Counts
	}
	out.Kicker = in.kicker(d, out.Counts)
	replied := len(life.Parts) > 0 && len(life.Parts[0].Whole) > 0
	best := window.actUntil()
	if !replied && best.Empty() {
		out.ribbon(in, d, life, window)
		out.Status = NotAsked
		if len(life.Parts) > 0 {
			out.Status = life.Parts[0].Status
		}
		out.unknown(life)
		return out, nil
	}
	from := math.Inf(1)
	p := &LifetimePart{}
	if replied {
		p = &life.Parts[0]
		out.SmallestL = smallestL(p.Whole, nil, &out.Tasters)
		if q, ok := p.Headline.Quantile(0.1); ok && q.tells() {
			out.Basis, from = oneInTen, q.From.Float()
		}
	}
	if best.Finite() && best.Float() <= from {
		out.Basis, from = atItsBest, best.Float()
	}
	if out.Basis == leastOfAllLs {
		from = out.SmallestL.Float()
	}
	out.Act = Of(floorHalf(from))
	out.handOver(window)
	out.ribbon(in, d, life, window)
	out.Status = OK
	if p.Units < 6 && out.Basis == leastOfAllLs {
		out.Status = NotEnough
	}
	out.say(in, life, p, window)
	out.tabulate(p)
	return out, nil
}

// floorHalf rounds down to half a minute. What lies within rounding below a half minute is that half minute.
func floorHalf(minutes float64) float64 { return math.Floor(2*minutes+1e-9) / 2 }

// tells tells whether an act can rest on an estimate (on its begin, where it is a range of ages): it was reached by the last
// age seen.
func (q Quantile) tells() bool {
	return q.Status != NotConverged && q.Status != NotEnough && !q.Beyond && q.From.Finite()
}

// kicker is the line above the act: drink, volume, mode, evenings, tasters, batches, rows left out.
func (in Input) kicker(d endpoint.Drink, c Counts) string {
	rows := in.tastesOf(d)
	parts := []string{upperFirst(title(d))}
	if v := in.volumes(rows); v != "" {
		parts = append(parts, v)
	}
	for _, m := range endpoint.Modes(in.Panel, d) {
		parts = append(parts, lowerFirst(modeWords(m.String())))
	}
	switch names := in.sessionsOf(d); {
	case len(names) > 1:
		parts = append(parts, Count(len(names), "evening"))
	default:
		for _, s := range in.Panel.Sessions {
			if len(names) == 1 && s.Name == names[0] && s.Date != "" {
				parts = append(parts, "evening of "+s.Date)
			}
		}
	}
	parts = append(parts, Count(c.Tasters, "taster"))
	if c.Batches > 0 {
		parts = append(parts, Count(c.Batches, "batch"))
	}
	if n := rowsOut(c); n > 0 {
		parts = append(parts, fmt.Sprintf("%d of %d rows left out", n, n+c.RowsUsed))
	}
	return strings.Join(parts, " · ")
}

// askAdvice says how to make the question answerable.
const askAdvice = "ask for a verdict, yes or no, at every taste, or name the overall score in datapackage.json (overall)"

// unknown says that there is no act: nobody was asked, or nothing but fresh drinks was seen.
func (a *ServeBy) unknown(life *Lifetime) {
	switch {
	case life.Status == NotAsked:
		a.Sentences = []string{"Not answered: nobody was asked whether they would go on with it.", upperFirst(askAdvice) + "."}
	default:
		a.Act = Of(0)
		a.Sentences = []string{"Have it drunk at once: this panel shows no age at which they would go on with it."}
		if len(life.Sentences) > 0 {
			a.Sentences = append(a.Sentences, life.Sentences[0])
		}
	}
	r := a.row("act", a.Basis, "", "min")
	r.Value, r.Status = a.Act, a.Status
	a.Rows = []Row{r, a.statusRow("hand_over_after", a.Basis, "", NotAsked, "min")}
}

// smallestL finds the earliest left end, and whose it is; tasters in without are passed over.
func smallestL(ivs []Interval, without []string, who *[]string) Num {
	least := Num{}
	for _, iv := range ivs {
		if slices.Contains(without, iv.Taster) {
			continue
		}
		if least.Empty() || iv.L.Float() < least.Float() {
			least = iv.L
		}
	}
	for _, iv := range ivs {
		if iv.L == least && who != nil && !slices.Contains(*who, iv.Taster) && !slices.Contains(without, iv.Taster) {
			*who = append(*who, iv.Taster)
		}
	}
	return least
}

func (a *ServeBy) say(in Input, life *Lifetime, p *LifetimePart, window *PrimeWindow) {
	switch a.Basis {
	case atItsBest:
		a.sayBest(p, window)
	case oneInTen:
		a.sayTenth(p)
	default:
		a.sayEveryone(p)
	}
	a.sayBeside(window)
	if len(p.RejectedFresh) > 0 {
		a.add(fmt.Sprintf("Not counted: %s, who rejected it fresh and tasted no older one.", tasters(p.RejectedFresh)))
	}
	if kept, basis, ok := a.withoutNever(p); ok && basis == a.Basis { // another basis would compare two rules, not two panels
		a.add(fmt.Sprintf("Without %s, who never accepted it, it would be %s.", list(p.NeverTook), minutesUnit(kept)))
	}
	if p.Early > 0 && (a.Basis == leastOfAllLs || p.Headline != nil && p.Headline.LeftOut > 0) {
		a.add(fmt.Sprintf("Not counted: %d no before a first yes (%s).", p.Early, tasters(p.EarlyBy)))
	}
	if in.Panel.Settings.Overall != "" && life.Basis == string(endpoint.ByVerdict) && !window.answered() {
		a.add("How much they like it by then is not weighed.")
	}
}

// sayTenth is the act from the one-in-ten estimate.
func (a *ServeBy) sayTenth(p *LifetimePart) {
	q, _ := p.Headline.Quantile(0.1)
	heading, _ := batchWords(p.Counts)
	basis := q.words("One in ten drinkers like these would leave the rest", heading)
	if act := a.Act.Float(); act > 0 {
		a.add(a.headline(),
			strings.TrimSuffix(basis, ".")+"; rounded down to half a minute.")
	} else {
		a.add("Have it drunk at once: not even half a minute is shown for nine in ten.", basis)
	}
	switch least := a.SmallestL.Float(); {
	case least >= a.Act.Float() && least > 0 && p.Early == 0: // an early no may lie past it
		a.add(a.everyoneAtAct(p))
	case len(a.leftBy(p)) > 0:
		a.add(fmt.Sprintf("By %s %s had left it.", minutesUnit(a.Act.Float()), tasters(a.leftBy(p))))
	}
	if len(p.Headline.Below) < 2 && q.Status == OK {
		a.add("The one in ten is read off the curve's shape, not seen: fewer than two of them had surely left it by then.")
	}
	a.add("An estimate is late about as often as early: in about half of such panels the true one in ten lies before it." + a.cautious(q))
}

// cautious gives the act of who wants to be sure: the lower limit, rounded down.
func (a *ServeBy) cautious(q Quantile) string {
	if low := floorHalf(q.Lower.Float()); low > 0 && low < a.Act.Float() {
		return fmt.Sprintf(" To be surer, serve it within %s.", minutesUnit(low))
	}
	return ""
}

// leftBy names the tasters who had surely left it by the act.
func (a *ServeBy) leftBy(p *LifetimePart) []string {
	var out []string
	for _, iv := range p.counted() {
		if iv.R.Float() <= a.Act.Float() {
			out = append(out, iv.Taster)
		}
	}
	return out
}

// sayEveryone is the act from the smallest L.
func (a *ServeBy) sayEveryone(p *LifetimePart) {
	act, least := a.Act.Float(), a.SmallestL.Float()
	switch {
	case act > 0:
		a.add(a.headline(),
			fmt.Sprintf("That is the last age, rounded down to half a minute, at which %s (%s).", p.everyone(), a.doubt(p)))
	case least > 0:
		a.add("Have it drunk at once: not even half a minute is shown for everyone.",
			fmt.Sprintf("The last age at which %s is %s%smin (%s).", p.everyone(), Age(least), nbsp, a.doubt(p)))
	default:
		a.add("Have it drunk at once: no age is shown at which everyone would go on with it.")
		if age, who := p.firstNo(); len(who) > 0 {
			a.add(fmt.Sprintf("By %s%smin %s would already leave the rest.", Age(age), nbsp, tasters(who)))
		} else {
			a.add(upperFirst(tasters(a.Tasters)) + " tasted it fresh only.")
		}
	}
	a.add("It rests on these tasters alone: other drinkers may turn away earlier.")
}

// withoutNever is the act without those who never accepted it, and its basis, where there are any and others remain.
func (a *ServeBy) withoutNever(p *LifetimePart) (act float64, basis string, ok bool) {
	if len(p.NeverTook) == 0 {
		return 0, "", false
	}
	if q := p.WithoutNeverTenth; q != nil && q.tells() {
		return floorHalf(q.From.Float()), oneInTen, true
	}
	kept := smallestL(p.Whole, p.NeverTook, nil)
	if kept.Empty() {
		return 0, "", false
	}
	return floorHalf(kept.Float()), leastOfAllLs, true
}

// everyone is "every one of the 12 tasters", or the only one.
func (p *LifetimePart) everyone() string {
	switch {
	case p.Unit == "pour" && len(p.Whole) == 1:
		return "taster " + p.Whole[0].Taster + " would go on with the only pour"
	case p.Unit == "pour":
		return fmt.Sprintf("taster %s would go on with every one of the %s", p.Whole[0].Taster, Count(len(p.Whole), "pour"))
	case p.Units == 1:
		return "the only taster would go on with it"
	}
	return "every one of the " + Count(p.Units, p.Unit) + " would go on with it"
}

func tasters(names []string) string {
	if len(names) == 1 {
		return "taster " + names[0]
	}
	return "tasters " + list(names)
}

// doubt says who turned away first, or that nobody did.
func (a *ServeBy) doubt(p *LifetimePart) string {
	var left []string
	for _, iv := range p.Whole {
		if iv.L == a.SmallestL && iv.R.Finite() && !slices.Contains(left, iv.Taster) {
			left = append(left, iv.Taster)
		}
	}
	var back []string // said no there and took it back
	for _, who := range a.Tasters {
		if slices.Contains(p.UnclearBy, who) {
			back = append(back, who)
		}
	}
	switch {
	case len(left) > 0:
		return "the first doubt: " + tasters(left)
	case len(back) > 0:
		return "the first doubt: " + tasters(back) + ", later taken back"
	case slices.ContainsFunc(p.Whole, func(iv Interval) bool { return iv.R.Finite() }):
		return tasters(a.Tasters) + " tasted no longer"
	}
	return "nobody had left it by then, and not everyone tasted longer"
}

// firstNo is the earliest right end among the intervals that begin at 0, and whose it is.
func (p *LifetimePart) firstNo() (age float64, who []string) {
	age = math.Inf(1)
	for _, iv := range p.Whole {
		if iv.L.Float() > 0 || !iv.R.Finite() || iv.R.Float() > age {
			continue
		}
		if iv.R.Float() < age {
			age, who = iv.R.Float(), nil
		}
		if !slices.Contains(who, iv.Taster) {
			who = append(who, iv.Taster)
		}
	}
	return age, who
}

func (a *ServeBy) tabulate(p *LifetimePart) {
	r := a.row("act", a.Basis, p.Mode, "min")
	r.Value, r.Status = a.Act, a.Status
	r.Note = "rounded down to half a minute; smallest L " + a.SmallestL.String() + " min"
	late := a.statusRow("hand_over_after", a.Basis, p.Mode, NotAsked, "min")
	if a.HandOverAfter.Finite() {
		late.Value, late.Status, late.Note = a.HandOverAfter, OK, "where the prime window begins, rounded up to half a minute"
	}
	a.Rows = []Row{r, late}
	if kept, basis, ok := a.withoutNever(p); ok {
		w := r
		w.Method, w.Variant, w.Value, w.Note = basis, p.Mode+"+without_never", Of(kept), "rounded down to half a minute"
		w.count(p.WithoutNeverCounts)
		a.Rows = append(a.Rows, w)
	}
}

// ribbon carries what the age ribbon shows besides the act.
func (a *ServeBy) ribbon(in Input, d endpoint.Drink, life *Lifetime, window *PrimeWindow) {
	a.Ribbon = Ribbon{Label: title(d)}
	for i, t := range in.tastesOf(d) {
		age := t.Age.Minutes()
		if i == 0 || age < a.Ribbon.FirstAge {
			a.Ribbon.FirstAge = age
		}
		a.Ribbon.LastAge = max(a.Ribbon.LastAge, age)
	}
	a.Ribbon.Window = window.fromFirst(a.Ribbon.FirstAge)
	if len(life.Parts) == 0 {
		a.Ribbon.Words = "not asked"
		return
	}
	p := &life.Parts[0]
	a.Ribbon.Unit, a.Ribbon.Units = p.Unit, p.Units
	if half := p.half(); half.P > 0 {
		a.Ribbon.Half, a.Ribbon.HasHalf = half, true
	}
	a.Ribbon.Tenth, a.Ribbon.HasTenth = p.Headline.Quantile(0.1)
	if p.Units <= 5 {
		a.Ribbon.Intervals = p.counted()
	}
	switch {
	case p.Unit == "pour" && len(p.Intervals) > 0:
		a.Ribbon.Words = "taster " + p.Intervals[0].Taster + " only"
	case p.Units == 0:
		a.Ribbon.Words = "rejected before it had aged"
	}
}
