package answer

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// ageTable holds the tastes of a drink that have an overall score, on age steps.
type ageTable struct {
	attribute panel.Attribute // the overall one; zero: there is none
	all       int             // tastes of the drink, scored or not
	rows      []panel.Taste
	scores    []float64 // of the rows, points; the distance from the best where that is in the middle
	steps     []panel.Step
	of        []int    // step of each row
	who       []string // unit of each row
	unit      string   // what a unit is: "taster", or of one taster alone "pour"
	pours     []panel.Pour
}

// ageTable collects the scored tastes of a drink, by taster and age.
func (in Input) ageTable(d endpoint.Drink) *ageTable {
	t := &ageTable{unit: "taster", pours: in.Panel.Pours}
	k := slices.IndexFunc(in.Panel.Attributes, func(a panel.Attribute) bool {
		return a.Name == in.Panel.Settings.Overall && a.Name != ""
	})
	if k < 0 {
		return t
	}
	t.attribute = in.Panel.Attributes[k]
	tastes := in.tastesOf(d)
	t.all = len(tastes)
	for _, x := range tastes {
		if x.Scores[k].Given {
			t.rows = append(t.rows, x)
		}
	}
	slices.SortStableFunc(t.rows, func(a, b panel.Taste) int { // the order of a file stays out of the last digit
		return cmp.Or(cmp.Compare(a.Taster, b.Taster), cmp.Compare(a.Session, b.Session), cmp.Compare(a.Age, b.Age),
			cmp.Compare(t.pours[a.Pour].ID, t.pours[b.Pour].ID), cmp.Compare(a.Scores[k].Value, b.Scores[k].Value))
	})
	t.steps, t.of = panel.AgeSteps(t.rows)
	for _, x := range t.rows {
		v := x.Scores[k].Value
		if t.attribute.Better == panel.BetterMiddle {
			v = math.Abs(v - t.attribute.Best)
		}
		t.scores = append(t.scores, v)
		t.who = append(t.who, x.Taster)
	}
	if len(t.units()) == 1 {
		t.byPour()
	}
	return t
}

// byPour makes the independently made pour the unit of one taster: the batch where it is known, else the glass.
func (t *ageTable) byPour() {
	t.unit = "pour"
	for i, x := range t.rows {
		p := t.pours[x.Pour]
		if t.who[i] = fmt.Sprintf("%q batch %q", x.Session, p.Batch); p.Batch == "" {
			t.who[i] = fmt.Sprintf("%q pour %q", x.Session, p.ID)
		}
	}
}

// units lists the units in their order.
func (t *ageTable) units() []string {
	out := slices.Clone(t.who)
	slices.Sort(out)
	return slices.Compact(out)
}

// unitsAt counts the units at a step.
func (t *ageTable) unitsAt(step int) int {
	seen := map[string]bool{}
	for i, s := range t.of {
		if s == step {
			seen[t.who[i]] = true
		}
	}
	return len(seen)
}

// whyNot says why the question is not asked of these tastes.
func (t *ageTable) whyNot() string {
	switch {
	case t.attribute.Name == "":
		return "there is no overall score"
	case len(t.rows) == 0:
		return t.attribute.Name + " was not scored"
	}
	return ""
}

// tooFew says why these tastes cannot be compared.
func (t *ageTable) tooFew() string {
	units := len(t.units())
	switch {
	case len(t.steps) < 2:
		return fmt.Sprintf("%s was scored at one age only", t.attribute.Name)
	case t.unit == "pour" && units < 3:
		return fmt.Sprintf("one taster has to score three pours made one by one at least, and scored %d", units)
	case units < 3:
		return fmt.Sprintf("%s tell too little about others; from three on ages are compared", Count(units, "taster"))
	case slices.Max(t.scores) == slices.Min(t.scores) && t.attribute.Better == panel.BetterMiddle:
		return fmt.Sprintf("every score of %s is equally far from its best, so that nothing tells how far scores scatter", t.attribute.Name)
	case slices.Max(t.scores) == slices.Min(t.scores):
		return fmt.Sprintf("every score of %s is the same, so that nothing tells how far scores scatter", t.attribute.Name)
	}
	return ""
}

func (t *ageTable) leftOut() []LeftOut {
	if n := t.all - len(t.rows); n > 0 {
		return []LeftOut{{"no " + t.attribute.Name + " score", n}}
	}
	return nil
}

// decimals are those that a fiftieth of the scale needs.
func (t *ageTable) decimals() int {
	span := t.attribute.High - t.attribute.Low
	if !t.attribute.Ranged {
		span = slices.Max(t.scores) - slices.Min(t.scores)
	}
	if !(span > 0) {
		return 1
	}
	return min(6, max(0, int(math.Ceil(math.Log10(50/span)))))
}

// own gives every unit's own mean at each older step less its mean at the youngest, where it has both: raw.
func (t *ageTable) own(in Input) []ScorePoint {
	type cell struct {
		sum float64
		n   int
	}
	sums := map[string][]cell{}
	shown := map[string]string{}
	for i, s := range t.of {
		w := t.who[i]
		if sums[w] == nil {
			sums[w] = make([]cell, len(t.steps))
		}
		sums[w][s].sum += t.scores[i]
		sums[w][s].n++
		shown[w] = in.name(t.rows[i].Taster)
	}
	var out []ScorePoint
	for _, w := range t.units() {
		c := sums[w]
		for s := 1; s < len(c); s++ {
			if c[0].n > 0 && c[s].n > 0 {
				out = append(out, ScorePoint{Taster: shown[w], AgeMin: panel.Minutes(t.steps[s].Mean), Score: c[s].sum/float64(c[s].n) - c[0].sum/float64(c[0].n)})
			}
		}
	}
	return out
}
