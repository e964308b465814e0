package answer

import (
	"fmt"
	"math"
	"strings"
)

// say puts the window into words: first the answer, then what qualifies it.
func (a *PrimeWindow) say(in Input, s *scoreRows) {
	w := &a.Main
	who := "An average taster"
	if a.Unit == "pour" {
		who = "Taster " + in.name(s.rows[0].taster)
	}
	last := s.lastAge()
	limit := a.atLimit()
	switch w.Status {
	case Never:
		reached, best := "reached", "highest"
		if a.Better == "low" {
			reached, best = "came down to", "lowest"
		}
		a.add(fmt.Sprintf("%s gave it %s fresh, so it never %s %s; %s %s at %s%smin.", strings.Replace(who, "An average taster", "They", 1),
			score(a.Fresh.Mean), reached, points(w.Limit), best, score(w.Highest), Age(w.HighestAt), nbsp))
		if reach, ok := a.reach(); ok {
			a.add(fmt.Sprintf("That it was there is not ruled out: its limits reach %s at ages from %s to %s%smin.", points(w.Limit), Age(reach.From), Age(reach.To), nbsp))
		}
	case Always:
		a.add(fmt.Sprintf("%s would score it %s to the last age tasted, %s%smin.", who, limit, Age(last), nbsp))
	case BeyondLastAge:
		a.add(fmt.Sprintf("%s would score it %s from %s on, to the last age tasted, %s%smin.", who, limit, endWords(w.From, w.FromLower, w.FromUpper), Age(last), nbsp))
	default:
		if w.From.Float() > s.steps[0] {
			a.add(fmt.Sprintf("%s would score it %s from %s until %s.", who, limit, endWords(w.From, w.FromLower, w.FromUpper), endWords(w.To, w.ToLower, w.ToUpper)))
		} else {
			a.add(fmt.Sprintf("%s would score it %s until %s.", who, limit, endWords(w.To, w.ToLower, w.ToUpper)))
		}
	}
	a.sayShown(last)
	a.sayPeak(s)
	a.sayDrop(s)
	a.sayOthers()
	a.sayShift()
	a.sayDoubt(in, s)
}

// atLimit is "7 or better".
func (a *PrimeWindow) atLimit() string {
	if a.Better == "low" {
		return points(a.Main.Limit) + " or lower"
	}
	return points(a.Main.Limit) + " or better"
}

// score prints a mean score with one decimal.
func score(x float64) string { return points(math.Round(x*10) / 10) }

// pointsWords is "one point", "1.5 points".
func pointsWords(x float64) string {
	if x == 1 {
		return "one point"
	}
	return points(x) + nbsp + "points"
}

// endWords print an end with its limits: "7½ min (6 to 9½)".
func endWords(at, lower, upper Num) string {
	g := GrainOf(lower, upper)
	lo, hi := g.Minutes(lower), g.Minutes(upper)
	switch {
	case lower.Finite() && lower.Float() == 0 && upper.Open():
		return g.Minutes(at) + nbsp + "min (limits open to both sides)"
	case lower.Finite() && lower.Float() == 0:
		return g.Minutes(at) + nbsp + "min (no lower limit; up to " + hi + ")"
	case upper.Open():
		return g.Minutes(at) + nbsp + "min (from " + lo + ", no upper limit)"
	}
	return g.Minutes(at) + nbsp + "min (95" + nbsp + "% limits " + lo + " to " + hi + nbsp + "min)"
}

// variant finds an answer under another choice.
func (a *PrimeWindow) variant(name string) (Variant, bool) {
	for _, v := range a.Variants {
		if v.Variant == name {
			return v, true
		}
	}
	return Variant{}, false
}

