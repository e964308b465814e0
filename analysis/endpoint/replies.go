package endpoint

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// Drink is what one answer is about: a style in one serve.
type Drink struct{ Style, Serve string }

// Basis says what a rejection was taken from.
type Basis string

// Bases.
const (
	ByVerdict Basis = "verdict"
	ByScore   Basis = "score"
)

// Reply is one answer to "would you go on with it?".
type Reply struct {
	AgeMin  float64 // actual age
	StepMin float64 // mean actual age of the age step that the reply belongs to
	Reject  bool
	Pour    string // glass that the reply is about
	Batch   string // of that glass; empty: unknown
	Session string
	Origin  panel.Origin
}

// Glass holds the replies of one observed unit in order of age: about one glass in sip-through, of one taster over all
// glasses of the drink side by side.
type Glass struct {
	Taster, Session, Pour, Batch string // Session, Pour and Batch are of the first glass side by side
	Replies                      []Reply
}

// Replies are all replies about one drink in one mode.
type Replies struct {
	Drink    Drink
	Mode     panel.Mode
	Basis    Basis
	Glasses  []Glass // by taster, then in the order in which their glasses were made
	Steps    []panel.Step
	Both     int // rows with a verdict and an overall score
	Disagree int // of these, rows where the two say different things
	Rows     int // replies used
	LeftOut  []panel.LeftOut
}

// Modes returns the modes in which a drink was tasted, side by side first.
func Modes(p *panel.Panel, d Drink) []panel.Mode {
	var seen [3]bool
	for _, t := range p.Tastes {
		if at(p, t, d) {
			seen[t.Mode] = true
		}
	}
	var out []panel.Mode
	for _, m := range []panel.Mode{panel.SideBySide, panel.SipThrough} {
		if seen[m] {
			out = append(out, m)
		}
	}
	return out
}

// BasisOf says how rejections of a style are read: by verdict if any row of the style has one, else by the overall score;
// empty when there is neither a verdict nor an overall attribute with a limit.
func BasisOf(p *panel.Panel, style string) Basis {
	for _, t := range p.Tastes {
		if t.Verdict != panel.NoVerdict && p.Pours[t.Pour].Style == style {
			return ByVerdict
		}
	}
	if overallOf(p) >= 0 && p.Settings.HasLimits {
		return ByScore
	}
	return ""
}

// RepliesOf collects the replies about a drink in one mode. It fails where the drink was not tasted so, or where nothing
// says what a rejection is.
func RepliesOf(p *panel.Panel, d Drink, mode panel.Mode) (*Replies, error) {
	basis := BasisOf(p, d.Style)
	if basis == "" {
		return nil, fmt.Errorf("%s: no verdicts, and no overall score with a reject limit: %w", d.Style, dataerr.ErrMissing)
	}
	var rows []panel.Taste
	for _, t := range p.Tastes {
		if t.Mode == mode && at(p, t, d) {
			rows = append(rows, t)
		}
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("%s, %s: %w", d.Style, mode, dataerr.ErrTooFew)
	}
	steps, of := panel.AgeSteps(rows)
	out := &Replies{Drink: d, Mode: mode, Basis: basis, Steps: steps}
	overall := overallOf(p)
	groups := map[glassKey][]int{}
	var order []glassKey
	for i, t := range rows {
		k := keyOf(p, t, mode)
		if _, ok := groups[k]; !ok {
			order = append(order, k)
		}
		groups[k] = append(groups[k], i)
	}
	slices.SortStableFunc(order, func(a, b glassKey) int {
		return cmp.Or(cmp.Compare(a.taster, b.taster), madeBefore(p, rows[groups[a][0]], rows[groups[b][0]]))
	})
	c := collector{p: p, mode: mode, basis: basis, overall: overall, out: out, left: leftOut{}}
	for _, k := range order {
		idx := groups[k]
		slices.SortStableFunc(idx, func(a, b int) int { return cmp.Compare(rows[a].Age, rows[b].Age) })
		pour := &p.Pours[rows[idx[0]].Pour]
		g := Glass{Taster: k.taster, Session: rows[idx[0]].Session, Pour: pour.ID, Batch: pour.Batch}
		for _, i := range idx {
			if reply, ok := c.reply(rows[i]); ok {
				reply.StepMin = panel.Minutes(steps[of[i]].Mean)
				g.Replies = append(g.Replies, reply)
			}
		}
		c.ended = false
		if len(g.Replies) > 0 {
			out.Rows += len(g.Replies)
			out.Glasses = append(out.Glasses, g)
		}
	}
	out.LeftOut = c.left.list()
	return out, nil
}

// madeBefore orders two tastes by the making of their glasses: by the evening's date, then by the time of making where both
// are known, else by the name of the pour.
func madeBefore(p *panel.Panel, a, b panel.Taste) int {
	date := func(name string) string {
		for _, s := range p.Sessions {
			if s.Name == name {
				return s.Date
			}
		}
		return ""
	}
	ga, gb := &p.Pours[a.Pour], &p.Pours[b.Pour]
	order := cmp.Or(cmp.Compare(date(a.Session), date(b.Session)), natural(a.Session, b.Session))
	if order == 0 && ga.HasMade && gb.HasMade {
		order = cmp.Compare(ga.Made, gb.Made)
	}
	return cmp.Or(order, natural(ga.ID, gb.ID))
}

