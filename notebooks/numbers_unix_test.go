//go:build unix

package main

import (
	"cmp"
	"context"
	"html"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// stroke is one path of a drawing in px: its style and corners, y upward.
type stroke struct {
	style string
	at    [][2]float64
}

// drawn is a figure read back from the page, with its own ticks as the measure.
type drawn struct {
	strokes []stroke
	words   map[string][2]float64 // baseline of each text left of the data area, the first of its kind
	zero    float64               // px of minute 0
	scale   float64               // px per minute
}

var (
	svgOf     = regexp.MustCompile(`(?s)<svg[^>]*data-lastsip="figure"[^>]*width="720".*?</svg>`)
	pathOf    = regexp.MustCompile(`<path d="([^"]+)" style="([^"]+)"`)
	cornerOf  = regexp.MustCompile(`[ML](-?[\d.]+),(-?[\d.]+)`)
	textOf    = regexp.MustCompile(`<text x="(-?[\d.]+)" y="(-?[\d.]+)"[^>]*>([^<]*)</text>`)
	tagOf     = regexp.MustCompile(`<[^>]*>`)
	paraOf    = regexp.MustCompile(`(?s)<(p|h1|li)\b[^>]*>(.*?)</(?:p|h1|li)>`)
	minutesOf = regexp.MustCompile(`\d*½?(?:\.\d)?\s*min(?:utes?)?\b`)
)

func float(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// look reads the wide figure of a section; nil where there is none.
func look(t *testing.T, section string) *drawn {
	t.Helper()
	svg := svgOf.FindString(section)
	if svg == "" {
		return nil
	}
	p := &drawn{words: map[string][2]float64{}}
	var rules []float64
	for _, m := range pathOf.FindAllStringSubmatch(svg, -1) {
		s := stroke{style: m[2]}
		for _, c := range cornerOf.FindAllStringSubmatch(m[1], -1) {
			s.at = append(s.at, [2]float64{float(t, c[1]), float(t, c[2])})
		}
		p.strokes = append(p.strokes, s)
		if x := s.at[0][0]; strings.Contains(s.style, "#E3DED4") && (len(rules) == 0 || x > rules[len(rules)-1]) {
			rules = append(rules, x)
		}
	}
	var ticks []float64
	for _, m := range textOf.FindAllStringSubmatch(svg, -1) {
		word := html.UnescapeString(m[3])
		if x := float(t, m[1]); x < rules[0]-5 {
			if _, seen := p.words[word]; !seen {
				p.words[word] = [2]float64{x, -float(t, m[2])}
			}
		}
		if x, err := strconv.ParseFloat(word, 64); err == nil && len(ticks) < len(rules) {
			ticks = append(ticks, x)
		}
	}
	require.GreaterOrEqual(t, len(ticks), 3)
	last := len(ticks) - 1
	p.scale = (rules[last] - rules[0]) / (ticks[last] - ticks[0])
	p.zero = rules[0] - ticks[0]*p.scale
	return p
}

func (p *drawn) minutes(x float64) float64 { return (x - p.zero) / p.scale }

// with lists the strokes whose style holds all the words.
func (p *drawn) with(words ...string) []stroke {
	return slices.DeleteFunc(slices.Clone(p.strokes), func(s stroke) bool {
		return slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(s.style, w) })
	})
}

// printed tells whether a number in words is the rounding of a place in the figure: halves to the half minute, a decimal to
// the tenth; px are written with two decimals, hence the slack.
func printed(word string, at float64) bool {
	step, half := 0.5, strings.Contains(word, "½")
	x, _ := strconv.ParseFloat("0"+strings.TrimSuffix(word, "½"), 64)
	if half {
		x += 0.5
	}
	if strings.Contains(word, ".") {
		step = 0.1
	}
	return math.Abs(at-x) <= step/2+0.002
}

const number = `(\d*½|\d+\.\d|\d+)`

