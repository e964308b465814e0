package answer

import (
	"cmp"
	"fmt"
	"slices"
)

// NewCompare sets the acts of several drinks side by side, the latest first; equal acts keep the order given. It tests
// nothing: whether two drinks differ is what NewDifferences answers.
func NewCompare(acts []*ServeBy) *Compare {
	out := &Compare{Head: Head{Question: "compare", Title: "the drinks", Status: OK, AxisEnd: 2}}
	out.Method = "The act of each drink, from its own tasters, set side by side; no difference is tested."
	out.Source = "our own convention"
	for _, a := range acts {
		out.Styles = append(out.Styles, CompareStyle{Act: a.Act, Basis: a.Basis, HandOverAfter: a.HandOverAfter, Ribbon: a.Ribbon})
		out.AxisEnd = max(out.AxisEnd, a.AxisEnd)
		out.Invented = out.Invented || a.Invented
		out.Counts.Tasters = max(out.Counts.Tasters, a.Counts.Tasters)
		out.Counts.RowsUsed += a.Counts.RowsUsed
		out.Counts.Pours += a.Counts.Pours
		out.Counts.Batches += a.Counts.Batches
	}
	slices.SortStableFunc(out.Styles, func(a, b CompareStyle) int { return -cmp.Compare(a.Act.Float(), b.Act.Float()) })
	switch n := len(out.Styles); {
	case n == 0:
		out.Status = NotAsked
		out.Sentences = []string{"No drink was tasted."}
	case n == 1:
		s := out.Styles[0]
		out.Sentences = []string{fmt.Sprintf("%s alone was tasted: good for %s.", upperFirst(s.Ribbon.Label), minutesUnit(s.Act.Float()))}
	default:
		first, last := out.Styles[0], out.Styles[n-1]
		out.Sentences = []string{
			fmt.Sprintf("%s is good for %s; %s must be drunk first, within %s.", upperFirst(first.Ribbon.Label), minutesUnit(first.Act.Float()), last.Ribbon.Label, minutesUnit(last.Act.Float())),
			"Each act comes from the scores and replies about its own drink; whether two drinks differ is another question, answered below.",
		}
		if first.Act == last.Act {
			out.Sentences[0] = fmt.Sprintf("All %d drinks are good for the same time here: %s.", n, minutesUnit(first.Act.Float()))
		}
	}
	return out
}
