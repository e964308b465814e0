package answer

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/panel"
)

// say writes the sentences.
func (a *AgeDifferences) say() {
	a.add(a.worseWords(), a.betterWords(), a.sameWords(), a.termsWords(), a.awareWords())
	for _, l := range a.Counts.LeftOut {
		a.add(fmt.Sprintf("Left out: %s, %s.", Count(l.Rows, "taste"), l.Reason))
	}
}

// worseWords is the sentence that answers: from which age on it is surely not as good as fresh.
func (a *AgeDifferences) worseWords() string {
	sure := a.steps(a.worse)
	last := len(a.Steps) - 1
	if len(sure) == 0 {
		switch widest := a.widest(); {
		case widest <= 0: // surely better at every age
			return fmt.Sprintf("At no age up to %s is it %s fresh.", a.min(last), a.below())
		case len(a.steps(a.better)) > 0:
			return fmt.Sprintf("At no age up to %s is it surely %s fresh; the limits still allow it to be %s %s.", a.min(last), a.below(), a.points(widest), a.lower())
		}
		text := fmt.Sprintf("No age up to %s is surely different from fresh; the limits still allow it to be %s %s", a.min(last), a.points(a.widest()), a.lower())
		if a.SameStatus == OK || a.SameStatus == BeyondLastAge { // shown below
			return text + "."
		}
		return text + ": that is no proof that it is the same."
	}
	first := sure[0]
	var text string
	switch {
	case first == last:
		text = fmt.Sprintf("At %s it is surely %s fresh: by %s", a.min(first), a.below(), a.lossWords(first, true))
	case len(sure) == last-first+1:
		text = fmt.Sprintf("From %s on it is surely %s fresh: there by %s", a.min(first), a.below(), a.lossWords(first, true))
	default:
		var ages []string
		for _, k := range sure {
			ages = append(ages, Age(a.Steps[k].AgeMin))
		}
		text = fmt.Sprintf("It is surely %s fresh at %s%smin: at %s by %s", a.below(), list(ages), nbsp, a.min(first), a.lossWords(first, true))
	}
	if end := sure[len(sure)-1]; end != first {
		text += fmt.Sprintf(", at %s by %s", a.min(end), a.lossWords(end, false))
	}
	return text + "."
}

// betterWords names the ages that are surely better than fresh.
func (a *AgeDifferences) betterWords() string {
	sure := a.steps(a.better)
	if len(sure) == 0 {
		return ""
	}
	var ages []string
	for _, k := range sure {
		ages = append(ages, Age(a.Steps[k].AgeMin))
	}
	return fmt.Sprintf("At %s%smin it is surely better than fresh.", list(ages), nbsp)
}

// sameWords says up to which age it is shown to be the same as fresh.
func (a *AgeDifferences) sameWords() string {
	margin := a.margin()
	same := "the same as fresh within " + margin
	if a.Better == panel.BetterMiddle.String() {
		same = "as close to its best as fresh within " + margin
	}
	switch a.SameStatus {
	case OK:
		return fmt.Sprintf("%s up to %s%smin.", upperFirst(same), Age(a.SameUpTo.Float()), nbsp)
	case BeyondLastAge:
		return fmt.Sprintf("%s up to %s%smin, the last age tasted.", upperFirst(same), Age(a.SameUpTo.Float()), nbsp)
	case Never:
		x := &a.Steps[1]
		return fmt.Sprintf("That it is %s is not shown at any age, not even at %s%smin (90%s%% limits %s to %s).", same, Age(x.AgeMin), nbsp, nbsp, a.signed(x.Lower90.Float()), a.signed(x.Upper90.Float()))
	}
	return "Up to which age it is the same as fresh is not asked: state in datapackage.json (same_margin), before tasting, how many points count as the same."
}

