package answer

import (
	"slices"

	"lastsip/analysis/endpoint"
)

// readings gives the median under each reading, the one in force first.
func (m *maker) readings() ([]Reading, error) {
	names := append([]endpoint.Reading{m.reading}, slices.DeleteFunc(slices.Clone(endpoint.Readings), func(x endpoint.Reading) bool { return x == m.reading })...)
	var out []Reading
	for _, name := range names {
		curve, err := m.fit(name, m.r.Glasses)
		if err != nil {
			return nil, err
		}
		q, err := m.quantile(curve, m.unitsUnder(name), 0.5)
		if err != nil {
			return nil, err
		}
		out = append(out, Reading{Name: string(name), Median: q})
	}
	return out, nil
}

// withoutNever is half without the tasters who never accepted, where there are any and three others remain.
func (m *maker) withoutNever(p *LifetimePart) error {
	kept := slices.DeleteFunc(slices.Clone(m.units), func(u unit) bool { return u.never })
	if len(kept) == len(m.units) || len(kept) < 3 {
		return nil
	}
	glasses := slices.DeleteFunc(slices.Clone(m.r.Glasses), func(g endpoint.Glass) bool { return m.never(g.Taster) })
	p.WithoutNeverCounts = m.counts(glasses)
	x := m.headlineModel()
	x.rows = slices.DeleteFunc(slices.Clone(x.rows), func(row endpoint.OwnLimit) bool { return m.never(row.Taster) })
	h, err := m.headline(x)
	if err != nil {
		return err
	}
	if h != nil {
		p.WithoutNever = &h.Quantiles[0]
		if q, ok := h.Quantile(0.1); ok {
			p.WithoutNeverTenth = &q
		}
	}
	curve, err := m.fit(m.reading, glasses)
	if err != nil {
		return err
	}
	q, err := m.quantile(curve, kept, 0.5)
	p.WithoutNeverExact = &q
	return err
}
