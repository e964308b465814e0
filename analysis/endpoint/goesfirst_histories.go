package endpoint

import (
	"cmp"
	"fmt"
	"slices"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// ScoreLook is what one unit scored at one age step.
type ScoreLook struct {
	Step   int         // index into Histories.Steps
	Scores [][]float64 // points, per compared attribute; several where one step saw several tastes, none where it was left empty
}

// History is what one unit scored over age: a taster over one glass (sip-through) or over the first glass of each age step
// (side by side), or one pour of a single taster.
type History struct {
	Taster, Session, Pour string // Session and Pour are of the first glass side by side
	Looks                 []ScoreLook
	Rows                  int // tastes used
}

// Missing is a taster whose scores cannot be compared, and the attributes that their first glass has no score of.
type Missing struct {
	Taster     string
	Attributes []string
}

// Histories are the scores of one drink in one mode, for the question which attribute fails first.
type Histories struct {
	Drink      Drink
	Mode       panel.Mode
	Attributes []panel.Attribute // compared: those with a limit that half of the tasters scored at least, without the overall score
	NoLimit    []string          // scored, but no scale is known and so no limit
	Seldom     []Seldom          // scored by fewer than half of the tasters
	Unit       string            // what a History stands for: "taster", or "pour" of a single taster
	Steps      []panel.Step      // of all tastes in this mode
	Units      []History         // each taster once, by name; empty with fewer than two attributes
	Missing    []Missing
	Rows       int // tastes used
	LeftOut    []panel.LeftOut
}

// Seldom is an attribute that too few tasters scored.
type Seldom struct {
	Name    string
	Tasters int // who scored it
	Of      int // who scored anything
}

// HistoriesOf collects the scores of a drink in one mode. A taster with several glasses counts once, by the glass made first
// among those in which every compared attribute has a score; side by side by the first glass of each age step. Where one
// taster alone remains in sip-through the unit is the pour: the first glass of each batch, or each glass where its batch is
// not known. It fails where the drink was not tasted in that mode.
func HistoriesOf(p *panel.Panel, d Drink, mode panel.Mode) (*Histories, error) {
	c := historian{p: p, out: &Histories{Drink: d, Mode: mode, Unit: "taster"}, left: leftOut{}}
	for _, t := range p.Tastes {
		if t.Mode == mode && at(p, t, d) {
			c.rows = append(c.rows, t)
		}
	}
	if len(c.rows) == 0 {
		return nil, fmt.Errorf("%s, %s: %w", d.Style, mode, dataerr.ErrTooFew)
	}
	c.out.Steps, c.of = panel.AgeSteps(c.rows)
	if c.compared(); len(c.columns) < 2 {
		return c.out, nil
	}
	c.choose(c.glasses())
	for _, u := range c.out.Units {
		c.out.Rows += u.Rows
	}
	c.out.LeftOut = c.left.list()
	return c.out, nil
}

// historian reads the scores of one drink in one mode.
type historian struct {
	p       *panel.Panel
	out     *Histories
	rows    []panel.Taste
	of      []int // step of each row
	columns []int // of the compared attributes, in the panel's order
	left    leftOut
}

// compared chooses the attributes that take part.
func (c *historian) compared() {
	overall := overallOf(c.p)
	all := map[string]bool{}
	by := make([]map[string]bool, len(c.p.Attributes))
	for k := range by {
		by[k] = map[string]bool{}
		for _, t := range c.rows {
			if k != overall && t.Scores[k].Given {
				by[k][t.Taster] = true
				all[t.Taster] = true
			}
		}
	}
	for k, a := range c.p.Attributes {
		switch n := len(by[k]); {
		case n == 0:
		case !a.Ranged:
			c.out.NoLimit = append(c.out.NoLimit, a.Name)
		case 2*n < len(all):
			c.out.Seldom = append(c.out.Seldom, Seldom{a.Name, n, len(all)})
		default:
			c.columns = append(c.columns, k)
			c.out.Attributes = append(c.out.Attributes, a)
		}
	}
}

// glasses groups the rows with a score by glass (by taster side by side), by taster and in the order of making.
func (c *historian) glasses() [][]int {
	groups := map[glassKey][]int{}
	var order []glassKey
	for i, t := range c.rows {
		if !slices.ContainsFunc(c.columns, func(k int) bool { return t.Scores[k].Given }) {
			c.left.add("no score of an attribute that is compared")
			continue
		}
		k := keyOf(c.p, t, c.out.Mode)
		if _, ok := groups[k]; !ok {
			order = append(order, k)
		}
		groups[k] = append(groups[k], i)
	}
	slices.SortStableFunc(order, func(a, b glassKey) int {
		return cmp.Or(cmp.Compare(a.taster, b.taster), madeBefore(c.p, c.rows[groups[a][0]], c.rows[groups[b][0]]))
	})
	out := make([][]int, len(order))
	for i, k := range order {
		out[i] = c.byStep(groups[k])
	}
	return out
}

// byStep puts rows in order of age step, then of age; side by side only the first glass of each step stays.
func (c *historian) byStep(rows []int) []int {
	slices.SortStableFunc(rows, func(a, b int) int {
		return cmp.Or(cmp.Compare(c.of[a], c.of[b]), cmp.Compare(c.rows[a].Age, c.rows[b].Age))
	})
	if c.out.Mode != panel.SideBySide {
		return rows
	}
	kept := slices.CompactFunc(slices.Clone(rows), func(a, b int) bool { return c.of[a] == c.of[b] })
	if n := len(rows) - len(kept); n > 0 {
		c.left.addRows("a further glass of one age step", n)
	}
	return kept
}

// choose makes the units: of each taster the first glass in which nothing that is compared was left out.
func (c *historian) choose(glasses [][]int) {
	first := map[string]int{} // taster: their first whole glass
	complete := make([]bool, len(glasses))
	for i, rows := range glasses {
		taster := c.rows[rows[0]].Taster
		if complete[i] = len(c.lacking(rows)) == 0; !complete[i] {
			continue
		}
		if _, ok := first[taster]; !ok {
			first[taster] = i
		}
	}
	pours := len(first) == 1 && c.out.Mode == panel.SipThrough
	if pours {
		c.out.Unit = "pour"
	}
	seen, named := map[[2]string]bool{}, map[string]bool{}
	for i, rows := range glasses {
		taster := c.rows[rows[0]].Taster
		whole, ok := first[taster]
		switch batch := c.batchOf(rows); {
		case !ok:
			c.left.addRows("of a taster who left out an attribute that is compared", len(rows))
			if !named[taster] {
				named[taster] = true
				c.out.Missing = append(c.out.Missing, Missing{taster, c.lacking(rows)})
			}
		case pours && !complete[i]:
			c.left.addRows("of a glass in which an attribute that is compared was left out", len(rows))
		case pours && seen[batch]:
			c.left.addRows("a further glass of a batch that is counted once", len(rows))
		case pours || i == whole:
			seen[batch] = true
			c.out.Units = append(c.out.Units, c.history(rows))
		default:
			c.left.addRows("a further glass of a taster who is counted once", len(rows))
		}
	}
}

func (l leftOut) addRows(reason string, n int) { l[reason] += n }

// batchOf names what a pour shares its faults with: its batch, or nothing but itself where that is not known.
func (c *historian) batchOf(rows []int) [2]string {
	pour := &c.p.Pours[c.rows[rows[0]].Pour]
	if pour.Batch == "" {
		return [2]string{pour.Session, "pour " + pour.ID}
	}
	return [2]string{pour.Session, "batch " + pour.Batch}
}

// lacking lists the compared attributes without any score in some rows.
func (c *historian) lacking(rows []int) []string {
	var out []string
	for j, k := range c.columns {
		if !slices.ContainsFunc(rows, func(i int) bool { return c.rows[i].Scores[k].Given }) {
			out = append(out, c.out.Attributes[j].Name)
		}
	}
	return out
}

// history makes a unit of rows in order of age step.
func (c *historian) history(rows []int) History {
	t := &c.rows[rows[0]]
	h := History{Taster: t.Taster, Session: t.Session, Pour: c.p.Pours[t.Pour].ID, Rows: len(rows)}
	for _, i := range rows {
		n := len(h.Looks)
		if n == 0 || h.Looks[n-1].Step != c.of[i] {
			h.Looks = append(h.Looks, ScoreLook{Step: c.of[i], Scores: make([][]float64, len(c.columns))})
			n++
		}
		for j, k := range c.columns {
			if s := c.rows[i].Scores[k]; s.Given {
				h.Looks[n-1].Scores[j] = append(h.Looks[n-1].Scores[j], s.Value)
			}
		}
	}
	return h
}
