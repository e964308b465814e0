package answer

import (
	"math"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/internal/likelihood"
	"lastsip/analysis/survival"
)

// From how many batches or evenings on their differences carry limits of their own.
const (
	batchesFrom  = 4
	eveningsFrom = 5
)

// groups estimates half for every batch or evening apart, and from enough of them, where all are closed, half for further
// ones: Student's interval of the mean of their logs, which needs no assumption about how tasters within a group hang together.
func (m *maker) groups(x model, name func(endpoint.Reply) string, from int) (Groups, error) {
	rows := map[string][]endpoint.OwnLimit{}
	var names []string
	for _, row := range x.rows {
		parts := map[string]*endpoint.OwnLimit{}
		for _, y := range row.Replies {
			k := name(y)
			if parts[k] == nil {
				parts[k] = &endpoint.OwnLimit{Subject: row.Subject, Taster: row.Taster}
				if !slices.Contains(names, k) {
					names = append(names, k)
				}
			}
			parts[k].Replies = append(parts[k].Replies, y)
		}
		for k, p := range parts {
			if slices.ContainsFunc(p.Replies, func(y endpoint.Reply) bool { return y.AgeMin > 0 }) {
				rows[k] = append(rows[k], *p)
			}
		}
	}
	names = slices.DeleteFunc(names, func(k string) bool { return len(rows[k]) == 0 }) // tasted fresh only: says nothing
	var out Groups
	if len(names) < 2 {
		return out, nil
	}
	for _, k := range names {
		some := x
		some.rows = rows[k]
		fit, err := some.fit()
		if err != nil {
			return Groups{}, err
		}
		quantile := m.modelQuantile
		if some.subjects() < 3 { // an estimate that the others are set beside, but no statement about drinkers
			quantile = m.modelEstimate
		}
		q, err := quantile(fit, 0.5)
		if err != nil {
			return Groups{}, err
		}
		if fit.Kind != survival.ReplyInterior && q.Status == OK {
			q.Status = NotEnough
		}
		g := Group{Name: k, Tasters: some.subjects(), Half: q}
		g.Batches, g.Tastes = m.tastesIn(name, k)
		out.Each = append(out.Each, g)
	}
	if len(out.Each) >= from {
		out.Half = meanOfLogs(out.Each)
	}
	return out, nil
}

// tastesIn counts the batches and the replies of one group; no batches where one is not known.
func (m *maker) tastesIn(name func(endpoint.Reply) string, group string) (batches, tastes int) {
	seen := map[[2]string]bool{}
	for _, g := range m.r.Glasses {
		for _, y := range g.Replies {
			if name(y) == group {
				tastes++
				seen[[2]string{y.Session, y.Batch}] = y.Batch != ""
			}
		}
	}
	for _, known := range seen {
		if !known {
			return 0, tastes
		}
	}
	return len(seen), tastes
}

// meanOfLogs is Student's interval for the mean of the logs of the groups' halves, taken back to minutes; nil where a half is
// open or a range of ages.
func meanOfLogs(each []Group) *Quantile {
	var logs []float64
	for _, g := range each {
		if g.Half.Status != OK || g.Half.From != g.Half.To || !(g.Half.From.Float() > 0) {
			return nil
		}
		logs = append(logs, math.Log(g.Half.From.Float()))
	}
	mean, half := likelihood.MeanLimits(logs, Level)
	at := Of(math.Exp(mean))
	return &Quantile{P: 0.5, From: at, To: at, Lower: Of(math.Exp(mean - half)), Upper: Of(math.Exp(mean + half)), Level: Level, Status: OK}
}
