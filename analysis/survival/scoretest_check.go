package survival

import (
	"fmt"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/resample"
)

// scored is a ScoreTest with its input checked and its rows scored.
type scored struct {
	spec     ScoreTest // defaults filled in
	score    []float64 // one a row
	label    []int32   // one a row: position in groups
	groups   []int     // labels, ascending
	rows     []int     // number of rows of each group
	subjects *resample.Subjects
	warnings []error
}

// prepare checks, scores and numbers the groups. withSubjects tells whether subjects are asked for.
func (spec ScoreTest) prepare(rows []Interval, group, subject []int, withSubjects bool) (*scored, error) {
	bad := spec.check()
	if len(group) != len(rows) {
		bad = append(bad, labels("group", len(group), len(rows)))
	}
	if withSubjects && len(subject) != len(rows) {
		bad = append(bad, labels("subject", len(subject), len(rows)))
	}
	groups := slices.Compact(slices.Sorted(slices.Values(group)))
	if bad == nil && len(rows) > 0 && len(groups) < 2 {
		bad = append(bad, &dataerr.Cell{Column: "group", Value: strconv.Itoa(groups[0]), Err: dataerr.ErrTooFew,
			Want: "all rows are of one group; give rows of at least two"})
	}
	score, curve, err := spec.RowScores(rows)
	if err := join(bad, []error{err}); err != nil {
		return nil, err
	}
	if spec.MaxExact == 0 {
		spec.MaxExact = defaultExact
	}
	if spec.Draws == 0 {
		spec.Draws = defaultDraws
	}
	s := &scored{spec: spec, score: score, label: make([]int32, len(rows)), groups: groups, rows: make([]int, len(groups)), warnings: curve.Warnings()}
	for i, g := range group {
		k, _ := slices.BinarySearch(groups, g)
		s.label[i] = int32(k)
		s.rows[k]++
	}
	if withSubjects {
		s.subjects = resample.NewSubjects(subject)
	}
	return s, nil
}

func labels(column string, have, want int) error {
	return &dataerr.Cell{Column: column, Value: strconv.Itoa(have) + " labels", Err: dataerr.ErrConflict,
		Want: "give one label for each of the " + strconv.Itoa(want) + " rows"}
}

// check wants a usable spec; RowScores checks the kind.
func (spec ScoreTest) check() (bad []error) {
	if spec.MaxExact > mostDraws {
		bad = append(bad, &dataerr.Cell{Column: "MaxExact", Value: strconv.Itoa(spec.MaxExact), Err: dataerr.ErrRange,
			Want: "try at most 100,000,000 relabellings; 0 for 20,000"})
	}
	if spec.Draws < 0 || spec.Draws > mostDraws {
		bad = append(bad, &dataerr.Cell{Column: "Draws", Value: strconv.Itoa(spec.Draws), Err: dataerr.ErrRange,
			Want: "draw 1 to 100,000,000 relabellings, or 0 for 10,000"})
	}
	return bad
}

// mean of all scores.
func (s *scored) mean() float64 {
	sum := 0.0
	for _, v := range s.score {
		sum += v
	}
	return sum / float64(len(s.score))
}

// several says whether subject k has rows in two groups; at is the first row of another group than its first.
func (s *scored) several(k int) (at int, yes bool) {
	own := s.subjects.Rows(k)
	for _, i := range own {
		if s.label[i] != s.label[own[0]] {
			return i, true
		}
	}
	return 0, false
}

func (s *scored) checkWithin() error {
	for k := range s.subjects.Len() {
		if _, yes := s.several(k); yes {
			return nil
		}
	}
	return &dataerr.Cell{Column: "subject", Value: strconv.Itoa(s.subjects.Len()) + " subjects", Err: dataerr.ErrTooFew,
		Want: "no subject has rows in two groups, so none can be compared with itself; exchange whole subjects instead (Between)"}
}

func (s *scored) checkBetween() error {
	var bad []error
	for k := range s.subjects.Len() {
		if i, yes := s.several(k); yes {
			first := s.subjects.Rows(k)[0]
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "group", Value: strconv.Itoa(s.groups[s.label[i]]), Err: dataerr.ErrConflict,
				Want: fmt.Sprintf("subject %d is in group %d at observation %d already; a subject has one group here (else Within or Clustered)",
					s.subjects.Label(k), s.groups[s.label[first]], first+1)})
		}
	}
	return join(bad, nil)
}

func (s *scored) checkClustered() error {
	in := make([]int, len(s.groups))
	last := make([]int, len(s.groups)) // 1 + the last subject counted
	for k := range s.subjects.Len() {
		for _, i := range s.subjects.Rows(k) {
			if g := s.label[i]; last[g] != k+1 {
				last[g] = k + 1
				in[g]++
			}
		}
	}
	var bad []error
	for g, n := range in {
		if n < 2 {
			bad = append(bad, &dataerr.Cell{Column: "group", Value: strconv.Itoa(s.groups[g]), Err: dataerr.ErrTooFew,
				Want: "all rows of this group are of one subject; a variance between subjects needs two, a sound one about 30"})
		}
	}
	return join(bad, nil)
}
