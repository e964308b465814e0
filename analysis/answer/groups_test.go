package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/panel"
	"lastsip/analysis/survival"
)

// inBatches makes an evening in which the tasters of each list share a batch.
func inBatches(lists ...[]string) Input {
	in := evening()
	for b, list := range lists {
		for _, w := range list {
			addTaster(in, w)
			in.Panel.Pours[len(in.Panel.Pours)-1].Batch = fmt.Sprint("shake ", b+1)
		}
	}
	return in
}

// fourBatches of three tasters each.
var fourBatches = [][]string{{"ynn", "yynn", "yyynn"}, {"yynn", "yyynn", "yyyynn"}, {"yyynn", "yyyynn", "yynn"}, {"yyyynn", "yyyyynn", "yyynn"}}

// Every batch has the half that its tasters alone would have given. From four batches on, all closed, further batches have
// Student's limits on the logs of the halves: by hand mean +- t sd / 2, t = qt(0.975, 3) = 3.182446.
func TestBatchesByHand(t *testing.T) {
	in := inBatches(fourBatches...)
	life := mustLife(t, in)
	g := life.Parts[0].Headline.Batches
	slices.SortFunc(g.Each, func(a, b Group) int { return strings.Compare(a.Name, b.Name) }) // they come in the order of their tasters
	require.Len(t, g.Each, 4)
	var logs []float64
	for i, x := range g.Each {
		require.Equal(t, []any{fmt.Sprint("shake ", i+1), 3, 1}, []any{x.Name, x.Tasters, x.Batches})
		fit, err := survival.ReplyModel{Slips: 0.02}.Fit(unitsOf(byTwo(8), false, fourBatches[i]...))
		require.NoError(t, err)
		e, err := fit.Quantile(nil, 0.5)
		require.NoError(t, err)
		require.Equal(t, Quantile{P: 0.5, From: Of(e.From), To: Of(e.To), Lower: Of(e.Lower), Upper: Of(e.Upper), Level: 0.95, Status: OK}, x.Half)
		logs = append(logs, math.Log(e.From))
	}
	require.Equal(t, []int{12, 15, 15, 18}, []int{g.Each[0].Tastes, g.Each[1].Tastes, g.Each[2].Tastes, g.Each[3].Tastes})
	mean := (logs[0] + logs[1] + logs[2] + logs[3]) / 4
	ss := 0.0
	for _, x := range logs {
		ss += (x - mean) * (x - mean)
	}
	half := 3.182446305284263 * math.Sqrt(ss/3) / 2
	require.NotNil(t, g.Half)
	require.Equal(t, g.Half.From, g.Half.To)
	require.InDeltaSlice(t, []float64{math.Exp(mean), math.Exp(mean - half), math.Exp(mean + half)}, []float64{g.Half.From.Float(), g.Half.Lower.Float(), g.Half.Upper.Float()}, 1e-9)
	require.Equal(t, []any{OK, 0.95, 0.5}, []any{g.Half.Status, g.Half.Level, g.Half.P})
	require.Empty(t, twice(life.Rows))
	seen := 0
	for _, r := range life.Rows {
		switch r.Variant {
		case "sip_through+batch shake 2":
			seen++
			require.Equal(t, []any{"q50", g.Each[1].Half.From, 3, 1, 15}, []any{r.Statistic, r.Value, r.Tasters, r.Batches, r.Tastes})
		case "sip_through+between_batch":
			seen++
			require.Equal(t, []any{"q50", g.Half.From, g.Half.Lower, g.Half.Upper, 12, 4, 60, "Student's limits on the logs of 4 halves"}, []any{r.Statistic, r.Value, r.Lower, r.Upper, r.Tasters, r.Batches, r.Tastes, r.Note})
		}
	}
	require.Equal(t, 2, seen)
	require.Empty(t, life.Parts[0].Headline.Evenings.Each, "one evening is no group")
}

// By hand on round numbers: logs 0, 2, 4, 6 have mean 3, sd 2.581989, half width 3.1824463 x 2.5819889 / 2 = 4.1085205.
func TestMeanOfLogs(t *testing.T) {
	at := func(x float64) Group {
		return Group{Half: Quantile{P: 0.5, From: Of(x), To: Of(x), Status: OK}}
	}
	each := []Group{at(1), at(math.Exp(2)), at(math.Exp(4)), at(math.Exp(6))}
	q := meanOfLogs(each)
	require.InDelta(t, 3, math.Log(q.From.Float()), 1e-9)
	require.InDelta(t, 3-4.1085205, math.Log(q.Lower.Float()), 1e-6)
	require.InDelta(t, 3+4.1085205, math.Log(q.Upper.Float()), 1e-6)
	for name, spoil := range map[string]func(*Quantile){
		"past the last age": func(q *Quantile) { q.Status = BeyondLastAge },
		"a range of ages":   func(q *Quantile) { q.To = Of(500) },
		"not enough":        func(q *Quantile) { q.Status = NotEnough },
		"not converged":     func(q *Quantile) { q.Status = NotConverged },
		"at 0":              func(q *Quantile) { q.From, q.To = Of(0), Of(0) },
		"no number":         func(q *Quantile) { q.From, q.To = Num{}, Num{} },
	} {
		x := append([]Group{}, each...)
		spoil(&x[2].Half)
		require.Nil(t, meanOfLogs(x), name)
	}
}

