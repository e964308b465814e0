package survival

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"lastsip/analysis/dataerr"
)

// Timed is one row whose event was seen at Time, or, Event false, had not yet happened at Time, where looking ended
// (right-censored). Time is finite and >= 0, one unit for all rows. An event counts before a censoring at the same time: a
// row censored at 5 was still at risk when an event happened at 5. Times are compared exactly, digit for digit.
type Timed struct {
	Time  float64
	Event bool
}

// Interval is the same knowledge as an interval: [Time, Time] for an event, else (Time, +Inf].
func (r Timed) Interval() Interval {
	if r.Event {
		return Interval{L: r.Time, R: r.Time}
	}
	return Interval{L: r.Time, R: math.Inf(1)}
}

// Caused is one row that ended at Time by one of several causes, numbered from 1 up; Cause 0: it had not ended when looking
// ended at Time (right-censored). Otherwise as Timed.
type Caused struct {
	Time  float64
	Cause int
}

// timeFault gives the fault in row i's time, nil when there is none.
func timeFault(i int, t float64) error {
	if err := nonNegative(t); err != nil {
		return &dataerr.Cell{Row: i + 1, Column: "Time", Value: number(t), Err: err,
			Want: "give the time of the event or of the last look, finite and not negative"}
	}
	return nil
}

// checkTimed gives every fault in rows and weights as joined *dataerr.Cell (row = 1-based observation).
func checkTimed(rows []Timed, weights []float64) error {
	var bad []error
	for i := range rows {
		if err := timeFault(i, rows[i].Time); err != nil {
			bad = append(bad, err)
		}
	}
	return join(bad, checkWeights(len(rows), weights))
}

// checkCaused is checkTimed for rows with a cause.
func checkCaused(rows []Caused) error {
	var bad []error
	for i, r := range rows {
		if err := timeFault(i, r.Time); err != nil {
			bad = append(bad, err)
		}
		if r.Cause < 0 {
			bad = append(bad, &dataerr.Cell{Row: i + 1, Column: "Cause", Value: strconv.Itoa(r.Cause), Err: dataerr.ErrRange,
				Want: "number the causes from 1 up, and give 0 for a row that had not ended"})
		}
	}
	return join(bad, checkWeights(len(rows), nil))
}

// stamp is a row's place in time: the bits of a time >= 0 stand in the order of the times, and one more bit below them puts
// events before censorings.
type stamp struct {
	key uint64
	row uint32
}

func newStamp(t float64, event bool, row int) stamp {
	key := math.Float64bits(math.Abs(t)) << 1 // the sign, +0 and -0 alike, falls off
	if !event {
		key |= 1
	}
	return stamp{key, uint32(row)}
}

// time is the time of a stamp.
func (s stamp) time() float64 { return math.Float64frombits(s.key >> 1) }

// fewStamps is where sorting by digits begins to pay.
const fewStamps = 600

// sortStamps sorts by key, rows of one key in the order they had. Many stamps are sorted by digits of 11 bits from the last
// one up; a digit that is the same in all keys is passed over. The result may be another slice than the one given.
func sortStamps(s []stamp) []stamp {
	if len(s) < fewStamps {
		slices.SortStableFunc(s, func(a, b stamp) int { return cmp.Compare(a.key, b.key) })
		return s
	}
	const bits, digits = 11, 6
	var count [digits][1 << bits]uint32
	for i := range s {
		k := s[i].key
		for d := range digits {
			count[d][k>>(bits*d)&(1<<bits-1)]++
		}
	}
	other := make([]stamp, len(s))
	for d := range digits {
		c := &count[d]
		if c[s[0].key>>(bits*d)&(1<<bits-1)] == uint32(len(s)) {
			continue
		}
		at := uint32(0)
		for v := range c {
			at, c[v] = at+c[v], at
		}
		for i := range s {
			v := s[i].key >> (bits * d) & (1<<bits - 1)
			other[c[v]] = s[i]
			c[v]++
		}
		s, other = other, s
	}
	return s
}