// TestNumbersStandWhereTheirFigureCrosses runs the project's notebooks on the demo sessions, reads the pages as a reader
// would, and looks up every number of minutes in the figure beside it. A number of minutes that no figure shows fails.
func TestNumbersStandWhereTheirFigureCrosses(t *testing.T) {
	needsKernel(t)
	r, said := testRunner(t, "")
	r.notebooks = filepath.Join(r.repo, "notebooks")
	require.NoError(t, r.run(context.Background()), said.String())
	pages, err := filepath.Glob(filepath.Join(r.out, "style-*.html"))
	require.NoError(t, err)
	require.Len(t, pages, 3)
	for _, page := range pages {
		t.Run(filepath.Base(page), func(t *testing.T) {
			b, err := os.ReadFile(page)
			require.NoError(t, err)
			sections := strings.Split(string(b), "<h2")
			require.GreaterOrEqual(t, len(sections), 9)
			numbersOfHead(t, sections[0])
			numbersOfWindow(t, sections[1])
			numbersOfLifetime(t, sections[2])
			numbersOfRejections(t, sections[3])
			numbersOfScores(t, sections[4])
			numbersOfAges(t, sections[5])
			numbersOfGoesFirst(t, sections[6])
			for _, s := range sections[1:7] {
				requireAct(t, sections[0], look(t, s))
			}
		})
	}
}

// prose is the text of a section's paragraphs, its numbers crossed out as they are found in the figure.
type prose struct {
	t    *testing.T
	text string
}

func proseOf(t *testing.T, section string) *prose {
	var lines []string
	for _, m := range paraOf.FindAllStringSubmatch(section, -1) {
		lines = append(lines, html.UnescapeString(tagOf.ReplaceAllString(m[2], "")))
	}
	return &prose{t, strings.ReplaceAll(strings.Join(lines, "\n"), "\u00a0", " ")}
}

// find crosses out the first match and gives its groups; nil where the page does not say so.
func (p *prose) find(pattern string) []string {
	at := regexp.MustCompile(pattern).FindStringSubmatchIndex(p.text)
	if at == nil {
		return nil
	}
	var groups []string
	for i := 2; i < len(at); i += 2 {
		groups = append(groups, p.text[at[i]:at[i+1]])
	}
	p.text = p.text[:at[0]] + "#" + p.text[at[1]:]
	return groups
}

func (p *prose) nothingLeft() {
	p.t.Helper()
	for _, m := range minutesOf.FindAllString(p.text, -1) {
		require.NotRegexp(p.t, `[\d½]`, m, "the page says %q and no figure shows it:\n%s", m, p.text)
	}
}

func requireAct(t *testing.T, head string, p *drawn) {
	t.Helper()
	act := proseOf(t, head).find(`Good for ` + number + ` minutes?`)
	require.NotNil(t, act, "the page opens with the act")
	require.NotNil(t, p, "the section has a figure")
	lines := p.with("stroke-dasharray:5,3")
	require.NotEmpty(t, lines, "the act's line goes through every figure")
	for _, l := range lines {
		require.InDelta(t, float(t, strings.Replace(strings.Replace(act[0], "½", ".5", 1), "..", ".", 1)), p.minutes(l.at[0][0]), 0.01)
	}
}

