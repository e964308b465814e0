package answer_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"

	"lastsip/analysis/answer"
	"lastsip/analysis/endpoint"
	"lastsip/analysis/internal/resample"
)

// Methods of a window.
const (
	windowModel = iota
	windowStepped
	windowPolynomial
	windowOwn
	windowDrawn
	windowMethods
)

var windowMethodNames = [windowMethods]string{"mixed model", "to the age steps", "polynomial", "tasters' own curves", "bootstrap"}

// drawnPanels is in how many panels of some cells the bootstrap is run, and drawnDraws with how many draws.
const drawnPanels, drawnDraws = 200, 199

// windowNoted is what one panel says by one method. An end before the first age is 0 or -Inf, past the last +Inf.
type windowNoted struct {
	done, failed, loose, singular bool
	never                         bool // the curve never reaches the limit: no limits
	bias                          float64
	from, to                      bool // the limits hold the truth
	openFrom, openTo              bool
	width                         float64 // of the end's limits; NaN where open
	shown, late                   bool    // at least until: said, and past the truth
}

// ask answers one invented panel.
func (c windowCell) ask(rng *rand.Rand, draws int) (out [windowMethods]windowNoted) {
	p, from, to := c.draw(rng)
	got, err := answer.RecoverWindow(answer.Input{Panel: p, Seed: rng.Uint64()}, endpoint.Drink{Style: "sour"}, draws)
	if err != nil {
		out[windowModel] = windowNoted{done: true, failed: true}
		return out
	}
	out[windowModel] = noteWindow(got.Main, from, to)
	if got.IsSteps {
		out[windowStepped] = noteWindow(got.Stepped, from, to)
		out[windowPolynomial] = noteWindow(got.Polynomial, from, to)
	}
	if got.HasOwn {
		out[windowOwn] = noteWindow(got.Own, from, to)
	}
	if got.HasDrawn {
		out[windowDrawn] = noteWindow(got.Drawn, from, to)
	}
	for m := range out {
		out[m].singular, out[m].loose = got.Singular && m != windowOwn, !got.Converged && m != windowOwn
	}
	return out
}

// noteWindow holds a window against the truth.
func noteWindow(w answer.Window, from, to float64) windowNoted {
	n := windowNoted{done: true, never: w.Status == answer.Never, width: math.NaN()}
	estimate := math.Inf(1)
	switch {
	case n.never:
		estimate = math.Inf(-1)
	case w.To.Finite():
		estimate = w.To.Float()
	}
	n.bias = estimate - to
	if until := w.AtLeastUntil; until.Finite() {
		n.shown = true
		n.late = until.Float() > to || until.Float() < from
	}
	if w.ToUpper.Empty() {
		return n
	}
	n.from = w.FromLower.Float() <= from && from <= w.FromUpper.Float()
	n.to = w.ToLower.Float() <= to && to <= w.ToUpper.Float()
	n.openFrom = w.FromLower.Float() == 0 || w.FromUpper.Open()
	n.openTo = w.ToLower.Float() == 0 || w.ToUpper.Open()
	if !n.openTo {
		n.width = w.ToUpper.Float() - w.ToLower.Float()
	}
	return n
}

// windowLine is a line of the table; shares are fractions of the panels that were asked. A panel that failed holds nothing.
type windowLine struct {
	group, name                   string
	tasters                       int
	method                        string
	bias, error                   float64 // median of estimate less truth, minutes, and its Monte Carlo error
	from, openFrom, to, openTo    float64
	width                         float64 // median of the closed
	held, unshown                 float64 // at least until: not past the truth, or nothing said; nothing said
	never, singular, loose, fails float64
}

func (l windowLine) key() string {
	return fmt.Sprint(l.group, "|", l.name, "|", l.tasters, "|", l.method)
}

