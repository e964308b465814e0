package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"

	"lastsip/analysis/internal/resample"
	"lastsip/analysis/mixed"
)

// recoveryMethods are held against each other; the first, the default of the answers, has max-t limits too.
var recoveryMethods = []mixed.DF{mixed.KenwardRoger, mixed.Satterthwaite, mixed.Normal}

var recoveryMethodNames = map[mixed.DF]string{mixed.KenwardRoger: "Kenward-Roger", mixed.Satterthwaite: "Satterthwaite", mixed.Normal: "normal"}

// noted is what one panel says about one family by one method.
type noted struct {
	errors []float64 // estimate less truth
	held   []bool    // by the limits of each contrast alone
	asked  bool      // max-t limits were computed
	joint  bool      // and hold all true values at once
	width  float64   // mean over contrasts of the limits alone
	wider  float64   // of the max-t limits
}

// panelNoted is what one panel says: by family, then method.
type panelNoted struct {
	singular, loose bool
	failed          error
	by              [][]noted
}

// ask fits a model to one invented panel and holds what it says against the truth.
func (w recoveryWorld) ask(rng *rand.Rand, model recoveryModel, joint bool) (out panelNoted) {
	data, err := w.draw(rng)
	if err != nil {
		return panelNoted{failed: err}
	}
	f, err := model.spec().Fit(data)
	if err != nil {
		return panelNoted{failed: err}
	}
	out.singular, out.loose = len(f.Singular()) > 0, !f.Converged()
	asked, err := families(f)
	if err != nil {
		return panelNoted{failed: err}
	}
	out.by = make([][]noted, len(asked))
	for m, df := range recoveryMethods {
		options := mixed.ContrastOptions{}
		if joint && m == 0 {
			options.Adjust = mixed.MaxT
		}
		d, err := f.Degrees(df)
		if err != nil {
			return panelNoted{failed: err}
		}
		for k, family := range asked {
			got, err := d.Contrasts(family.of, options)
			if err != nil {
				return panelNoted{failed: err}
			}
			out.by[k] = append(out.by[k], family.note(got.List))
		}
	}
	return out
}

func (f recoveryFamily) note(list []mixed.Comparison) noted {
	n := noted{joint: true, asked: list[0].Joint}
	for i, c := range list {
		n.errors = append(n.errors, c.Estimate-f.truth[i])
		n.held = append(n.held, c.Lower <= f.truth[i] && f.truth[i] <= c.Upper)
		n.joint = n.joint && c.JointLower <= f.truth[i] && f.truth[i] <= c.JointUpper
		n.width += (c.Upper - c.Lower) / float64(len(list))
		n.wider += (c.JointUpper - c.JointLower) / float64(len(list))
	}
	return n
}

// recoveryLine is a line of the table: a family of contrasts by one method. Shares are fractions of all panels; a panel that
// failed holds nothing.
type recoveryLine struct {
	model         string
	tasters       int
	family        string
	method        string
	bias, error   float64 // of the contrast whose bias is most Monte Carlo errors from 0, and that error
	covers, least float64 // mean and smallest over contrasts
	joint         float64 // NaN: not asked
	width, wider  float64 // means over panels
	singular      float64
	loose, failed float64
}

func (l recoveryLine) key() string {
	return fmt.Sprint(l.model, "|", l.tasters, "|", l.family, "|", l.method)
}

// run draws panels on all cores and adds them up in order, so that the cores do not show. The models of a cell see the same
// panels. The first of them, joint in number, have max-t limits too.
func (w recoveryWorld) run(seed uint64, panels, joint int, model recoveryModel) ([]recoveryLine, error) {
	all := make([]panelNoted, panels)
	resample.Each(panels, seed+uint64(w.tasters)<<32, 0, func(i int, rng *rand.Rand) { all[i] = w.ask(rng, model, i < joint) })
	var lines []recoveryLine
	var first *panelNoted
	for i := range all {
		if all[i].failed == nil {
			first = &all[i]
			break
		}
	}
	if first == nil {
		return nil, all[0].failed
	}
	for k, name := range familyNames {
		for m, df := range recoveryMethods {
			l := recoveryLine{model: model.name, tasters: w.tasters, family: name, method: recoveryMethodNames[df]}
			l.add(all, k, m, len(first.by[k][m].errors))
			lines = append(lines, l)
		}
	}
	return lines, nil
}

// add sums up family k by method m, of that many contrasts.
func (l *recoveryLine) add(all []panelNoted, k, m, contrasts int) {
	n := float64(len(all))
	fits, joint := 0.0, 0.0
	sum, squares, held := make([]float64, contrasts), make([]float64, contrasts), make([]float64, contrasts)
	for i := range all {
		p := &all[i]
		if p.failed != nil {
			l.failed += 1 / n
			continue
		}
		fits++
		l.singular += portion(p.singular, n)
		l.loose += portion(p.loose, n)
		got := &p.by[k][m]
		l.width += got.width
		if got.asked {
			joint++
			l.joint += portion(got.joint, 1)
			l.wider += got.wider
		}
		for j, e := range got.errors {
			sum[j] += e
			squares[j] += e * e
			held[j] += portion(got.held[j], n)
		}
	}
	l.width /= fits
	l.joint /= joint // 0 over 0, NaN, where not asked
	l.wider /= joint
	l.least = 1
	for j := range contrasts {
		mean := sum[j] / fits
		error := math.Sqrt((squares[j]/fits - mean*mean) / fits)
		if math.Abs(mean/error) > math.Abs(l.bias/l.error) || j == 0 {
			l.bias, l.error = mean, error
		}
		l.covers += held[j] / float64(contrasts)
		l.least = min(l.least, held[j])
	}
}

func portion(yes bool, n float64) float64 {
	if yes {
		return 1 / n
	}
	return 0
}

const recoveryHead = "| model | tasters | contrasts | limits | bias | its error | covers | least | max-t covers | width | max-t width | notes |\n" +
	"| --- | ---: | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |\n"

// String is the line as the table prints it; shares in %.
func (l recoveryLine) String() string {
	decimals := func(v float64, n int) string {
		if math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', n, 64)
	}
	percent := func(v float64) string { return decimals(100*v, 1) }
	points := func(v float64) string { return decimals(v, 4) }
	var notes []string
	for _, x := range []struct {
		name  string
		share float64
	}{{"singular", l.singular}, {"not converged", l.loose}, {"failed", l.failed}} {
		if x.share > 0 {
			notes = append(notes, x.name+" "+percent(x.share))
		}
	}
	return "| " + strings.Join([]string{l.model, strconv.Itoa(l.tasters), l.family, l.method, points(l.bias), points(l.error), percent(l.covers),
		percent(l.least), percent(l.joint), points(l.width), points(l.wider), strings.Join(notes, ", ")}, " | ") + " |\n"
}
