package answer

import (
	"fmt"
	"math"
)

// answered tells that there is a window to speak of, if only that it never was.
func (a *PrimeWindow) answered() bool {
	if a == nil {
		return false
	}
	switch a.Main.Status {
	case OK, Never, Always, BeyondLastAge:
		return true
	}
	return false
}

// actUntil is until when it is at its best at least: of the drop since fresh where that was stated beforehand, else of the
// limit. Empty: not shown, or not asked. A fit that did not settle carries no act.
func (a *PrimeWindow) actUntil() Num {
	if !a.answered() || a.Status == NotConverged {
		return Num{}
	}
	if v, ok := a.variant("one_point"); ok && a.DropStated {
		return v.Window.AtLeastUntil
	}
	return a.Main.AtLeastUntil
}

// startsLate tells that the act has a begin to heed: the window begins past the youngest age tasted, by a fit that settled, and
// the act does not rest on a drop since fresh.
func (a *PrimeWindow) startsLate() bool {
	return a.answered() && a.Status != NotConverged && a.Main.Status != Never && !a.DropStated && a.Main.From.Float() > a.Curve[0].AgeMin
}

// handOver sets from when on it is to be handed over, where the window begins past the youngest age tasted: at the upper limit
// of its begin, where the act lies past that, else at the estimate.
func (a *ServeBy) handOver(window *PrimeWindow) {
	if !window.startsLate() {
		return
	}
	for _, begin := range []Num{window.Main.FromUpper, window.Main.From} { // the age at which it has surely begun, else the estimate
		if !begin.Finite() {
			continue
		}
		if from := math.Ceil(2*begin.Float()-1e-9) / 2; from < a.Act.Float() {
			a.HandOverAfter = Of(from)
			return
		}
	}
}

// headline is the act in a sentence.
func (a *ServeBy) headline() string {
	if a.HandOverAfter.Finite() {
		return fmt.Sprintf("Hand it over %s after the making, and have it drunk by %s.", minutesUnit(a.HandOverAfter.Float()), minutesUnit(a.Act.Float()))
	}
	return fmt.Sprintf("Good for %s from the making, the walk to the table included.", minutesUnit(a.Act.Float()))
}

// sayBest is the act from the scores.
func (a *ServeBy) sayBest(p *LifetimePart, window *PrimeWindow) {
	until := window.actUntil().Float()
	who := "an average taster"
	if window.Unit == "pour" {
		who = "this taster"
	}
	shown := fmt.Sprintf("%s would score it %s at least until %s%smin", who, window.atLimit(), Age(floorTenth(until)), nbsp)
	if from, late := window.shownFrom(); late && !window.DropStated {
		shown = fmt.Sprintf("%s would score it %s from %s to %s%smin", who, window.atLimit(), Age(ceilTenth(from)), Age(floorTenth(until)), nbsp)
	}
	if window.DropStated {
		shown = fmt.Sprintf("%s's score is less than %s below fresh at least until %s%smin", who, pointsWords(window.Drop.Float()), Age(floorTenth(until)), nbsp)
	}
	if a.Act.Float() > 0 {
		a.add(a.headline(), "That far the scores show it: "+shown+", rounded down to half a minute.")
	} else {
		a.add("Have it drunk at once: not even half a minute at its best is shown.", "The scores show this much: "+shown+".")
	}
	if q, ok := p.Headline.Quantile(0.1); ok && q.tells() {
		heading, _ := batchWords(p.Counts)
		a.add(q.words("One in ten drinkers like these would leave the rest", heading))
	}
	switch {
	case len(a.leftBy(p)) > 0:
		a.add(fmt.Sprintf("By %s %s had left it.", minutesUnit(a.Act.Float()), tasters(a.leftBy(p))))
	case p.Units > 0 && a.SmallestL.Float() >= a.Act.Float() && a.Act.Float() > 0 && p.Early == 0:
		a.add(a.everyoneAtAct(p))
	}
}

// everyoneAtAct says that nobody would have left it by the act.
func (a *ServeBy) everyoneAtAct(p *LifetimePart) string {
	return fmt.Sprintf("At %s all %s would still go on with it.", minutesUnit(a.Act.Float()), Count(p.Units, p.Unit))
}

// sayBeside says what the scores add where the act does not rest on them.
func (a *ServeBy) sayBeside(window *PrimeWindow) {
	if !window.answered() {
		return
	}
	switch until := window.actUntil(); {
	case a.Basis == atItsBest:
	case until.Finite():
		a.add("The scores hold out longer: at its best " + fmt.Sprintf("at least until %s%smin.", Age(floorTenth(until.Float())), nbsp))
	case window.Main.Status == Never:
		a.add(fmt.Sprintf("An average taster never scores it %s, so the act rests on who would go on with it alone (for a panel that scores low, state prime_drop in datapackage.json before tasting).", window.atLimit()))
	default:
		a.add("Until when it is at its best is not shown by this panel, so the act rests on who would go on with it.")
	}
	if window.startsLate() && !a.HandOverAfter.Finite() {
		which := "which is past the act"
		if window.Main.From.Float() < a.Act.Float() {
			which = "less than half a minute before the act"
		}
		a.add(fmt.Sprintf("Its mean score is at its best only from %s%smin on, %s: it cannot wait for that.", Age(window.Main.From.Float()), nbsp, which))
	}
}

// floorTenth rounds down to a tenth of a minute, as ages that are promised are.
func floorTenth(x float64) float64 { return math.Floor(10*x+1e-9) / 10 }

// fromFirst is the window for the age ribbon, which begins at the youngest age tasted: a window that is open at the youngest
// age step, a mean, begins there too. Nil: not answered.
func (a *PrimeWindow) fromFirst(first float64) *Window {
	if !a.answered() {
		return nil
	}
	w, step := a.Main, 0.0
	if len(a.Curve) > 0 {
		step = a.Curve[0].AgeMin
	}
	if w.From.Finite() && w.From.Float() <= step {
		w.From, w.FromLower = Of(first), Of(0)
		if w.FromUpper.Finite() && w.FromUpper.Float() <= step {
			w.FromUpper = Of(first)
		}
	}
	return &w
}
