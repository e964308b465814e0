package report

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
)

// shareTable lists the share going on at each age step: the headline's with its limits and its share of yes replies, the one
// without a family with exact limits, and the counts; a bootstrap band of the latter where there is one.
func shareTable(a *answer.Lifetime) string {
	headline := slices.ContainsFunc(a.Parts, func(p answer.LifetimePart) bool { return p.Headline != nil && len(p.Headline.Shares) > 0 })
	band := slices.ContainsFunc(a.Parts, func(p answer.LifetimePart) bool { return len(p.Band) > 0 })
	head := []string{"how", "age, min", "would go on with it"}
	if headline {
		head = append(head, "limits", "of replies", "without a family")
	}
	head = append(head, "exact limits", "surely", "possibly", "of")
	if band {
		head = append(head, "whole tasters drawn again")
	}
	var rows [][]string
	for i := range a.Parts {
		p := &a.Parts[i]
		for _, at := range shareAges(p) {
			row := []string{mode(p.Mode), minutes(at)}
			if headline {
				row = append(row, modelShare(p, at)...)
			}
			row = append(row, exactShare(p, at)...)
			if band {
				row = append(row, bandShare(p, at))
			}
			rows = append(rows, row)
		}
	}
	return table(head, "l"+strings.Repeat("r", len(head)-1), rows)
}

// shareAges are the age steps of a part, in order.
func shareAges(p *answer.LifetimePart) []float64 {
	var ages []float64
	for _, s := range p.Shares {
		ages = append(ages, s.AgeMin)
	}
	if p.Headline != nil {
		for _, s := range p.Headline.Shares {
			ages = append(ages, s.AgeMin)
		}
	}
	slices.Sort(ages)
	return slices.CompactFunc(ages, sameAge)
}

// sameAge tells two names of one age step: both are means of the same ages.
func sameAge(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

func modelShare(p *answer.LifetimePart, at float64) []string {
	if p.Headline != nil {
		for _, s := range p.Headline.Shares {
			if sameAge(s.AgeMin, at) {
				return []string{share(s.Share), share(s.Lower) + " to " + share(s.Upper), share(s.OfReplies)}
			}
		}
	}
	return []string{"", "", ""}
}

func exactShare(p *answer.LifetimePart, at float64) []string {
	for _, s := range p.Shares {
		if !sameAge(s.AgeMin, at) {
			continue
		}
		est := share(s.EstLo)
		if s.EstLo != s.EstHi {
			est = share(s.EstLo) + " to " + share(s.EstHi)
		}
		return []string{est, share(s.Lower) + " to " + share(s.Upper), strconv.Itoa(s.Going), strconv.Itoa(s.Possible), strconv.Itoa(s.Units)}
	}
	return []string{"", "", "", "", ""}
}

func bandShare(p *answer.LifetimePart, at float64) string {
	for _, s := range p.Band {
		if sameAge(s.AgeMin, at) {
			return share(s.Lower) + " to " + share(s.Upper)
		}
	}
	return ""
}
