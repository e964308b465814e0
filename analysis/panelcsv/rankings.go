package panelcsv

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// rankRow is a row of rankings.csv on its way to a panel.Place.
type rankRow struct {
	panel.Place
	row int
}

// readRankings reads rankings.csv: the places of one taster and trial are one ranking, checked as a whole.
func (r *reader) readRankings(t *table) {
	if t == nil {
		return
	}
	type key struct{ session, taster, trial string }
	rankings := map[key][]rankRow{}
	spoilt := map[key]bool{}
	var order []key
	for _, i := range r.distinct(t, "taster") {
		p := rankRow{row: i, Place: panel.Place{Session: r.sessionOf(t, i), Taster: t.get(i, "taster"), Trial: t.get(i, "trial"),
			Origin: panel.Origin{File: t.file, Line: t.rows[i].line}}}
		if t.get(i, "rank") == "" {
			r.count(p.Session, "place without a rank", 1)
			continue
		}
		before := len(r.faults)
		r.needed(t, i, "every place has a taster", "taster")
		r.needed(t, i, "number the rankings of a taster, from 1", "trial")
		p.Rank, _ = r.numberAt(t, i, "rank", 1, 1000, "write the place, 1 for the best; ties share a place")
		p.Pour = r.glassAt(t, i, "pour", p.Session, p.Taster)
		age, given := r.numberAt(t, i, "age_min", 0, maxAgeMin, wantAge)
		p.Age, p.HasAge = panel.Age(age), given
		k := key{p.Session, p.Taster, p.Trial}
		if _, seen := rankings[k]; !seen {
			order = append(order, k)
		}
		spoilt[k] = spoilt[k] || len(r.faults) > before
		rankings[k] = append(rankings[k], p)
	}
	for _, k := range order {
		if !spoilt[k] {
			r.ranking(t, rankings[k])
		}
	}
}

// ranking checks one ranking, brings ties to the mean of their places and keeps it.
func (r *reader) ranking(t *table, places []rankRow) {
	before := len(r.faults)
	first := map[int]int{}
	for _, p := range places {
		if line, twice := first[p.Pour]; twice {
			r.at(t, p.row, "pour", dataerr.ErrConflict, fmt.Sprintf("line %d gives it another place in the same ranking; keep one of them", line))
		}
		first[p.Pour] = p.Origin.Line
	}
	if len(r.faults) > before {
		return
	}
	if len(places) == 1 {
		r.at(t, places[0].row, "trial", dataerr.ErrTooFew, "a ranking has two pours or more; nothing else stands under this taster and trial")
		return
	}
	slices.SortStableFunc(places, func(a, b rankRow) int { return cmp.Compare(a.Rank, b.Rank) })
	mid, known := midranks(places)
	if !known {
		var written []string
		for _, p := range places {
			written = append(written, ftoa(p.Rank))
		}
		r.at(t, places[len(places)-1].row, "rank", dataerr.ErrConflict, fmt.Sprintf("the places of this ranking are %s: %d pours have the places 1 to %d, ties share one; is a row missing?",
			strings.Join(written, ", "), len(places), len(places)))
		return
	}
	for i := range places {
		places[i].Rank = mid[i]
	}
	slices.SortStableFunc(places, func(a, b rankRow) int { return a.row - b.row })
	for _, p := range places {
		r.places = append(r.places, p.Place)
	}
}

// midranks gives tied places, sorted, the mean of the places that they fill. Ties may be written as that mean (1, 2.5,
// 2.5), as the first of the places (1, 2, 2, 4), as the last (1, 3, 3) or without gaps (1, 2, 2, 3); known is false for
// anything else.
func midranks(places []rankRow) (mid []float64, known bool) {
	mean, low, high, dense := true, true, true, true
	group := 0
	for i := 0; i < len(places); {
		j := i
		for j < len(places) && places[j].Rank == places[i].Rank {
			j++
		}
		group++
		m := float64(i+1+j) / 2
		mean = mean && places[i].Rank == m
		low = low && places[i].Rank == float64(i+1)
		high = high && places[i].Rank == float64(j)
		dense = dense && places[i].Rank == float64(group)
		for ; i < j; i++ {
			mid = append(mid, m)
		}
	}
	return mid, mean || low || high || dense
}
