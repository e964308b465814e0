package panelcsv

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// Shares of a scale at which our own default limits lie (a convention of ours, no source).
const (
	primeShare  = 0.7
	rejectShare = 0.4
	middleShare = 0.6 // of the larger side, for attributes that are best in the middle
)

// mostlyNumbers is the share of filled cells from which a column that holds something else too is taken for scores with
// slips of the pen (errors) rather than for text.
const mostlyNumbers = 0.8

// attribute is a panel attribute with its column in tastes.csv.
type attribute struct {
	panel.Attribute
	column      int
	limitsGiven bool // Limit is the descriptor's word
	guessed     bool // the ends of the scale were read from the scores
	bestGuessed bool
}

// columnFacts is what a column of scores looks like.
type columnFacts struct {
	filled, numbers int
	whole           bool
	low, high       float64
	first           int // row of the first filled cell
}

func (t *table) facts(column int) columnFacts {
	f := columnFacts{whole: true, low: math.Inf(1), high: math.Inf(-1), first: -1}
	for i := range t.rows {
		cell := t.rows[i].cells[column]
		if cell == "" {
			continue
		}
		if f.first < 0 {
			f.first = i
		}
		f.filled++
		x, err, _ := number(cell)
		if err != nil {
			continue
		}
		f.numbers++
		f.whole = f.whole && x == math.Trunc(x)
		f.low, f.high = min(f.low, x), max(f.high, x)
	}
	return f
}

// scale reads the ends of a scale from its scores.
func (f columnFacts) scale() (low, high float64, known bool) {
	switch {
	case f.numbers == 0:
		return 0, 0, false
	case f.whole && f.low >= 1 && f.high <= 9:
		return 1, 9, true
	case f.low >= 0 && f.high <= 10:
		return 0, 10, true
	}
	return 0, 0, false
}

// resolveAttributes decides which columns of tastes.csv are scores, and on which scale.
func (r *reader) resolveAttributes() {
	if r.desc == nil {
		r.find(dataerr.Cell{File: r.shown(descriptorFile), Err: dataerr.ErrNoFile,
			Want: "our defaults are taken for scales, limits and rules; the settings list them"})
	}
	if r.desc != nil && r.desc.hasAttributes {
		r.describedAttributes()
	} else {
		r.guessedAttributes()
	}
	for i := range r.attr {
		r.limit(&r.attr[i])
	}
}

// describedAttributes takes the attributes of the descriptor; other columns are kept and not analysed.
func (r *reader) describedAttributes() {
	used := map[int]bool{}
	for _, spec := range r.desc.attributes {
		column := slices.IndexFunc(r.tastes.names, func(n string) bool { return n == spec.name })
		if column < 0 {
			r.noColumn(spec)
			continue
		}
		used[column] = true
		a := attribute{column: column}
		a.Name, a.Category, a.LowMeans, a.HighMeans = spec.name, spec.category, spec.lowMeans, spec.highMeans
		a.Better = direction(spec.better)
		r.described(&a, spec)
		r.attr = append(r.attr, a)
	}
	for _, column := range r.tastes.extra {
		if !used[column] {
			r.notAnalysed(column, "the descriptor does not name it among its attributes")
		}
	}
}

func direction(s *setting[string]) panel.Direction {
	switch {
	case s != nil && s.value == "low":
		return panel.BetterLow
	case s != nil && s.value == "middle":
		return panel.BetterMiddle
	}
	return panel.BetterHigh
}

// noColumn: an attribute that was not scored this evening is no fault; one whose column is only spelled otherwise is.
func (r *reader) noColumn(spec attributeSpec) {
	for _, n := range r.tastes.names {
		if strings.EqualFold(n, spec.name) {
			r.fault(dataerr.Cell{File: r.tastes.file, Row: r.tastes.header, Column: n, Value: n, Err: dataerr.ErrConflict,
				Want: fmt.Sprintf("%s, line %d calls this attribute %q; write both alike", r.desc.file, spec.line, spec.name)})
			return
		}
	}
	r.find(dataerr.Cell{File: r.tastes.file, Row: r.tastes.header, Column: spec.name, Err: dataerr.ErrNoColumn,
		Want: "the descriptor names this attribute; without scores it is left out"})
}

