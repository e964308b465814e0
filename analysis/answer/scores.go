package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// NewScores gathers every attribute's scores over age, the overall one first. Per age step it gives the mean and the
// quartiles over tasters (each taster's own mean at that step first): these show how far tasters lie apart, not how well
// the mean is known.
func NewScores(in Input, d endpoint.Drink) (*Scores, error) {
	out := &Scores{Head: in.head("score", d)}
	out.Method = "Raw scores at actual ages; per age step the mean of the tasters' means and the middle half of the tasters (type-7 quartiles)."
	out.Source = "Hyndman & Fan 1996, Am. Stat. 50, 361 (type-7 quantiles)"
	out.Settings = in.settings(d, "overall", "prime_limit", "reject_limit", "scale of", "limit of")
	rows := in.tastesOf(d)
	steps, of := panel.AgeSteps(rows)
	used := map[int]bool{}
	for k, a := range in.Panel.Attributes {
		s := ScoreSeries{Name: a.Name, Overall: a.Name == in.Panel.Settings.Overall, Ranged: a.Ranged, Low: a.Low, High: a.High,
			LowMeans: a.LowMeans, HighMeans: a.HighMeans, Better: a.Better.String()}
		if a.Ranged && a.Better != panel.BetterMiddle {
			s.Limit = Of(a.Limit)
		}
		if s.Overall && in.Panel.Settings.HasLimits && a.Better != panel.BetterMiddle {
			s.Prime, s.Limit = Of(in.Panel.Settings.PrimeLimit), Of(in.Panel.Settings.RejectLimit)
		}
		per := make([]map[string][]float64, len(steps))
		for i, t := range rows {
			if !t.Scores[k].Given {
				continue
			}
			used[i] = true
			v := t.Scores[k].Value
			s.Points = append(s.Points, ScorePoint{Taster: in.name(t.Taster), AgeMin: panel.Minutes(t.Age), Score: v})
			if per[of[i]] == nil {
				per[of[i]] = map[string][]float64{}
			}
			per[of[i]][t.Taster] = append(per[of[i]][t.Taster], v)
		}
		if len(s.Points) == 0 {
			continue
		}
		if !a.Ranged {
			s.Low, s.High = rangeOf(s.Points)
		}
		for i, m := range per {
			if len(m) > 0 {
				s.Steps = append(s.Steps, summarise(panel.Minutes(steps[i].Mean), m))
			}
		}
		out.Attributes = append(out.Attributes, s)
	}
	slices.SortStableFunc(out.Attributes, func(a, b ScoreSeries) int { return cmp.Compare(btoi(b.Overall), btoi(a.Overall)) })
	out.Counts.RowsUsed = len(used)
	if n := len(rows) - len(used); n > 0 {
		out.Counts.LeftOut = []LeftOut{{"no score", n}}
	}
	out.say()
	out.tabulate()
	return out, nil
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

func rangeOf(ps []ScorePoint) (lo, hi float64) {
	lo, hi = ps[0].Score, ps[0].Score
	for _, p := range ps {
		lo, hi = min(lo, p.Score), max(hi, p.Score)
	}
	return lo, hi
}

// summarise averages within tasters, then describes the tasters.
func summarise(age float64, byTaster map[string][]float64) ScoreStep {
	var means []float64
	for _, v := range byTaster {
		sum := 0.0
		for _, x := range v {
			sum += x
		}
		means = append(means, sum/float64(len(v)))
	}
	slices.Sort(means) // also makes the sum below independent of map order
	sum := 0.0
	for _, m := range means {
		sum += m
	}
	return ScoreStep{AgeMin: age, Tasters: len(means), Mean: sum / float64(len(means)), LowQuarter: type7(means, 0.25), HighQuarter: type7(means, 0.75),
		Least: means[0], Most: means[len(means)-1]}
}

// type7 is the sample quantile that interpolates between order statistics at (n-1)p; x is sorted.
func type7(x []float64, p float64) float64 {
	h := float64(len(x)-1) * p
	i := int(h)
	if i+1 == len(x) {
		return x[i]
	}
	return x[i] + (h-float64(i))*(x[i+1]-x[i])
}

func (a *Scores) say() {
	if len(a.Attributes) == 0 {
		a.Status = NotAsked
		a.Sentences = []string{"No attribute was scored."}
		return
	}
	var names []string
	for _, s := range a.Attributes {
		names = append(names, s.Name)
	}
	first := a.Attributes[0]
	if n := len(first.Steps); n > 1 {
		lo, hi := first.Steps[0], first.Steps[n-1]
		a.Sentences = append(a.Sentences, fmt.Sprintf("Mean %s went from %.1f at %s%smin (%s) to %.1f at %s%smin (%s).", first.Name,
			lo.Mean, Halves.Minutes(Of(lo.AgeMin)), nbsp, Count(lo.Tasters, "taster"), hi.Mean, Halves.Minutes(Of(hi.AgeMin)), nbsp, Count(hi.Tasters, "taster")))
		if hi.Tasters < lo.Tasters {
			a.Sentences = append(a.Sentences, "Tasters who had left it are missing from the later means, which flatters the drink.")
		}
	}
	a.Sentences = append(a.Sentences, "Scored: "+strings.Join(names, ", ")+". Each dot is one taster at the minute they tasted; the line joins the means, the band holds the middle half of the tasters.")
}

func (a *Scores) tabulate() {
	for _, s := range a.Attributes {
		for _, st := range s.Steps {
			for _, x := range []struct {
				name  string
				value float64
			}{{"mean", st.Mean}, {"low_quarter", st.LowQuarter}, {"high_quarter", st.HighQuarter}} {
				r := a.row(x.name, "raw", "", "points")
				r.Attribute, r.AgeMin, r.Value, r.Tasters = s.Name, Of(st.AgeMin), Of(x.value), st.Tasters
				a.Rows = append(a.Rows, r)
			}
		}
	}
}
