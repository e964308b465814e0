package page

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/golden"
	"lastsip/notebooks/internal/nbformat"
)

// everything is a page with one of each thing; its numbers are invented.
func everything(t testing.TB) string {
	fig := func(name string) nbformat.Output {
		return display(mimeSVG, drawing(t, name+".wide.svg"), mimeNarrow, drawing(t, name+".narrow.svg"), "image/png", onePixel, "text/plain", "words")
	}
	parameters := codeCell(`const style = "sour" // which drink`)
	parameters.Tags = []string{"parameters"}
	return render(t, Options{},
		markdownCell("Sour, served up, 120 mL · one glass tasted again and again · evening of 4 March 2031 · 12 tasters, 6 shakes"),
		parameters,
		codeCell("import (\n\t\"lastsip/analysis\"\n\t\"lastsip/notebooks/show\"\n)\n%%\n// what the run was given, else the demo\nstudy := analysis.MustOpen(show.Sessions()...)\nact := study.MustServeBy(style)\nshow.Headline(act)\nshow.Figure(act)\n",
			display("text/markdown", "# Good for 3½ minutes from the making, the walk to the table included.\n\nInvented data: a demonstration.\n\nThat is the last age, rounded down to half a minute, at which every one of the 12 tasters would go on with it (the first doubt: taster C).", "text/plain", "Good for 3½ minutes"),
			fig("ribbon_usual")),
		markdownCell("## Who would go on with it"),
		codeCell("%%\nshow.Say(life)\nshow.Figure(life)\nshow.Table(life)",
			display("text/markdown", "**Half of drinkers like these would leave the rest at some age between 6 and 8 min (95 % limits 6 to 12 min).** See [the method](https://example.org/method)."),
			fig("lifetime_usual"),
			display("text/markdown", "| age, min | going on | of | 95 % from | to | read as | method | from which evening |\n|-:|-:|-:|-:|-:|:-|:-|:-|\n| 2 | 12 | 12 | 0.74 | 1 | either side | Turnbull, without a family | weeknight |\n| 6 | 9 to 10 | 12 | 0.52 | 0.98 | either side | Turnbull, without a family | weeknight |")),
		markdownCell("## Every reply"),
		codeCell("show.Figure(replies)", fig("rejections_usual")),
		markdownCell("## How it tastes"),
		codeCell("show.Figure(scores)", fig("scores_one"), nbformat.Output{Type: "stream", Name: "stdout", Text: "printed by the cell\n\tin two lines\n"}),
		markdownCell("## What this panel cannot say\n\n> One glass tasted again and again: a taster who repeats their own last no makes this about a tenth early.\n\n### Next evening\n\n- Taste most between 2 and 6 minutes.\n- Or stop.\n\nThis is about taste, not food safety: local codes come first."),
		codeCell("%%\nlog.Fatal(`it broke`)", nbformat.Output{Type: "error", EName: "exit status 1", EValue: "cell 7, line 2", Traceback: []string{"it broke"}}),
	)
}

func TestGoldenPage(t *testing.T) {
	p := everything(t)
	require.Equal(t, p, everything(t), "same notebook, same bytes")
	golden.Check(t, "../../../testdata/page/everything.html", []byte(p))
	index, err := Index([]Entry{
		{"Sour, coupe", "style-sour.html", "Good for 3½ minutes from the making, the walk to the table included."},
		{"Stirred, rocks", "style-stirred.html", "Good for 9 minutes from the making, the walk to the table included."},
	}, Options{Title: "Two evenings at the bar", Lead: "Invented data: a demonstration"})
	require.NoError(t, err)
	golden.Check(t, "../../../testdata/page/index.html", index)
}

func BenchmarkRender(b *testing.B) {
	nb := &nbformat.Notebook{}
	for range 12 {
		nb.Cells = append(nb.Cells, markdownCell("## Heading\n\nSome *words* in a line."),
			codeCell("%%\nshow.Figure(life)", display(mimeSVG, drawing(b, "lifetime_usual.wide.svg"), mimeNarrow, drawing(b, "lifetime_usual.narrow.svg"))))
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Render(nb, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
