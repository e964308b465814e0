package answer

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"lastsip/analysis/mixed"
)

// scoreModel is the mixed model of a drink's overall scores but for what age does: random intercept and slope of tasters,
// and an intercept for evening, batch and mode where there are several. Below five evenings (batches) these are fixed and
// the answer is about their mean, "for these evenings"; from five on they are random. A batch that was tasted at one age
// only cannot be told from that age: it is random where ages have several batches, else left out. Where every unit was tasted
// once (pours side by side, by one taster) units have no term, as they are the residuals.
type scoreModel struct {
	data    *scoreRows
	table   *mixed.Table
	beside  []mixed.Term // sum contrasts, so that an average row has zeros there
	fixed   []string     // "evening", "batch", "mode": what beside holds
	random  []mixed.Random
	noSlope bool // the ages a taster tasted do not vary, or the data refused a slope
	notes   []string
}

// mostFixed is the largest number of evenings or batches that are taken as they were.
const mostFixed = 4

// alikeNote says that slopes of tasters were left out.
const alikeNote = "How tasters differ in their decline could not be told, so all are taken to decline alike."

// Columns of the model's table.
const (
	scoreColumn = "score"
	ageColumn   = "age"
	stepColumn  = "step"
	unitColumn  = "taster"
)

// stepLevel names an age step so that names sort as ages do.
func stepLevel(i int) string { return fmt.Sprintf("%04d", i) }

func newScoreModel(s *scoreRows) (*scoreModel, error) {
	m := &scoreModel{data: s}
	columns := []mixed.Column{
		mixed.Numbers(scoreColumn, s.numbers(func(r *scoreRow) float64 { return r.score })),
		mixed.Numbers(ageColumn, s.numbers(func(r *scoreRow) float64 { return r.age })),
		mixed.Labels(stepColumn, s.labels(func(r *scoreRow) string { return stepLevel(r.step) })),
		mixed.Labels(unitColumn, s.coded(func(r *scoreRow) string { return r.unit })),
	}
	m.random = []mixed.Random{{Group: []string{unitColumn}, Slopes: []mixed.Term{mixed.Numeric{Name: ageColumn}}}}
	evening := func(r *scoreRow) string { return r.session }
	batch := func(r *scoreRow) string { return r.batch }
	mode := func(r *scoreRow) string { return r.mode }
	unit := func(r *scoreRow) string { return r.unit }
	add := func(name string, of func(*scoreRow) string, random bool) {
		labels := s.labels(of)
		if name == "batch" {
			labels = s.coded(of)
		}
		columns = append(columns, mixed.Labels(name, labels))
		if random {
			m.random = append(m.random, mixed.Random{Group: []string{name}})
			return
		}
		m.beside, m.fixed = append(m.beside, mixed.Factor{Name: name, Contrast: mixed.Sum}), append(m.fixed, name)
	}
	useBatch, batchRandom := m.batches()
	fixedBatch := useBatch && !batchRandom // holds whatever its batches do not share: the evening, which a batch lies in, perhaps the mode
	if n := s.count(evening); n > 1 && !fixedBatch && !s.alike(evening, unit) {
		add("evening", evening, n > mostFixed)
	}
	if n := s.count(mode); n > 1 && !s.within(mode, evening) && !(fixedBatch && s.within(mode, batch)) {
		add("mode", mode, false)
	}
	if useBatch {
		add("batch", batch, batchRandom)
	}
	if s.units == len(s.rows) { // each unit once: units are the residuals
		m.random, m.noSlope = m.random[1:], true
	}
	var err error
	m.table, err = mixed.NewTable(columns...)
	return m, err
}

// batches tells whether the model has a term for batches, and whether it is random.
func (m *scoreModel) batches() (use, random bool) {
	s := m.data
	batch := func(r *scoreRow) string { return r.batch }
	known := !slices.ContainsFunc(s.rows, func(r scoreRow) bool { return r.batch == "" })
	n := s.count(batch)
	if !known || n < 2 || n == len(s.rows) || s.alike(batch, func(r *scoreRow) string { return r.session }) || s.alike(batch, func(r *scoreRow) string { return r.unit }) {
		return false, false
	}
	switch crosses, perStep := s.batchSteps(); {
	case crosses:
		return true, n > mostFixed
	case perStep >= 2:
		return true, true
	}
	m.notes = append(m.notes, "Every age was poured from a batch of its own, so the drink's age cannot be told from the batch.")
	return false, false
}

