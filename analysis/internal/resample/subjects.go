package resample

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// Subjects knows which rows belong to which subject. It never changes.
type Subjects struct {
	labels []int // ascending
	rows   []int // row numbers, subject by subject
	start  []int // start[k]: where the rows of subject k begin; len(labels)+1 of them
}

// NewSubjects groups rows by their subject: subject[i] is the label, any number, of the subject of row i.
func NewSubjects(subject []int) *Subjects {
	s := &Subjects{rows: make([]int, len(subject))}
	for i := range s.rows {
		s.rows[i] = i
	}
	slices.SortFunc(s.rows, func(a, b int) int { return cmp.Or(cmp.Compare(subject[a], subject[b]), cmp.Compare(a, b)) })
	for k, i := range s.rows {
		if k == 0 || subject[i] != s.labels[len(s.labels)-1] {
			s.labels = append(s.labels, subject[i])
			s.start = append(s.start, k)
		}
	}
	s.start = append(s.start, len(s.rows))
	return s
}

// Len is the number of subjects.
func (s *Subjects) Len() int { return len(s.labels) }

// Label of subject k, 0 <= k < Len, labels ascending.
func (s *Subjects) Label(k int) int { return s.labels[k] }

// Rows of subject k, ascending. The slice is shared: do not change it.
func (s *Subjects) Rows(k int) []int { return s.rows[s.start[k]:s.start[k+1]:s.start[k+1]] }

// Draw draws Len subjects with replacement. It gives the rows of all drawn, and for each row the number of the draw, from
// 0: a subject drawn twice is two subjects. The results are appended to rows[:0] and subject[:0].
func (s *Subjects) Draw(rng *rand.Rand, rows, subject []int) (_, _ []int) {
	rows, subject = rows[:0], subject[:0]
	for d := range s.labels {
		for _, i := range s.Rows(rng.IntN(len(s.labels))) {
			rows, subject = append(rows, i), append(subject, d)
		}
	}
	return rows, subject
}

// Weights draws as Draw does, and sets weights[i] to how often the subject of row i was drawn; len(weights) is the number
// of rows. For fits in which a weight repeats a row.
func (s *Subjects) Weights(rng *rand.Rand, weights []float64) {
	clear(weights)
	for range s.labels {
		for _, i := range s.Rows(rng.IntN(len(s.labels))) {
			weights[i]++
		}
	}
}