// described fills in what the descriptor says about an attribute, and what it leaves open.
func (r *reader) described(a *attribute, spec attributeSpec) {
	at := "tasting.attributes." + a.Name
	switch {
	case spec.bad:
		return
	case spec.low != nil && spec.high != nil:
		if !(spec.low.value < spec.high.value) {
			r.jsonFault(spec.low.line, at+".low", ftoa(spec.low.value), dataerr.ErrOrder, "the low end lies below the high end, which is "+ftoa(spec.high.value))
			return
		}
		a.Low, a.High, a.Ranged = spec.low.value, spec.high.value, true
	case spec.low != nil || spec.high != nil:
		r.jsonFault(spec.line, at, "", dataerr.ErrMissing, "give both ends of the scale, low and high")
		return
	default:
		r.guessScale(a)
	}
	if !a.Ranged {
		for _, s := range []*setting[float64]{spec.best, spec.limit} {
			if s != nil {
				r.jsonFault(s.line, at, ftoa(s.value), dataerr.ErrConflict, "a limit needs the ends of the scale, low and high")
			}
		}
		return
	}
	if a.Better == panel.BetterMiddle {
		a.Best = (a.Low + a.High) / 2
		a.bestGuessed = spec.best == nil
		if spec.best != nil {
			a.Best = spec.best.value
			r.onScale(a, spec.best, at+".best")
		}
	} else if spec.best != nil {
		r.jsonFault(spec.best.line, at+".best", ftoa(spec.best.value), dataerr.ErrConflict, "a best score belongs to \"better\": \"middle\"")
	}
	if spec.limit == nil {
		return
	}
	a.Limit, a.limitsGiven = spec.limit.value, true
	if a.Better != panel.BetterMiddle {
		r.onScale(a, spec.limit, at+".limit")
	} else if side := max(a.High-a.Best, a.Best-a.Low); !(a.Limit > 0 && a.Limit <= side) {
		r.jsonFault(spec.limit.line, at+".limit", ftoa(a.Limit), dataerr.ErrRange, "where the middle is better a limit is the largest distance from the best score: above 0, up to "+ftoa(side))
	}
}

func (r *reader) onScale(a *attribute, s *setting[float64], path string) {
	if !(s.value >= a.Low && s.value <= a.High) {
		r.jsonFault(s.line, path, ftoa(s.value), dataerr.ErrRange, fmt.Sprintf("the scale of %s runs from %s to %s", a.Name, ftoa(a.Low), ftoa(a.High)))
	}
}

// guessedAttributes takes every extra column that is numeric and at least half filled.
func (r *reader) guessedAttributes() {
	var taken []string
	for _, column := range r.tastes.extra {
		f := r.tastes.facts(column)
		name := r.tastes.names[column]
		switch {
		case f.filled == 0:
			r.notAnalysed(column, "it is empty")
		case slices.Contains(frameOnly, strings.ToLower(name)):
			r.notAnalysed(column, "the name is taken by a column of ours")
		case float64(f.numbers) < mostlyNumbers*float64(f.filled):
			r.notAnalysed(column, "it is not numbers")
		case 2*f.filled < len(r.tastes.rows):
			r.notAnalysed(column, "less than half of it is filled; name it in datapackage.json to have it analysed")
		default:
			a := attribute{column: column}
			a.Name = name
			r.guessScale(&a)
			r.attr = append(r.attr, a)
			taken = append(taken, name)
		}
	}
	if taken != nil {
		r.note("Taken as attributes, as they hold numbers and are at least half filled: %s.", strings.Join(taken, ", "))
	}
}

func (r *reader) notAnalysed(column int, why string) {
	r.find(dataerr.Cell{File: r.tastes.file, Row: r.tastes.header, Column: r.tastes.names[column], Err: ErrNotAnalysed, Want: why})
}

// guessScale reads an attribute's ends from its scores and says so.
func (r *reader) guessScale(a *attribute) {
	a.guessed = true
	f := r.tastes.facts(a.column)
	a.Low, a.High, a.Ranged = f.scale()
	c := dataerr.Cell{File: r.tastes.file, Row: r.tastes.header, Column: a.Name, Err: ErrAssumed}
	if a.Ranged {
		c.Value = fmt.Sprintf("scale from %s to %s", ftoa(a.Low), ftoa(a.High))
		c.Want = "give low and high in datapackage.json"
	} else {
		c.Value = "scale of unknown ends"
		c.Want = "there are no limits until datapackage.json gives low and high"
	}
	r.find(c)
}

// limit gives an attribute our default limit where it has none.
func (r *reader) limit(a *attribute) {
	if !a.Ranged || a.limitsGiven {
		return
	}
	if a.Better == panel.BetterMiddle {
		a.Limit = middleShare * max(a.High-a.Best, a.Best-a.Low)
		return
	}
	a.Limit = share(&a.Attribute, rejectShare)
}

// share gives the score at a share of the scale counted from its worse end.
func share(a *panel.Attribute, of float64) float64 {
	if a.Better == panel.BetterLow {
		return a.High - of*(a.High-a.Low)
	}
	return a.Low + of*(a.High-a.Low)
}

func ftoa(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
