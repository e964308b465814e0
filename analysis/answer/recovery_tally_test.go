package answer_test

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
)

// recoveryLine is a line of the table: a cell by one method. Shares are fractions of all panels; NaN stands for an empty field.
type recoveryLine struct {
	group, name string
	tasters     int
	method      string
	half, tenth recovered
	late        float64 // panels whose act lies past the true one in ten
	fallback    float64
	failed      float64
	loose       float64
	level       float64
	crowd       float64 // tasters in the commonest interval, mean over panels
}

// recovered says how an estimate fared. Nothing is dropped: an estimate of 0 or +Inf counts among the estimates, an open limit
// covers and a panel without limits (an error) does not.
type recovered struct {
	asked  bool
	bias   float64 // median over panels of estimate/truth, less 1
	error  float64 // Monte Carlo error of bias
	covers float64
	width  float64 // median over panels, an open end counts as infinite; minutes
	open   float64 // either end, see reach
	none   float64 // estimate 0 or +Inf
}

// run draws the panels of a cell on all cores and adds them up in order, so that the cores do not show.
func (c recoveryCell) run(seed uint64, panels int) []recoveryLine {
	all := make([][methods]noted, panels)
	crowds := make([]float64, panels)
	eachPanel(panels, func(i int) { all[i], crowds[i] = c.draw(seed, i) })
	crowd := 0.0
	for _, x := range crowds {
		crowd += x / float64(panels)
	}
	half, tenth := c.study.TrueMedian(), c.study.TrueQuantile(0.1)
	var lines []recoveryLine
	for m, name := range methodNames {
		if !all[0][m].done {
			continue
		}
		l := recoveryLine{group: c.group, name: c.name, tasters: c.tasters, method: name, crowd: crowd}
		of := func(say func(noted) bool) float64 {
			n := 0
			for i := range all {
				if say(all[i][m]) {
					n++
				}
			}
			return float64(n) / float64(panels)
		}
		l.half = recover2(all, half, c.reach(), func(p *[methods]noted) bounds { return p[m].half })
		if c.tasters >= 8 {
			l.tenth = recover2(all, tenth, c.reach(), func(p *[methods]noted) bounds { return p[m].tenth })
		}
		l.late = of(func(p noted) bool { return p.act > tenth })
		l.fallback = of(func(p noted) bool { return p.fallback })
		l.failed = of(func(p noted) bool { return p.failed })
		l.loose = of(func(p noted) bool { return p.loose })
		l.level = of(func(p noted) bool { return p.level })
		lines = append(lines, l)
	}
	return lines
}

// eachPanel calls f for every panel on all cores.
func eachPanel(panels int, f func(i int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := int(next.Add(1)) - 1; i < panels; i = int(next.Add(1)) - 1 {
				f(i)
			}
		}()
	}
	wg.Wait()
}

// recover2 compares an estimate of all panels with the truth.
func recover2(all [][methods]noted, truth float64, far reach, of func(*[methods]noted) bounds) recovered {
	out := recovered{asked: true, bias: math.NaN(), error: math.NaN(), width: math.NaN()}
	n := float64(len(all))
	var estimates, widths []float64
	for i := range all {
		b := of(&all[i])
		if !b.have {
			continue
		}
		if b.lower <= truth && truth <= b.upper {
			out.covers += 1 / n
		}
		width := b.upper - b.lower
		if far.open(b) {
			out.open += 1 / n
			width = math.Inf(1)
		}
		widths = append(widths, width)
		if math.IsNaN(b.estimate) {
			continue
		}
		estimates = append(estimates, b.estimate)
		if b.estimate == 0 || math.IsInf(b.estimate, 1) {
			out.none += 1 / n
		}
	}
	if len(widths) > 0 {
		out.width = middle(widths)
	}
	if k := len(estimates); k > 0 {
		out.bias = middle(estimates)/truth - 1
		// the ranks one binomial standard error either side of the middle
		half := math.Sqrt(float64(k)) / 2
		lo, hi := max(0, int(float64(k)/2-half)), min(k-1, int(math.Ceil(float64(k)/2+half)))
		out.error = (estimates[hi] - estimates[lo]) / 2 / truth
	}
	return out
}

// middle sorts values and gives their median.
func middle(values []float64) float64 {
	slices.Sort(values)
	k := len(values)
	return (values[(k-1)/2] + values[k/2]) / 2
}

const recoveryHead = "| world | tasters | method | bias | covers | width | open | q10 bias | covers | width | open | act late | notes |\n" +
	"| --- | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |\n"

// String is the line as the table prints it; shares in %.
func (l recoveryLine) String() string {
	fields := []string{l.name, strconv.Itoa(l.tasters), l.method}
	fields = append(fields, l.half.fields()...)
	fields = append(fields, l.tenth.fields()...)
	fields = append(fields, percent(l.late), l.notes())
	return "| " + strings.Join(fields, " | ") + " |\n"
}

func (r recovered) fields() []string {
	if !r.asked {
		return []string{"", "", "", ""}
	}
	bias, width := "", ""
	switch {
	case math.IsInf(r.bias, 1):
		bias = "inf"
	case !math.IsNaN(r.bias):
		bias = signed(100 * r.bias)
	}
	switch {
	case math.IsInf(r.width, 1):
		width = "inf"
	case !math.IsNaN(r.width):
		width = strconv.FormatFloat(r.width, 'f', 1, 64)
	}
	return []string{bias, percent(r.covers), width, percent(r.open)}
}

// notes names what happened in at least one panel in two thousand.
func (l recoveryLine) notes() string {
	var out []string
	note := func(name string, share float64) {
		if share > 0 {
			out = append(out, name+" "+percent(share))
		}
	}
	note("fallback", l.fallback)
	note("flat", l.level)
	note("no estimate", l.half.none)
	note("not converged", l.loose)
	note("failed", l.failed)
	if l.method == methodNames[headline] && l.crowded() {
		note("one interval", l.crowd)
	}
	return strings.Join(out, ", ")
}

// crowded says that most tasters fall into one interval of ages.
func (l recoveryLine) crowded() bool { return l.crowd > 0.5 }

func percent(share float64) string { return strconv.FormatFloat(100*share, 'f', 1, 64) }

func signed(x float64) string {
	if s := fmt.Sprintf("%+.1f", x); s != "-0.0" && s != "+0.0" {
		return s
	}
	return "0.0"
}