// run draws the panels of a cell on all cores and adds them up in order, so that the cores do not show.
func (c windowCell) run(seed uint64, panels int) (lines []windowLine) {
	all := make([][windowMethods]windowNoted, panels)
	resample.Each(panels, c.stream(seed), 0, func(i int, rng *rand.Rand) {
		draws := 0
		if c.drawn() && i < drawnPanels {
			draws = drawnDraws
		}
		all[i] = c.ask(rng, draws)
	})
	for m, name := range windowMethodNames {
		l := windowLine{group: c.group, name: c.name, tasters: c.tasters, method: name}
		if l.add(all, m) {
			lines = append(lines, l)
		}
	}
	return lines
}

// drawn tells in which cells the bootstrap is run, as it takes long.
func (c windowCell) drawn() bool {
	return !c.three && c.step < 1 && len(c.ages) == len(eightAges) && (c.tasters == 5 || c.tasters == 12)
}

// add sums up one method; false where no panel was asked.
func (l *windowLine) add(all [][windowMethods]windowNoted, m int) bool {
	var asked []*windowNoted
	var biases, widths []float64
	for i := range all {
		if p := &all[i][m]; p.done {
			asked = append(asked, p)
		}
	}
	for _, p := range asked {
		if !p.failed && !math.IsNaN(p.bias) {
			biases = append(biases, p.bias)
		}
		if !p.failed && !math.IsNaN(p.width) {
			widths = append(widths, p.width)
		}
	}
	of := func(say func(p *windowNoted) bool) float64 {
		n := 0
		for _, p := range asked {
			if say(p) {
				n++
			}
		}
		return float64(n) / float64(len(asked))
	}
	if len(asked) == 0 {
		return false
	}
	l.bias, l.width, l.error = math.NaN(), math.NaN(), math.NaN()
	if k := len(biases); k > 0 {
		l.bias = middle(biases)
		half := math.Sqrt(float64(k)) / 2 // the ranks one binomial standard error either side of the middle
		l.error = (biases[min(k-1, int(math.Ceil(float64(k)/2+half)))] - biases[max(0, int(float64(k)/2-half))]) / 2
	}
	if len(widths) > 0 {
		l.width = middle(widths)
	}
	l.from, l.openFrom = of(func(p *windowNoted) bool { return p.from }), of(func(p *windowNoted) bool { return p.openFrom })
	l.to, l.openTo = of(func(p *windowNoted) bool { return p.to }), of(func(p *windowNoted) bool { return p.openTo })
	l.held, l.unshown = of(func(p *windowNoted) bool { return !p.failed && !p.late }), of(func(p *windowNoted) bool { return !p.shown })
	l.never, l.singular = of(func(p *windowNoted) bool { return p.never }), of(func(p *windowNoted) bool { return p.singular })
	l.loose, l.fails = of(func(p *windowNoted) bool { return p.loose }), of(func(p *windowNoted) bool { return p.failed })
	return true
}

const windowHead = "| world | tasters | method | from covers | open | to bias | its error | to covers | open | width | at least until holds | not shown | never | notes |\n" +
	"| --- | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |\n"

// String is the line as the table prints it; shares in %.
func (l windowLine) String() string {
	minutes := func(v float64) string {
		if math.IsNaN(v) {
			return ""
		}
		return strings.Replace(strconv.FormatFloat(v, 'f', 2, 64), "-0.00", "0.00", 1)
	}
	held, unshown := percent(l.held), percent(l.unshown)
	if l.method == windowMethodNames[windowDrawn] { // it has none
		held, unshown = "", ""
	}
	var notes []string
	for _, x := range []struct {
		name  string
		share float64
	}{{"singular", l.singular}, {"not converged", l.loose}, {"failed", l.fails}} {
		if x.share > 0 {
			notes = append(notes, x.name+" "+percent(x.share))
		}
	}
	return "| " + strings.Join([]string{l.name, strconv.Itoa(l.tasters), l.method, percent(l.from), percent(l.openFrom), minutes(l.bias), minutes(l.error),
		percent(l.to), percent(l.openTo), minutes(l.width), held, unshown, percent(l.never), strings.Join(notes, ", ")}, " | ") + " |\n"
}
