package figure_test

import (
	"bytes"
	"encoding/xml"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

func TestNoFigure(t *testing.T) {
	for name, a := range map[string]answer.Answer{
		"data": &answer.Data{}, "glass": &answer.Glass{}, "nothing": nil, "provenance": &answer.Provenance{},
		"no readings": &answer.Readings{Series: make([]answer.ReadingSeries, 2)}, "no drinks": &answer.Compare{},
		"no shares": &answer.Lifetime{}, "no glasses": &answer.Rejections{Parts: make([]answer.RejectionPart, 2)},
		"no scores": &answer.Scores{Attributes: make([]answer.ScoreSeries, 1)},
	} {
		_, err := figure.Of(a, 0)
		require.ErrorIs(t, err, figure.ErrNoFigure, name)
	}
	_, err := figure.Ribbon(nil, nil, 0)
	require.ErrorIs(t, err, figure.ErrNoFigure)
	_, err = figure.Of(serveBy(nil), 500)
	require.ErrorContains(t, err, "width 500: want 720 or 360")
}

func TestNotANumberIsRefused(t *testing.T) {
	s := scoresOf(series("liking", true, 8, .2))
	s.Attributes[0].Points[3].Score = math.NaN()
	l := life(nil)
	l.Parts[0].Shares[1].Upper = math.Inf(1)
	r := replies(nil)
	r.Parts[0].Glasses[0].Replies[0].AgeMin = math.NaN()
	b := serveBy(func(a *answer.ServeBy) { a.Ribbon.FirstAge = math.NaN() })
	for want, a := range map[string]answer.Answer{"a score of liking is NaN": s, "a share's age or limit is +Inf": l, "the age of a reply of A is NaN": r, "the first or last age tasted is NaN": b} {
		_, err := figure.Of(a, 0)
		require.ErrorContains(t, err, want)
	}
}

func TestSameAnswerSameBytes(t *testing.T) {
	for name, a := range cases() {
		before, err := answer.Encode(a)
		require.NoError(t, err)
		var first []byte
		for range 3 {
			f, err := figure.Of(a, 0)
			require.NoError(t, err)
			svg, err := f.SVG()
			require.NoError(t, err)
			again, err := f.SVG()
			require.NoError(t, err)
			require.Equal(t, svg, again, name)
			if first == nil {
				first = svg
			}
			require.Equal(t, first, svg, name)
		}
		after, err := answer.Encode(a)
		require.NoError(t, err)
		require.Equal(t, before, after, "%s: drawing leaves the answer alone", name)
	}
}

// An answer that went through JSON, as it does between a cell and the program that draws, gives the same drawing.
func TestDrawingAfterJSON(t *testing.T) {
	for name, a := range cases() {
		b, err := answer.Encode(a)
		require.NoError(t, err)
		back, err := answer.Decode(b)
		require.NoError(t, err)
		require.Equal(t, svgOf(t, a, 0), svgOf(t, back, 0), name)
	}
}

func svgOf(t testing.TB, a answer.Answer, width int) []byte {
	f, err := figure.Of(a, width)
	require.NoError(t, err)
	svg, err := f.SVG()
	require.NoError(t, err)
	return svg
}

func TestPNG(t *testing.T) {
	for name, a := range map[string]answer.Answer{"ribbon": serveBy(nil), "scores": scoreCases()["scores_eight"]} {
		f, err := figure.Of(a, figure.Narrow)
		require.NoError(t, err)
		b, err := f.PNG()
		require.NoError(t, err)
		img, err := png.Decode(bytes.NewReader(b))
		require.NoError(t, err)
		require.Equal(t, 720, img.Bounds().Dx(), "%s: two pixels for one", name)
		colours := map[[3]uint32]int{}
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				r, g, b, _ := img.At(x, y).RGBA()
				colours[[3]uint32{r >> 8, g >> 8, b >> 8}]++
			}
		}
		require.Positive(t, colours[[3]uint32{0x00, 0x72, 0xb2}], "%s: ink of the window", name)
		require.Greater(t, colours[[3]uint32{0xfb, 0xf9, 0xf5}], img.Bounds().Dx()*img.Bounds().Dy()/2, "%s: mostly paper", name)
	}
}

// Text from a file stays text: nothing of it becomes an element, and the file parses.
func TestTextIsEscaped(t *testing.T) {
	hostile := "\u202e</text></svg><script>alert('x')</script> \x00\x1b[31m\xff & \"quoted\""
	all := cases()
	ribbon := serveBy(func(a *answer.ServeBy) { a.Title, a.Ribbon.Label, a.Ribbon.Words = hostile, hostile, hostile })
	score := scoresOf(series(hostile, true, 8, .2))
	score.Title = hostile
	score.Attributes[0].LowMeans, score.Attributes[0].HighMeans = hostile, hostile
	reply := replies(func(a *answer.Rejections) {
		a.Title = hostile
		a.Parts[0].Glasses[0].Taster = hostile
		a.Parts[0].Mode = hostile
	})
	all["ribbon"], all["score"], all["reply"] = ribbon, score, reply
	for name, a := range all {
		for _, width := range widths {
			svg := svgOf(t, a, width)
			require.True(t, bytes.HasPrefix(svg, []byte(`<svg xmlns="http://www.w3.org/2000/svg" data-lastsip="figure" role="img" aria-label="`)), name)
			for el := range elements(t, svg) {
				require.Contains(t, []string{"svg", "title", "g", "path", "text"}, el, name)
			}
			require.NotContains(t, string(svg), "\u202e", "%s: no mark turns the writing", name)
			require.NotContains(t, string(svg), " id=", "%s: two figures of one page cannot clash", name)
		}
	}
}

func elements(t *testing.T, svg []byte) map[string]int {
	dec := xml.NewDecoder(bytes.NewReader(svg))
	count := map[string]int{}
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		if start, ok := token.(xml.StartElement); ok {
			count[start.Name.Local]++
		}
	}
	return count
}

func TestAltSaysTheNumbers(t *testing.T) {
	for name, want := range map[string][]string{
		"ribbon_usual":     {"sour, coupe", "serve by 3½", "more than half would until 6", "half of tasters have reached their limit at 7½ (6 to 9½)"},
		"ribbon_beyond":    {"later than 14 (from 11)"},
		"lifetime_usual":   {"12 of 12 at 2, 9 to 10 of 12 at 6, 6 of 12 at 8, 0 of 12 at 16", "Half have reached their limit at 6 to 8 (6 to 12) minutes"},
		"rejections_usual": {"5\u00a0glasses", "A 6.1 to 8", "C later than 16", "D never accepted"},
		"scores_one":       {"Mean liking: 8.5 at 0.2", "serve by 3½"},
	} {
		f, err := figure.Of(cases()[name], 0)
		require.NoError(t, err)
		for _, w := range want {
			require.Contains(t, f.Alt(), w, name)
		}
		require.True(t, strings.HasSuffix(f.Alt(), "."), "%s: a sentence", name)
	}
}

func TestRibbonTakesWhatIsMissingFromTheLifetime(t *testing.T) {
	bare := serveBy(func(a *answer.ServeBy) { a.Ribbon = answer.Ribbon{} })
	f, err := figure.Ribbon(bare, life(nil), 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "half of tasters have reached their limit at 6 to 8 (6 to 12)")
	require.Contains(t, f.Alt(), "tasted from 0 to 16")
	without, err := figure.Ribbon(bare, nil, 0)
	require.NoError(t, err)
	require.NotContains(t, without.Alt(), "half")
}
