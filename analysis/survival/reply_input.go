package survival

import (
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/internal/reply"
)

// check gives every fault of the model and its input as joined *dataerr.Cell.
func (m ReplyModel) check(units []ReplyUnit, weights map[int]float64) error {
	var bad []error
	cell := func(row int, column, value string, err error, want string) {
		bad = append(bad, &dataerr.Cell{Row: row, Column: column, Value: value, Err: err, Want: want})
	}
	if !(m.Slips >= 0 && m.Slips < 0.5) {
		bad = append(bad, &dataerr.Cell{Column: "Slips", Value: number(m.Slips), Err: sentinel(m.Slips), Want: "give a fraction from 0 to below 0.5, such as 0.02"})
	}
	if m.Level != 0 {
		bad = append(bad, checkFraction("Level", m.Level, "give a fraction such as 0.95, or 0 for that default")...)
	}
	if m.MaxIter < 0 {
		cell(0, "MaxIter", strconv.Itoa(m.MaxIter), dataerr.ErrRange, "give a number of steps, or 0 for 200")
	}
	if len(units) == 0 {
		cell(0, "", "", dataerr.ErrTooFew, "give at least one unit with a reply")
	}
	for i, u := range units {
		if len(u.X) != len(units[0].X) {
			cell(i+1, "X", strconv.Itoa(len(u.X))+" covariates", dataerr.ErrConflict, "give as many as the first unit has, "+strconv.Itoa(len(units[0].X)))
		}
		for j, x := range u.X {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				cell(i+1, "X["+strconv.Itoa(j)+"]", number(x), sentinel(x), "a covariate is a finite number")
			}
		}
		if len(u.Replies) == 0 {
			cell(i+1, "Replies", "", dataerr.ErrTooFew, "a unit has at least one reply")
		}
		for j, r := range u.Replies {
			if err := nonNegative(r.Age); err != nil {
				cell(i+1, "Replies["+strconv.Itoa(j)+"].Age", number(r.Age), err, "give the age in minutes, finite and not negative")
			}
		}
	}
	return join(bad, checkSubjectWeights(units, weights))
}

func sentinel(v float64) error {
	if math.IsNaN(v) {
		return dataerr.ErrNumber
	}
	return dataerr.ErrRange
}

// checkSubjectWeights wants finite weights >= 0, not all 0 for the subjects that are there and not too far apart.
func checkSubjectWeights(units []ReplyUnit, weights map[int]float64) (bad []error) {
	seen := map[int]bool{}
	total, largest := 0.0, 0.0
	for i, u := range units {
		w, given := weights[u.Subject]
		if !given {
			w = 1
		}
		if seen[u.Subject] {
			continue
		}
		seen[u.Subject] = true
		if err := nonNegative(w); err != nil {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "weight", Value: number(w), Err: err, Want: "a weight is finite and not negative"})
		}
		total += w
		largest = max(largest, w)
	}
	if bad == nil && len(units) > 0 && total == 0 {
		return []error{&dataerr.Cell{Column: "weight", Value: "0", Err: dataerr.ErrTooFew, Want: "at least one subject needs a weight above 0"}}
	}
	if bad == nil && largest > 1e6 {
		return []error{&dataerr.Cell{Column: "weight", Value: number(largest), Err: dataerr.ErrRange, Want: "a weight counts subjects; keep it below a million"}}
	}
	return bad
}

// gather turns units into subjects with log ages, in order of first appearance, leaves out what cannot be, and counts.
func (f *ReplyFit) gather(units []ReplyUnit, weights map[int]float64) ([]reply.Subject, error) {
	var subjects []reply.Subject
	place := map[int]int{}
	for i, u := range units {
		w, given := weights[u.Subject]
		if !given {
			w = 1
		}
		if w == 0 {
			continue
		}
		unit := reply.Unit{Row: append([]float64{1}, u.X...)}
		for j, r := range u.Replies {
			if r.Age == 0 && r.Reject && f.model.Slips == 0 {
				f.LeftOut++
				f.LeftOutRows = append(f.LeftOutRows, [2]int{i, j})
				continue
			}
			unit.At, unit.Yes = append(unit.At, math.Log(r.Age)), append(unit.Yes, r.Reject)
		}
		if f.model.Sharp && f.model.Slips == 0 && wavers(u.Replies) {
			return nil, &dataerr.Cell{Row: i + 1, Column: "Replies", Err: dataerr.ErrConflict,
				Want: "without slips and noise a rejection cannot come before an acceptance; allow one of them, or give intervals"}
		}
		f.Replies += len(unit.At)
		if len(unit.At) == 0 {
			continue
		}
		f.Units++
		k, there := place[u.Subject]
		if !there {
			k = len(subjects)
			place[u.Subject] = k
			subjects = append(subjects, reply.Subject{Weight: w})
		}
		subjects[k].Units = append(subjects[k].Units, unit)
	}
	f.Subjects = len(subjects)
	if f.LeftOut > 0 {
		f.warnings = append(f.warnings, &dataerr.Cell{Column: "Replies", Value: strconv.Itoa(f.LeftOut) + " at age 0", Err: dataerr.ErrRange,
			Want: "without slips a rejection at age 0 is impossible; they are left out"})
	}
	if len(subjects) == 0 {
		return nil, &dataerr.Cell{Column: "Replies", Err: dataerr.ErrTooFew, Want: "no reply is left; without slips rejections at age 0 say nothing"}
	}
	if !slices.ContainsFunc(subjects, looked) {
		return nil, &dataerr.Cell{Column: "Replies", Value: "0", Err: dataerr.ErrTooFew, Want: "every reply is at age 0; a limit needs older ages"}
	}
	return subjects, aliased(subjects)
}

// looked tells whether a subject was asked at an age above 0.
func looked(s reply.Subject) bool {
	for _, u := range s.Units {
		if slices.Max(u.At) > math.Inf(-1) {
			return true
		}
	}
	return false
}

// wavers tells whether one limit cannot explain the replies without noise.
func wavers(replies []Reply) bool {
	first, last := math.Inf(1), math.Inf(-1)
	for _, r := range replies {
		if r.Age > 0 && r.Reject {
			first = min(first, r.Age)
		} else if !r.Reject {
			last = max(last, r.Age)
		}
	}
	return first <= last
}

// aliased names the covariates that others (or the intercept) already say.
func aliased(subjects []reply.Subject) error {
	var rows [][]float64
	for _, s := range subjects {
		for _, u := range s.Units {
			if !slices.ContainsFunc(rows, func(r []float64) bool { return slices.Equal(r, u.Row) }) {
				rows = append(rows, u.Row)
			}
		}
	}
	var bad []error
	var basis [][]float64
	for j := range rows[0] {
		col := make([]float64, len(rows))
		size := 0.0
		for i, r := range rows {
			col[i] = r[j]
			size += r[j] * r[j]
		}
		for range 2 { // twice, against rounding
			for _, b := range basis {
				dot := 0.0
				for i := range col {
					dot += col[i] * b[i]
				}
				for i := range col {
					col[i] -= dot * b[i]
				}
			}
		}
		left := 0.0
		for _, v := range col {
			left += v * v
		}
		if !(left > 1e-18*size) {
			bad = append(bad, &dataerr.Cell{Column: "X[" + strconv.Itoa(j-1) + "]", Err: dataerr.ErrConflict,
				Want: "the intercept and the covariates before it already say the same; leave it out"})
			continue
		}
		for i := range col {
			col[i] /= math.Sqrt(left)
		}
		basis = append(basis, col)
	}
	return join(bad, nil)
}