// fit fits the model with what age does. Where the data refuse the slopes of tasters they are left out, and said; not where the
// slopes leave no scatter: then tasters differ in their decline, and without slopes limits would be too narrow.
func (m *scoreModel) fit(age ...mixed.Term) (*mixed.Fit, error) {
	spec := mixed.Spec{Response: scoreColumn, Fixed: slices.Concat(age, m.beside), Random: m.random}
	if m.noSlope {
		spec.Random = withoutSlopes(spec.Random)
	}
	fit, err := spec.Fit(m.table)
	if err == nil || m.noSlope || errors.Is(err, mixed.ErrExact) {
		return fit, err
	}
	spec.Random = withoutSlopes(spec.Random)
	plain, plainErr := spec.Fit(m.table)
	if plainErr != nil {
		return nil, err
	}
	m.noSlope = true
	m.notes = append(m.notes, alikeNote)
	return plain, nil
}

func withoutSlopes(terms []mixed.Random) []mixed.Random {
	out := slices.Clone(terms)
	for i := range out {
		out[i].Slopes = nil
	}
	return out
}

// alike tells that two labels part the rows alike.
func (s *scoreRows) alike(a, b func(*scoreRow) string) bool { return s.within(a, b) && s.within(b, a) }

// within tells that every b lies in one a.
func (s *scoreRows) within(a, b func(*scoreRow) string) bool {
	of := map[string]string{}
	for i := range s.rows {
		r := &s.rows[i]
		if was, ok := of[b(r)]; ok && was != a(r) {
			return false
		}
		of[b(r)] = a(r)
	}
	return true
}

// batchSteps tells whether the batches were tasted at half of the age steps or more each, on average, and how many batches
// an age step had.
func (s *scoreRows) batchSteps() (crosses bool, perStep float64) {
	cells, batches := map[string]bool{}, map[string]bool{}
	for i := range s.rows {
		r := &s.rows[i]
		batches[r.batch] = true
		cells[r.batch+"\x00"+stepLevel(r.step)] = true
	}
	n := float64(len(cells))
	return n >= float64(len(batches)*len(s.steps))/2, n / float64(len(s.steps))
}

func (s *scoreRows) numbers(of func(*scoreRow) float64) []float64 {
	out := make([]float64, len(s.rows))
	for i := range s.rows {
		out[i] = of(&s.rows[i])
	}
	return out
}

func (s *scoreRows) labels(of func(*scoreRow) string) []string {
	out := make([]string, len(s.rows))
	for i := range s.rows {
		out[i] = of(&s.rows[i])
	}
	return out
}

// coded gives labels that sort as the names do and tell nothing of them: messages of the fit may go on a page.
func (s *scoreRows) coded(of func(*scoreRow) string) []string {
	names := s.names(of)
	out := s.labels(of)
	for i, name := range out {
		k, _ := slices.BinarySearch(names, name)
		out[i] = stepLevel(k)
	}
	return out
}

// names are the distinct labels, sorted: the k-th stands behind the code stepLevel(k).
func (s *scoreRows) names(of func(*scoreRow) string) []string {
	out := s.labels(of)
	slices.Sort(out)
	return slices.Compact(out)
}

// untold says in words what the fit could not tell of the spread of tasters, evenings and batches: variances at 0, correlations
// at 1 or -1.
func (m *scoreModel) untold(fit *mixed.Fit) []string {
	var out []string
	for _, s := range fit.Singular() {
		who := m.data.unit + "s"
		switch {
		case strings.Contains(s, " over evening"):
			who = "evenings"
		case strings.Contains(s, " over batch"):
			who = "batches"
		}
		switch {
		case strings.Contains(s, "correlation"):
			out = append(out, "how the levels and declines of "+who+" hang together")
		case strings.HasPrefix(s, "slope"):
			out = append(out, "how far the declines of "+who+" lie apart")
		default:
			out = append(out, "how far the levels of "+who+" lie apart")
		}
	}
	return out
}
