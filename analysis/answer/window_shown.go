package answer

import (
	"fmt"
	"math"
)

// above tells whether the surer limit of the curve, the lower one of a score that is better high, meets the limit at a point;
// within whether the other does.
func (a *PrimeWindow) above(p CurvePoint) bool {
	if a.Main.Below {
		return p.Upper <= a.Main.Limit
	}
	return p.Lower >= a.Main.Limit
}

func (a *PrimeWindow) within(p CurvePoint) bool {
	if a.Main.Below {
		return p.Lower <= a.Main.Limit
	}
	return p.Upper >= a.Main.Limit
}

// reach is the stretch of ages, perhaps in pieces, at which a curve that never meets the limit may yet do so.
func (a *PrimeWindow) reach() (out Span, ok bool) {
	for _, p := range a.Curve {
		if !a.within(p) {
			continue
		}
		if !ok {
			out.From, ok = p.AgeMin, true
		}
		out.To = p.AgeMin
	}
	return out, ok
}

// shownFrom is the age at which the run that ends at AtLeastUntil begins, and whether that is past the youngest age step:
// before it these scores do not show that the drink is at its best.
func (a *PrimeWindow) shownFrom() (from float64, late bool) {
	until := a.Main.AtLeastUntil
	if !until.Finite() || len(a.Curve) == 0 {
		return 0, false
	}
	k := 0
	for k+1 < len(a.Curve) && a.Curve[k+1].AgeMin <= until.Float() {
		k++
	}
	for k > 0 && a.above(a.Curve[k-1]) {
		k--
	}
	return a.Curve[k].AgeMin, k > 0
}

// ceilTenth rounds up to a tenth of a minute, as ages from which on something is promised are.
func ceilTenth(x float64) float64 { return math.Ceil(10*x-1e-9) / 10 }

// sayShown says how far these scores show the window.
func (a *PrimeWindow) sayShown(last float64) {
	w := &a.Main
	from, late := a.shownFrom()
	begin, until := Age(ceilTenth(from)), Age(floorTenth(w.AtLeastUntil.Float()))
	switch {
	case !w.AtLeastUntil.Finite() && w.Status != Never:
		every := "at every age"
		if len(w.Others) > 0 { // past the end they may not
			every += " up to the end of that time"
		}
		a.add("That it is at its best at any age is not shown by this panel: its limits reach past that score " + every + ".")
	case !w.AtLeastUntil.Finite():
	case w.AtLeastUntil.Float() < w.From.Float():
		a.add(fmt.Sprintf("These scores show it for an earlier time only, at least until %s%smin (one-sided 97.5%s%%).", until, nbsp, nbsp))
	case late && w.AtLeastUntil.Float() >= last:
		a.add(fmt.Sprintf("These scores show that for every age from %s%smin to the last tasted (97.5%s%% at each), not for younger ones.", begin, nbsp, nbsp))
	case late:
		a.add(fmt.Sprintf("These scores show that from %s to %s%smin (97.5%s%% at either end), not before.", begin, until, nbsp, nbsp))
	case w.AtLeastUntil.Float() >= last:
		a.add(fmt.Sprintf("These scores show that for every age up to %s%smin, the last tasted (one-sided 97.5%s%%).", Age(last), nbsp, nbsp))
	default:
		a.add(fmt.Sprintf("At least until %s%smin: that far these scores show it (one-sided 97.5%s%%).", until, nbsp, nbsp))
	}
}