// sayDrop tells since when a point is lost, where fresh is not clearly above the limit.
func (a *PrimeWindow) sayDrop(s *scoreRows) {
	v, ok := a.variant("one_point")
	if !ok || a.improves() && !a.DropStated { // a drop since a poor start says little
		return
	}
	switch w := v.Window; w.Status {
	case OK:
		a.add(fmt.Sprintf("It had lost %s by %s.", pointsWords(a.Drop.Float()), endWords(w.To, w.ToLower, w.ToUpper)))
	case Always:
		a.add(fmt.Sprintf("It had not lost %s by the last age tasted, %s%smin.", pointsWords(a.Drop.Float()), Age(s.lastAge()), nbsp))
	}
}

// improves tells that the curve rises from the youngest age by half a point or more.
func (a *PrimeWindow) improves() bool {
	return math.Abs(a.Main.Highest-a.Fresh.Mean) >= nearFresh
}

// sayPeak tells when it is liked best, where that is not at the youngest age.
func (a *PrimeWindow) sayPeak(s *scoreRows) {
	if w := &a.Main; a.improves() && w.Status != Never && w.HighestAt > s.steps[0] {
		a.add(fmt.Sprintf("It is liked best at about %s%smin: %s.", Halves.Minutes(Of(w.HighestAt)), nbsp, score(w.Highest)))
	}
}

// sayOthers tells of further runs.
func (a *PrimeWindow) sayOthers() {
	for _, o := range a.Main.Others {
		a.add(fmt.Sprintf("The curve is there a second time, from %s to %s%smin: that is not counted.", Age(o.From), Age(o.To), nbsp))
	}
}

// sayShift tells what a point of the limit is worth.
func (a *PrimeWindow) sayShift() {
	said := func(name string) string {
		v, _ := a.variant(name)
		limit := points(v.Window.Limit)
		switch v.Window.Status {
		case Never:
			return "with the limit at " + limit + " it is never there"
		case Always, BeyondLastAge:
			return "with the limit at " + limit + " it is there to the last age"
		}
		return fmt.Sprintf("with the limit at %s it ends at %s%smin", limit, GrainOf(v.Window.ToLower, v.Window.ToUpper).Minutes(v.Window.To), nbsp)
	}
	if len(a.Variants) > 1 {
		a.add(upperFirst(said("limit_up")) + "; " + said("limit_down") + ".")
	}
}

// sayDoubt qualifies: singular terms, whose drinks, whose evenings.
func (a *PrimeWindow) sayDoubt(in Input, s *scoreRows) {
	heading, _ := batchWords(a.Counts)
	if heading != "" {
		a.add("Limits are " + strings.TrimSuffix(heading, ":") + ".")
	}
	if len(a.Singular) > 0 {
		a.Warnings = append(a.Warnings, "These scores cannot tell "+list(a.Singular)+"; the mean of the "+s.unit+"s' own curves stands beside in results.csv.")
	}
	a.warnShape(s)
	if s.unit == "pour" {
		a.add("This is for this taster, not for guests.")
	}
	if s.attribute.Category {
		a.Warnings = append(a.Warnings, s.attribute.Name+" was ticked in boxes; here the boxes are taken as equal steps.")
	}
}

// warnShape says what testdata/answer/window_recovery.md measured where the curve cannot follow: straight lines between few ages,
// and the begin of a window that starts late under a spline of three degrees of freedom.
func (a *PrimeWindow) warnShape(s *scoreRows) {
	w := &a.Main
	switch {
	case w.Status == Never || w.Status == Always:
	case a.Shape == shapeJoined:
		a.Warnings = append(a.Warnings, fmt.Sprintf("With %s the score is taken to run straight from one to the next. Where it falls fastest at first, the window then ends too late (half a minute in simulated panels, where ages lay five minutes apart), and \"at least until\" held in 91%s%% of panels of five tasters, 72%s%% of twelve. One more age near the end of the window would tell.",
			Count(len(s.steps), "age"), nbsp, nbsp))
	case w.From.Finite() && w.From.Float() > s.steps[0] && s.units < fineFrom:
		a.Warnings = append(a.Warnings, fmt.Sprintf("The limits of a late begin are a little narrow: in simulated panels they held in 90 to 95%s%%.", nbsp))
	}
}
