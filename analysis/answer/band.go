package answer

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"lastsip/analysis/internal/resample"
	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// From how many tasters on a bootstrap over whole tasters is adequate for the curve and its median (never for one in ten),
// and how often it draws.
const (
	bandFrom  = 15
	bandDraws = 2000
)

// band draws whole tasters again and refits the curve without a family: pointwise percentile limits of the shares at the age
// steps and of the median. What a curve leaves open counts at its outer end.
func (m *maker) band(p *LifetimePart) error {
	if m.in.Quick || m.of != "taster" || len(m.units) < bandFrom {
		return nil
	}
	subject, fit := m.bandRows()
	whole := resample.NewSubjects(subject)
	curves := make([]*survival.Curve, bandDraws)
	errs := make([]error, bandDraws)
	resample.EachWith(bandDraws, m.in.Seed, 0, func() []float64 { return make([]float64, len(subject)) }, func(i int, rng *rand.Rand, weights []float64) {
		whole.Weights(rng, weights)
		curves[i], errs[i] = fit(weights)
	})
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("bootstrap draw %d: %w", i+1, err)
		}
	}
	lower, upper := make([]float64, bandDraws), make([]float64, bandDraws)
	limits := func(of func(*survival.Curve) (lo, hi float64)) (lo, hi float64) {
		for i, c := range curves {
			lower[i], upper[i] = of(c)
		}
		slices.Sort(lower)
		slices.Sort(upper)
		cut := int((1 - Level) / 2 * bandDraws)
		return lower[cut], upper[bandDraws-1-cut]
	}
	for _, s := range p.Shares {
		lo, hi := limits(func(c *survival.Curve) (float64, float64) { return c.At(s.AgeMin) })
		p.Band = append(p.Band, BandPoint{s.AgeMin, lo, hi})
	}
	lo, hi := limits(func(c *survival.Curve) (float64, float64) { return c.Quantile(0.5) })
	q := p.median()
	p.BandHalf = &Quantile{P: 0.5, From: q.From, To: q.To, Lower: Of(lo), Upper: Of(hi), Level: Level, Status: OK}
	return nil
}

// bandRows gives the taster of each row of the curve and how to refit it with weights.
func (m *maker) bandRows() (subject []int, fit func(weights []float64) (*survival.Curve, error)) {
	number := map[string]int{}
	add := func(taster string) {
		if _, ok := number[taster]; !ok {
			number[taster] = len(number)
		}
		subject = append(subject, number[taster])
	}
	if m.r.Mode == panel.SideBySide {
		for _, g := range m.r.Glasses {
			for range g.Replies {
				add(g.Taster)
			}
		}
		rows := m.r.StatusRows()
		return subject, func(w []float64) (*survival.Curve, error) { return survival.Isotonic{}.FitWeighted(rows, w) }
	}
	var rows []survival.Interval
	for _, g := range m.r.Glasses {
		if l := m.reading.Limit(g.Replies); l.Known {
			rows = append(rows, l.Interval)
			add(g.Taster)
		}
	}
	return subject, func(w []float64) (*survival.Curve, error) { return survival.NPMLE{}.FitWeighted(rows, w) }
}

// bandRows are the rows of the bootstrap.
func (a *Lifetime) bandRows(p *LifetimePart) {
	note := fmt.Sprintf("percentile limits of %d draws of whole tasters", bandDraws)
	for _, b := range p.Band {
		r := a.partRow(p, "share", p.Method, p.variant()+"+bootstrap", "1")
		r.AgeMin, r.Lower, r.Upper, r.Level, r.Note = Of(b.AgeMin), Of(b.Lower), Of(b.Upper), Of(Level), note
		a.Rows = append(a.Rows, r)
	}
	if q := p.BandHalf; q != nil {
		r := a.partRow(p, "q50", p.Method, p.variant()+"+bootstrap", "min")
		r.Lower, r.Upper, r.Level, r.Note = q.Lower, q.Upper, Of(q.Level), note
		a.Rows = append(a.Rows, r)
	}
}