func numbersOfHead(t *testing.T, section string) {
	fig := look(t, section)
	requireAct(t, section, fig)
	p := proseOf(t, section)
	act := p.find(`Good for ` + number + ` minutes?`)
	if m := p.find(`At ` + number + ` minutes? all \d+ tasters would still`); m != nil {
		require.Equal(t, act[0], m[0], "the same act")
	}
	whiskers := fig.whiskers()
	require.Len(t, whiskers, 2, "one in ten above half on the rail")
	tenth := whiskers[0]
	solid := fig.with("fill:#0072B2")
	require.NotEmpty(t, solid, "the ages at which it is surely at its best")
	least := p.find(`at least until ` + number + ` min`)
	require.NotNil(t, least, "what the act rests on:\n%s", p.text)
	fig.requireFloored(t, least[0], solid[0])
	m := p.find(`at about ` + number + ` min \(95 % limits ` + number + ` to ` + number + ` min`)
	require.NotNil(t, m, "the other age of the act:\n%s", p.text)
	fig.requireLimits(t, tenth, m[1], m[2])
	rings := fig.with("#D55E00", "stroke-width:1.8")
	require.Len(t, rings, 1, "the ring of one in ten")
	require.True(t, printed(m[0], fig.minutes(rings[0].at[0][0]-4)), "the ring stands at %.3f, the page says %s", fig.minutes(rings[0].at[0][0]-4), m[0])
	if m := p.find(`serve it within ` + number + ` minutes?`); m != nil {
		lower := fig.minutes(tenth.at[0][0])
		require.InDelta(t, math.Floor(2*lower+0.005)/2, halves(m[0]), 1e-9, "the lower limit %.3f rounded down", lower)
	}
	p.find(`rounded down to half a minute`)
	p.nothingLeft()
}

// requireFloored compares an age that is promised, rounded down to a tenth, with the right end of a bar.
func (p *drawn) requireFloored(t *testing.T, word string, bar stroke) {
	t.Helper()
	end := 0.0
	for _, c := range bar.at {
		end = max(end, p.minutes(c[0]))
	}
	require.InDelta(t, math.Floor(10*(end+0.002))/10, float(t, word), 0.0101, "the bar ends at %.3f", end)
}

// numbersOfWindow looks up the ends of the prime window: on the rail, and where the average taster's curve crosses the limit
// and a point to either side of it.
func numbersOfWindow(t *testing.T, section string) {
	fig := look(t, section)
	p := proseOf(t, section)
	m := p.find(`score it ([\d.]+) or better until ` + number + ` min \((?:95 % limits )?` + number + ` to ` + number + `(?: min)?\)`)
	require.NotNil(t, m, "the end of the window:\n%s", p.text)
	rail := slices.DeleteFunc(fig.with("#0072B2", "stroke-width:1.6"), func(s stroke) bool { return s.at[0][1] != s.at[len(s.at)-1][1] })
	require.Len(t, rail, 1, "the limits of the end")
	fig.requireLimits(t, rail[0], m[2], m[3])
	require.True(t, printed(m[1], fig.scoreAt(t, float(t, m[0]))), "the curve crosses %s at %.3f, the page says %s", m[0], fig.scoreAt(t, float(t, m[0])), m[1])
	least := p.find(`[Aa]t least until ` + number + ` min`)
	require.NotNil(t, least, "at least until:\n%s", p.text)
	bars := slices.DeleteFunc(fig.with("fill:#0072B2"), func(s stroke) bool { return len(s.at) < 4 || strings.Contains(s.style, "opacity") })
	require.Len(t, bars, 1, "the bar of at least until")
	fig.requireFloored(t, least[0], bars[0])
	for {
		m := p.find(`(?i)with the limit at ([\d.]+) it ends at ` + number + ` min`)
		if m == nil {
			break
		}
		require.True(t, printed(m[1], fig.scoreAt(t, float(t, m[0]))), "with the limit at %s the curve crosses at %.3f, the page says %s", m[0], fig.scoreAt(t, float(t, m[0])), m[1])
	}
	p.nothingLeft()
}

// numbersOfAges looks up every age that the text names: a blue mark stands there.
func numbersOfAges(t *testing.T, section string) {
	fig := look(t, section)
	require.NotNil(t, fig)
	p := proseOf(t, section)
	var at []float64
	for _, s := range fig.with("fill:#0072B2") {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, c := range s.at {
			lo, hi = min(lo, c[0]), max(hi, c[0])
		}
		if strings.Contains(s.style, "opacity") {
			continue
		}
		if len(s.at) == 1 { // a circle begins at its right end, 4.5 px from its middle
			lo, hi = lo-4.5, hi-4.5
		}
		at = append(at, fig.minutes((lo+hi)/2))
	}
	found := 0
	for m := p.find(number + ` min\b`); m != nil; m = p.find(number + ` min\b`) {
		found++
		require.True(t, slices.ContainsFunc(at, func(x float64) bool { return math.Abs(x-float(t, m[0])) < 0.055 }), "the page names %s min, marks stand at %.3f", m[0], at)
	}
	require.NotZero(t, found, "the section names an age")
	p.nothingLeft()
}

