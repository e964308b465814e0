package answer

import (
	"fmt"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// warn adds the warnings that the design asks for.
func (a *Lifetime) warn(in Input) {
	for _, p := range a.Parts {
		where := modeWords(p.Mode) + ": "
		if n := len(p.UnclearBy); n > 0 && 5*n >= p.Replying && p.Mode == panel.SipThrough.String() {
			a.Warnings = append(a.Warnings, fmt.Sprintf("%sthe replies of %d of %s went back and forth; the half may depend on how these are read.", where, n, Count(p.Replying, "taster")))
		}
		if n := len(p.EarlyBy); n > 0 && 5*n >= p.Replying {
			advice := "if the drink is known to improve first, say improves_first in the descriptor before tasting"
			if in.Panel.Settings.ImprovesFirst {
				advice = "as was said beforehand, those noes are left out; from when on it is good is not answered here"
			}
			a.Warnings = append(a.Warnings, fmt.Sprintf("%s%d of %s began with a no and accepted later; %s.", where, n, Count(p.Replying, "taster"), advice))
		}
		if p.readingsDiffer() {
			a.Warnings = append(a.Warnings, fmt.Sprintf("%sthe median moves by more than 10%s%% between the first no and the last yes.", where, nbsp))
		}
		if p.AgeIsBatch {
			a.Warnings = append(a.Warnings, where+"all glasses of one age came from one batch, so an age cannot be told from its shake; make two batches of every age.")
		}
		if p.Status == NotConverged {
			a.Warnings = append(a.Warnings, where+"an estimate did not converge: the figures are not to be relied on.")
		}
	}
	if a.Basis == string(endpoint.ByScore) {
		a.Warnings = append(a.Warnings, fmt.Sprintf("No verdicts: a score of %s past the reject limit of %s stands in for a rejection.", in.Panel.Settings.Overall, points(in.Panel.Settings.RejectLimit)))
	}
}

// readingsDiffer tells whether the medians by first no and last yes (mid-points where they are ranges) lie more than a tenth
// apart, or only one of them is open.
func (p *LifetimePart) readingsDiffer() bool {
	var first, last Quantile
	for _, r := range p.Readings {
		switch endpoint.Reading(r.Name) {
		case endpoint.FirstNo:
			first = r.Median
		case endpoint.LastYes:
			last = r.Median
		}
	}
	switch {
	case len(p.Readings) == 0 || first.To.Open() && last.To.Open():
		return false
	case first.To.Open() != last.To.Open():
		return true
	}
	return last.From.Float()+last.To.Float() > 1.1*(first.From.Float()+first.To.Float())
}