// collector reads one row after the other, glass by glass.
type collector struct {
	p       *panel.Panel
	mode    panel.Mode
	basis   Basis
	overall int
	out     *Replies
	left    leftOut
	ended   bool // this glass was given up for another reason than the drink
}

// reply reads one row; ok is false where the row says nothing about the drink, which is counted.
func (c *collector) reply(t panel.Taste) (r Reply, ok bool) {
	byScore, scored := scoreRejects(c.p, c.overall, t)
	if t.Verdict != panel.NoVerdict && scored {
		c.out.Both++
		if byScore != (t.Verdict == panel.Reject) {
			c.out.Disagree++
		}
	}
	if c.ended {
		c.left.add("after the taster had ended for another reason than the drink")
		return Reply{}, false
	}
	reject, given, missing := byScore, scored, "no overall score"
	if c.basis == ByVerdict {
		reject, given, missing = t.Verdict == panel.Reject, t.Verdict != panel.NoVerdict, "no verdict"
	}
	stops := t.Why != panel.WhyNotSaid && t.Why != panel.WhyDrink
	c.ended = stops && c.mode == panel.SipThrough
	switch {
	case !given:
		c.left.add(missing)
		return Reply{}, false
	case stops && reject:
		c.left.add("ended for another reason than the drink (" + t.Why.String() + ")")
		return Reply{}, false
	}
	if c.mode == panel.SideBySide && reject && t.Age <= 0 {
		c.left.add("rejected fresh, which says nothing about ageing")
		return Reply{}, false
	}
	pour := &c.p.Pours[t.Pour]
	return Reply{AgeMin: panel.Minutes(t.Age), Reject: reject, Pour: pour.ID, Batch: pour.Batch, Session: t.Session, Origin: t.Origin}, true
}

type glassKey struct{ taster, session, pour string }

func keyOf(p *panel.Panel, t panel.Taste, mode panel.Mode) glassKey {
	if mode == panel.SideBySide {
		return glassKey{taster: t.Taster}
	}
	return glassKey{t.Taster, t.Session, p.Pours[t.Pour].ID}
}

func at(p *panel.Panel, t panel.Taste, d Drink) bool {
	pour := &p.Pours[t.Pour]
	return pour.Style == d.Style && pour.Serve == d.Serve
}

func overallOf(p *panel.Panel) int {
	return slices.IndexFunc(p.Attributes, func(a panel.Attribute) bool { return a.Name == p.Settings.Overall && a.Name != "" })
}

// scoreRejects reads the overall score; ok is false where there is none or no limit.
func scoreRejects(p *panel.Panel, overall int, t panel.Taste) (reject, ok bool) {
	if overall < 0 || !p.Settings.HasLimits || !t.Scores[overall].Given {
		return false, false
	}
	s, a := t.Scores[overall].Value, p.Attributes[overall]
	switch a.Better {
	case panel.BetterLow:
		return s > p.Settings.RejectLimit, true
	case panel.BetterMiddle:
		return math.Abs(s-a.Best) > a.Limit, true
	}
	return s < p.Settings.RejectLimit, true
}

type leftOut map[string]int

func (l leftOut) add(reason string) { l[reason]++ }

func (l leftOut) list() []panel.LeftOut {
	var out []panel.LeftOut
	for r, n := range l {
		out = append(out, panel.LeftOut{Reason: r, Rows: n})
	}
	slices.SortFunc(out, func(a, b panel.LeftOut) int { return cmp.Compare(a.Reason, b.Reason) })
	return out
}

// StatusRows gives one current-status row per reply, for side by side.
func (r *Replies) StatusRows() []survival.Status {
	var out []survival.Status
	for _, g := range r.Glasses {
		for _, y := range g.Replies {
			out = append(out, survival.Status{Time: y.AgeMin, Over: y.Reject})
		}
	}
	return out
}

// OnSteps returns the replies with every age replaced by the mean of its age step, in order of that mean, for counts at age
// steps. (Steps follow the plan, and a plan that was not kept puts them in another order than the actual ages.)
func (g Glass) OnSteps() []Reply {
	out := slices.Clone(g.Replies)
	for i := range out {
		out[i].AgeMin = out[i].StepMin
	}
	slices.SortStableFunc(out, func(a, b Reply) int { return cmp.Compare(a.AgeMin, b.AgeMin) })
	return out
}

// natural compares names as people count: p2 before p10.
func natural(a, b string) int {
	for a != "" && b != "" {
		na, restA := leadingNumber(a)
		nb, restB := leadingNumber(b)
		switch {
		case restA != a && restB != b && na != nb:
			return cmp.Compare(na, nb)
		case restA != a && restB != b:
			a, b = restA, restB
		case a[0] != b[0]:
			return cmp.Compare(a[0], b[0])
		default:
			a, b = a[1:], b[1:]
		}
	}
	return cmp.Compare(len(a), len(b))
}

// leadingNumber reads up to 15 digits, which a float holds exactly; rest is s where there is none.
func leadingNumber(s string) (n float64, rest string) {
	i := 0
	for i < len(s) && i < 15 && s[i] >= '0' && s[i] <= '9' {
		n = 10*n + float64(s[i]-'0')
		i++
	}
	return n, s[i:]
}