// scoreAt gives the last age at which the average taster's curve crosses a score.
func (p *drawn) scoreAt(t *testing.T, score float64) float64 {
	t.Helper()
	zero, ten := p.words["0"], p.words["10"]
	require.NotZero(t, ten[1]-zero[1], "the scale's ends are named")
	y := zero[1] + 4 + score/10*(ten[1]-zero[1])
	var curve stroke
	for _, s := range p.with("stroke:#0072B2", "stroke-width:2.2") {
		if len(s.at) > len(curve.at) {
			curve = s
		}
	}
	for i := len(curve.at) - 1; i > 0; i-- {
		a, b := curve.at[i-1], curve.at[i]
		if (a[1]-y)*(b[1]-y) <= 0 && a[1] != b[1] {
			return p.minutes(a[0] + (b[0]-a[0])*(y-a[1])/(b[1]-a[1]))
		}
	}
	require.Fail(t, "the curve does not cross", "%g", score)
	return 0
}

// halves reads "3½".
func halves(word string) float64 {
	x, _ := strconv.ParseFloat("0"+strings.TrimSuffix(word, "½"), 64)
	if strings.Contains(word, "½") {
		x += 0.5
	}
	return x
}

// whiskers are the limits of one in ten and of half, the upper one first.
func (p *drawn) whiskers() []stroke {
	out := slices.DeleteFunc(p.with("#D55E00", "stroke-width:1.6"), func(s stroke) bool { return s.at[0][1] != s.at[len(s.at)-1][1] })
	slices.SortFunc(out, func(a, b stroke) int { return cmp.Compare(b.at[0][1], a.at[0][1]) })
	return out
}

// requireLimits compares printed limits with a whisker's ends.
func (p *drawn) requireLimits(t *testing.T, whisker stroke, lower, upper string) {
	t.Helper()
	from, to := p.minutes(whisker.at[0][0]), p.minutes(whisker.at[len(whisker.at)-1][0])
	require.True(t, printed(lower, from), "lower limit %s, whisker begins at %.3f", lower, from)
	require.True(t, printed(upper, to), "upper limit %s, whisker ends at %.3f", upper, to)
}

// curveAt gives the age at which the assumed curve crosses a height.
func (p *drawn) curveAt(t *testing.T, y float64) float64 {
	t.Helper()
	curve := p.with("#D55E00", "stroke-width:2.2")
	require.Len(t, curve, 1, "one curve")
	at := curve[0].at
	for i := 1; i < len(at); i++ {
		if (at[i-1][1]-y)*(at[i][1]-y) <= 0 && at[i-1][1] != at[i][1] {
			return p.minutes(at[i-1][0] + (at[i][0]-at[i-1][0])*(y-at[i-1][1])/(at[i][1]-at[i-1][1]))
		}
	}
	require.Fail(t, "the curve does not cross", "%g", y)
	return 0
}

// requireBracket compares the range of other choices with the bracket at a height.
func (p *drawn) requireBracket(t *testing.T, text *prose, what string, y float64) {
	t.Helper()
	brackets := slices.DeleteFunc(p.with("stroke:#1F2328"), func(s stroke) bool {
		return strings.Contains(s.style, "opacity") || strings.Contains(s.style, "dash") || s.at[0][1] != s.at[len(s.at)-1][1] || math.Abs(s.at[0][1]-y) > 1
	})
	require.Len(t, brackets, 1, "the bracket of other choices of %s", what)
	from, to := p.minutes(brackets[0].at[0][0]), p.minutes(brackets[0].at[1][0])
	m := text.find(what + ` between ` + number + ` and ` + number + ` min`)
	if m == nil {
		if m = text.find(what + ` at about ` + number + ` min`); m != nil {
			m = append(m, m[0])
		}
	}
	require.NotNil(t, m, text.text)
	require.True(t, printed(m[0], from) && printed(m[1], to), "%s from %.3f to %.3f, not %s to %s", what, from, to, m[0], m[1])
}