// Three batches are drawn, but give no limits; of four one that is open gives none; a batch for each taster, one batch for all, and
// batches that are not known for all are no groups.
func TestBatchesThatGiveNone(t *testing.T) {
	batches := func(in Input) Groups { return mustLife(t, in).Parts[0].Headline.Batches }
	g := batches(inBatches(fourBatches[:3]...))
	require.Len(t, g.Each, 3)
	require.Nil(t, g.Half)
	for status, list := range map[string][]string{
		BeyondLastAge: {"yyyy", "yyyyy", "yyyyyyy"},
		NotEnough:     {"yynn", "yynn", "yynn"}, // all in one cell: a range of ages
	} {
		g = batches(inBatches(fourBatches[0], fourBatches[1], fourBatches[2], list))
		require.Len(t, g.Each, 4)
		at := slices.IndexFunc(g.Each, func(x Group) bool { return x.Name == "shake 4" })
		require.Equal(t, status, g.Each[at].Half.Status)
		require.Nil(t, g.Half)
	}
	require.Empty(t, batches(inBatches(fourBatches[0])).Each)
	own := inBatches([]string{"ynn"}, []string{"yynn"}, []string{"yyynn"}, []string{"yyyynn"})
	require.Empty(t, batches(own).Each)
	unknown := inBatches(fourBatches...)
	unknown.Panel.Pours[5].Batch = ""
	require.Empty(t, batches(unknown).Each)
}

// Side by side a batch holds those replies of a taster that were about its glasses; one that was tasted fresh only says nothing.
func TestBatchesSideBySide(t *testing.T) {
	in := beside([]float64{0, 3, 7, 11, 15}, "yyynn", "yyynn", "yynyn", "yynnn", "yyyyn", "yyynn")
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Batch = []string{"fresh", "first", "second", "first", "second"}[i%5]
	}
	life := mustLife(t, in)
	g := life.Parts[0].Headline.Batches
	halves := map[string]Quantile{}
	for _, x := range g.Each {
		halves[x.Name] = x.Half
	}
	require.Contains(t, halves, "first")
	first := []float64{3, 11}
	fit, err := survival.ReplyModel{Slips: 0.02}.Fit(unitsOf(first, false, "yn", "yn", "yy", "yn", "yy", "yn"))
	require.NoError(t, err)
	e, err := fit.Quantile(nil, 0.5)
	require.NoError(t, err)
	require.InDelta(t, e.From, halves["first"].From.Float(), 1e-9)
	require.NotContains(t, halves, "fresh")
	for i := range in.Panel.Pours { // two batches, one of them tasted fresh only: nothing to set side by side
		if in.Panel.Pours[i].Batch != "fresh" {
			in.Panel.Pours[i].Batch = "first"
		}
	}
	require.Empty(t, mustLife(t, in).Parts[0].Headline.Batches.Each)
}

// Evenings likewise, under their own names, from five on with limits; batches of several evenings are named with theirs.
func TestEvenings(t *testing.T) {
	in := evening()
	in.Panel.Sessions = nil
	lists := append([][]string{{"yynn", "yyynn", "yyyyynn"}}, fourBatches...)
	for e, list := range lists {
		in.Panel.Sessions = append(in.Panel.Sessions, panel.Session{Name: fmt.Sprint("night ", e+1)})
		for k, w := range list {
			addTaster(in, w)
			last := len(in.Panel.Pours) - 1
			in.Panel.Pours[last].Session, in.Panel.Pours[last].Batch = fmt.Sprint("night ", e+1), fmt.Sprint("b", k/2)
			for i := range in.Panel.Tastes {
				if in.Panel.Tastes[i].Pour == last {
					in.Panel.Tastes[i].Session = fmt.Sprint("night ", e+1)
				}
			}
		}
	}
	life := mustLife(t, in)
	h := life.Parts[0].Headline
	require.Len(t, h.Evenings.Each, 5)
	require.Equal(t, []any{"night 1", 3, 2, 4 + 5 + 7}, []any{h.Evenings.Each[0].Name, h.Evenings.Each[0].Tasters, h.Evenings.Each[0].Batches, h.Evenings.Each[0].Tastes})
	require.NotNil(t, h.Evenings.Half)
	require.Equal(t, meanOfLogs(h.Evenings.Each), h.Evenings.Half)
	require.Len(t, h.Batches.Each, 10)
	require.Equal(t, "night 1, b0", h.Batches.Each[0].Name)
	require.Empty(t, twice(life.Rows))
	require.Contains(t, words(life.Sentences[0]), ", for these drinks and evenings)")
	// Four evenings are drawn without limits.
	four := in
	p := *in.Panel
	four.Panel = &p
	p.Tastes = nil
	for _, x := range in.Panel.Tastes {
		if x.Session != "night 5" {
			p.Tastes = append(p.Tastes, x)
		}
	}
	h = mustLife(t, four).Parts[0].Headline
	require.Len(t, h.Evenings.Each, 4)
	require.Nil(t, h.Evenings.Half)
	// Every taster an own batch: for these evenings.
	for i := range in.Panel.Pours {
		in.Panel.Pours[i].Batch = fmt.Sprint("own ", i)
	}
	life = mustLife(t, in)
	require.Contains(t, words(life.Sentences[0]), ", for these evenings)")
	require.Empty(t, life.Parts[0].Headline.Batches.Each)
	require.Len(t, life.Parts[0].Headline.Evenings.Each, 5)
}