// termsWords says once what fresh means and that several ages were looked at.
func (a *AgeDifferences) termsWords() string {
	text := fmt.Sprintf("Fresh is the youngest age tasted, %s%smin", Age(a.FreshAge), nbsp)
	if n := len(a.Steps) - 1; n > 1 {
		text += fmt.Sprintf("; the limits hold for all %d older ages together", n)
	}
	if a.SameStatus != NotAsked {
		text += "; sameness is looked at age by age, from the youngest, until the first that fails"
	}
	return text + "."
}

// awareWords says what remains without those who knew the drink.
func (a *AgeDifferences) awareWords() string {
	const without = "Without the tastes by those who made or knew the drink "
	b := a.Blind
	switch {
	case b == nil:
		return ""
	case b.FirstSure == a.FirstSure:
		return without + "the answer is the same."
	case b.FirstSure.Empty():
		return without + "no age is surely worse than fresh."
	}
	return fmt.Sprintf("%sthe first age that is surely worse is %s%smin.", without, Age(b.FirstSure.Float()), nbsp)
}

// steps lists the older steps for which something holds.
func (a *AgeDifferences) steps(holds func(*AgeDifference) bool) []int {
	var out []int
	for k := range a.Steps {
		if k > 0 && holds(&a.Steps[k]) {
			out = append(out, k)
		}
	}
	return out
}

// below and lower say which way is worse.
func (a *AgeDifferences) below() string {
	return map[string]string{"high": "below", "low": "worse than", "middle": "further from its best than"}[a.Better]
}

func (a *AgeDifferences) lower() string {
	return map[string]string{"high": "lower", "low": "higher", "middle": "further from its best"}[a.Better]
}

// widest is the largest loss that the limits of any step allow.
func (a *AgeDifferences) widest() float64 {
	most := math.Inf(-1)
	for _, x := range a.Steps[1:] {
		most = max(most, a.loss(x.Lower), a.loss(x.Upper))
	}
	return most
}

// lossWords prints how much worse a step is, with its limits; named says what they are.
func (a *AgeDifferences) lossWords(k int, named bool) string {
	x := &a.Steps[k]
	ends := []float64{a.loss(x.Lower), a.loss(x.Upper)}
	slices.Sort(ends)
	if !named {
		return fmt.Sprintf("%s (%s to %s)", a.number(a.loss(x.Difference)), a.number(ends[0]), a.number(ends[1]))
	}
	heading := a.heading()
	if heading != "" {
		heading = ", " + heading
	}
	return fmt.Sprintf("%s (%s limits %s to %s%s)", a.points(a.loss(x.Difference)), percent(a.Level), a.number(ends[0]), a.number(ends[1]), heading)
}

// heading says for what the limits speak.
func (a *AgeDifferences) heading() string {
	if a.Unit == "pour" {
		return "for this taster"
	}
	heading, _ := batchWords(a.Counts)
	return heading
}

func (a *AgeDifferences) min(step int) string { return Age(a.Steps[step].AgeMin) + nbsp + "min" }

// number prints points at the answer's decimals, without a negative zero.
func (a *AgeDifferences) number(x float64) string {
	s := strconv.FormatFloat(x, 'f', a.Decimals, 64)
	if v, err := strconv.ParseFloat(s, 64); err == nil && v == 0 {
		s = strconv.FormatFloat(0, 'f', a.Decimals, 64)
	}
	return s
}

// signed prints a difference with its sign.
func (a *AgeDifferences) signed(x float64) string {
	s := a.number(x)
	if v, err := strconv.ParseFloat(s, 64); err == nil && v > 0 {
		s = "+" + s
	}
	return s
}

func (a *AgeDifferences) points(x float64) string {
	s := a.number(x)
	if s == "1" || s == "1.0" {
		return s + " point"
	}
	return s + nbsp + "points"
}

// margin prints the margin of sameness as it was stated.
func (a *AgeDifferences) margin() string {
	switch m := a.Margin.Float(); {
	case a.Margin.Empty():
		return ""
	case m == 0.5:
		return "half a point"
	case m == 1:
		return "one point"
	default:
		return points(m) + nbsp + "points"
	}
}
