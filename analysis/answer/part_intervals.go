package answer

import (
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// intervals lists every glass that tells something (side by side, and for the pours of one taster, the units), and what the
// act rests on: side by side one interval a taster, in sip-through the glasses themselves. A glass that was never accepted,
// as it was first tasted late, begins there at the last younger age at which its taster accepted another.
func (m *maker) intervals() (each, whole []Interval) {
	for _, u := range m.units {
		each = append(each, m.interval(u.taster, u.session, u.pour, u.all, true))
	}
	for _, g := range m.r.Glasses {
		l := m.reading.Limit(g.Replies)
		if !l.Known {
			continue
		}
		w := l
		if l.Never {
			w.L = m.youngerYes(g.Taster, l.R)
		}
		whole = append(whole, m.interval(g.Taster, g.Session, g.Pour, w, true))
		if m.r.Mode == panel.SipThrough && !m.isCounted(g) {
			each = append(each, m.interval(g.Taster, g.Session, g.Pour, l, false))
		}
	}
	return each, whole
}

// youngerYes is the last age below a limit at which a taster accepted any glass; 0 where there is none.
func (m *maker) youngerYes(taster string, below float64) float64 {
	last := 0.0
	if !m.accepting[taster] {
		return last
	}
	for _, g := range m.r.Glasses {
		for _, y := range g.Replies {
			if g.Taster == taster && !y.Reject && y.AgeMin < below {
				last = max(last, y.AgeMin)
			}
		}
	}
	return last
}

// isCounted tells whether the exact limits count a glass.
func (m *maker) isCounted(g endpoint.Glass) bool {
	return m.counted[glassName{g.Taster, g.Session, g.Pour}]
}

func (m *maker) interval(taster, session, pour string, l endpoint.Limit, counted bool) Interval {
	return Interval{Taster: m.in.name(taster), Session: session, Pour: pour, L: Of(l.L), R: Of(l.R), Counted: counted}
}

// counted lists the intervals that the exact limits count.
func (p *LifetimePart) counted() []Interval {
	return slices.DeleteFunc(slices.Clone(p.Intervals), func(iv Interval) bool { return !iv.Counted })
}

// quantile joins the curve's own quantile with exact limits from the units given.
func (m *maker) quantile(curve *survival.Curve, units []unit, p float64) (Quantile, error) {
	rows := make([]survival.Interval, len(units))
	for i, u := range units {
		rows[i] = u.all.Interval
	}
	lim, err := survival.ExactQuantile(rows, p, Level)
	if err != nil {
		return Quantile{}, err
	}
	lo, hi := curve.Quantile(p)
	q := Quantile{P: p, From: Of(lo), To: Of(hi), Lower: Of(lim.Lower), Upper: Of(lim.Upper), Level: lim.Level, Status: OK}
	sets := curve.Sets()
	last := sets[len(sets)-1]
	q.Beyond = math.IsInf(hi, 1) && lo == last.L
	first, fresh := m.firstLook()
	q.Before = lo == 0 && hi <= first && !fresh
	switch {
	case !lim.Reached:
		q.Status = NotEnough
	case q.Beyond:
		q.Status = BeyondLastAge
	case q.Before:
		q.Status = BeforeFirstAge
	}
	return q, nil
}

// firstLook is the first age past 0 at which anyone replied, and whether anyone accepted it fresh.
func (m *maker) firstLook() (first float64, fresh bool) {
	first = math.Inf(1)
	for _, g := range m.r.Glasses {
		for _, y := range g.Replies {
			if y.AgeMin > 0 {
				first = min(first, y.AgeMin)
			} else if !y.Reject {
				fresh = true
			}
		}
	}
	return first, fresh
}

func (p *LifetimePart) median() Quantile { return p.Quantiles[0] }