func numbersOfLifetime(t *testing.T, section string) {
	p, fig := proseOf(t, section), look(t, section)
	// Words stand four px under the middle of what they name.
	half, tenth := fig.words["half"][1]+4, fig.words["nine in ten"][1]+4
	whiskers := fig.whiskers()
	require.Len(t, whiskers, 2, "limits of one in ten and of half")
	for i, level := range []struct {
		name string
		y    float64
	}{{"One in ten would leave the rest", tenth}, {"Half of drinkers like these would leave the rest", half}} {
		m := p.find(level.name + ` at about ` + number + ` min \(95 % limits ` + number + ` to ` + number + ` min`)
		require.NotNil(t, m, "%s:\n%s", level.name, p.text)
		require.InDelta(t, level.y, whiskers[i].at[0][1], 1)
		fig.requireLimits(t, whiskers[i], m[1], m[2])
		at := fig.curveAt(t, level.y)
		require.True(t, printed(m[0], at), "the curve crosses at %.3f, the page says %s", at, m[0])
	}

	// Without a curve: where its steps cross the half, which is a box of what the data leave open, or a drop of the line.
	from, to := fig.crossing(half)
	if m := p.find(`the half lies at about ` + number + ` min`); m != nil {
		require.True(t, printed(m[0], from) && printed(m[0], to), "the steps cross between %.3f and %.3f, not at %s", from, to, m[0])
	} else {
		m = p.find(`the half lies between ` + number + ` and ` + number + ` min`)
		require.NotNil(t, m, p.text)
		require.True(t, printed(m[0], from) && printed(m[1], to), "the steps cross between %.3f and %.3f, not between %s and %s", from, to, m[0], m[1])
	}

	fig.requireBracket(t, p, `the half lies`, half-14)
	fig.requireBracket(t, p, `, the one in ten`, tenth-9)

	top, bottom := fig.words["all"][1]+4, fig.words["none"][1]+4
	bars := slices.DeleteFunc(fig.with("#D55E00", "stroke-width:1.1"), func(s stroke) bool { return s.at[0][0] != s.at[1][0] })
	at := func(word string, edge float64) bool {
		return slices.ContainsFunc(bars, func(s stroke) bool {
			return printed(word, fig.minutes(s.at[0][0])) && (math.Abs(s.at[0][1]-edge) < 0.1 || math.Abs(s.at[1][1]-edge) < 0.1)
		})
	}
	if m := p.find(`would go on with it at ` + number + ` min`); m != nil {
		require.True(t, at(m[0], top), "all would go on at %s: no bar there reaches the top", m[0])
	}
	if m := p.find(`none at ` + number + ` min`); m != nil {
		require.True(t, at(m[0], bottom), "none would at %s: no bar there reaches the bottom", m[0])
	}
	p.nothingLeft()
}

// crossing gives the ages between which the curve crosses a height: the dashed box that holds it.
func (p *drawn) crossing(y float64) (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, s := range p.with("stroke-dasharray:2,2") {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, c := range s.at {
			lo, hi = min(lo, c[1]), max(hi, c[1])
		}
		if lo-0.1 > y || hi+0.1 < y {
			continue
		}
		for _, c := range s.at {
			from, to = min(from, p.minutes(c[0])), max(to, p.minutes(c[0]))
		}
	}
	return from, to
}

func numbersOfRejections(t *testing.T, section string) {
	p, fig := proseOf(t, section), look(t, section)
	m := p.find(`(\d+) replies, of which (\d+) say`)
	require.NotNil(t, m)
	replies, no := 0, 0
	for _, s := range regexp.MustCompile(`<path d="([^"]+)" style="([^"]+)"`).FindAllStringSubmatch(svgOf.FindString(section), -1) {
		n := strings.Count(s[1], "M")
		switch {
		case !strings.Contains(s[1], "A"):
		case strings.Contains(s[2], "fill:#D55E00"):
			no, replies = no+n, replies+n
		case strings.Contains(s[2], "stroke:#1F2328"):
			replies += n
		}
	}
	// The legend shows one mark of each kind.
	require.Equal(t, m, []string{strconv.Itoa(replies - 2), strconv.Itoa(no - 1)}, "marks drawn")
	require.NotNil(t, fig)
	p.nothingLeft()
}

func numbersOfScores(t *testing.T, section string) {
	p, fig := proseOf(t, section), look(t, section)
	m := p.find(`went from ([\d.]+) at ` + number + ` min \(\d+ tasters?\) to ([\d.]+) at ` + number + ` min`)
	require.NotNil(t, m)
	line := fig.with("stroke:#0072B2", "stroke-width:2.2")
	require.NotEmpty(t, line, "the mean's line")
	zero, ten := fig.axis(t)
	score := func(y float64) float64 { return (y - zero) / (ten - zero) * 10 }
	first, last := line[0].at[0], line[0].at[len(line[0].at)-1]
	require.InDelta(t, float(t, m[0]), score(first[1]), 0.051)
	require.True(t, printed(m[1], fig.minutes(first[0])))
	require.InDelta(t, float(t, m[2]), score(last[1]), 0.051)
	require.True(t, printed(m[3], fig.minutes(last[0])))
	p.nothingLeft()
}

// numbersOfGoesFirst looks up the age that the first sentence names: an ink stroke under the first band, where the solid bar is
// as high as the share that failed first alone; and the last age, where the last whisker stands.
func numbersOfGoesFirst(t *testing.T, section string) {
	p, fig := proseOf(t, section), look(t, section)
	require.NotNil(t, fig)
	m := p.find(`by ` + number + ` min it had failed before anything else for (\d+) of (\d+) tasters`)
	require.NotNil(t, m)
	settled := slices.DeleteFunc(fig.with("stroke:#1F2328"), func(s stroke) bool { return !strings.HasSuffix(s.style, "stroke-width:2") })
	require.NotEmpty(t, settled, "the age is marked")
	age := settled[0].at[0][0]
	require.True(t, printed(m[0], fig.minutes(age)), "the mark stands at %.3f, not at %s", fig.minutes(age), m[0])

	none, all := fig.words["none"][1]+4, fig.words["all"][1]+4
	bars := slices.DeleteFunc(fig.with("fill:#5D636B"), func(s stroke) bool { // the topmost band's bar at that age
		return len(s.at) < 4 || math.Abs((s.at[0][0]+s.at[1][0])/2-age) > 0.02 || math.Abs(s.at[0][1]-none) > 0.02
	})
	require.Len(t, bars, 1, "one bar at the age named")
	require.InDelta(t, float(t, m[1])/float(t, m[2]), (bars[0].at[2][1]-none)/(all-none), 1e-3, "the bar is as high as the share")

	last := 0.0
	for _, s := range fig.with("stroke:#1F2328", "stroke-width:1.2") {
		last = max(last, fig.minutes((s.at[0][0]+s.at[len(s.at)-1][0])/2))
	}
	for _, pattern := range []string{`has failed by ` + number + ` min for`, `came before ` + number + ` min`} {
		if m := p.find(pattern); m != nil {
			require.True(t, printed(m[0], last), "the last whisker stands at %.3f, not at %s", last, m[0])
		}
	}
	p.nothingLeft()
}

// axis gives the heights of 0 and 10 of the first panel: numbers left of the data area, four px under what they name.
func (p *drawn) axis(t *testing.T) (zero, ten float64) {
	t.Helper()
	ten = p.words["10"][1] + 4
	rules := p.with("#E3DED4")
	require.NotEmpty(t, rules)
	return min(rules[0].at[0][1], rules[0].at[1][1]), ten
}
