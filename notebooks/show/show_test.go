package show

import (
	"bytes"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis"
	"lastsip/analysis/answer"
	"lastsip/analysis/report"
)

// TestMain lets the test program play the drawing program.
func TestMain(m *testing.M) {
	switch os.Getenv("SHOW_TEST_DRAWS") {
	case "picture":
		in, err := io.ReadAll(os.Stdin)
		if err != nil || len(os.Args) < 2 || os.Args[1] != "draw" {
			os.Exit(3)
		}
		a, err := answer.Decode(in)
		if err != nil {
			os.Exit(4)
		}
		fmt.Printf(`{"wide":"<?xml?><svg>wide</svg>","narrow":"<svg>narrow</svg>","png":"cG5n","alt":"%s of %s"}`, strings.Join(append([]string{"alt"}, os.Args[2:]...), ", "), a.Common().Title)
	case "none":
		fmt.Print(`{"none":"nothing to see"}`)
	case "half":
		fmt.Print(`{"wide":"<svg/>"}`)
	case "babble":
		fmt.Print(`not JSON`)
	case "fails":
		fmt.Fprintln(os.Stderr, "out of ink")
		os.Exit(1)
	default:
		os.Exit(m.Run())
	}
}

// notebook makes the package believe that it is in a kernel, and gives what it sends; outside gives what it prints.
func notebook(t *testing.T, in bool) (sent *[]bundle, printed *bytes.Buffer, failed *[]error) {
	t.Helper()
	sent, printed, failed = &[]bundle{}, &bytes.Buffer{}, &[]error{}
	oldKernel, oldSend, oldOut, oldFail := inKernel, send, stdout, fail
	t.Cleanup(func() { inKernel, send, stdout, fail = oldKernel, oldSend, oldOut, oldFail })
	inKernel = func() bool { return in }
	send = func(b bundle) { *sent = append(*sent, b) }
	stdout = printed
	fail = func(err error) { *failed = append(*failed, err) }
	return sent, printed, failed
}

func act() *answer.ServeBy {
	return &answer.ServeBy{Head: answer.Head{
		Question: "serve_by", Title: "sour, coupe", Status: answer.OK,
		Sentences: []string{"Good for three minutes.", "Twelve tasters *said* so."},
		Rows:      []answer.Row{{Question: "serve_by", Style: "sour", Statistic: "act", Value: answer.Of(3.5), Upper: answer.Num{}, Unit: "min", Status: "ok", Tasters: 12}},
	}}
}

func TestSessions(t *testing.T) {
	t.Setenv(SessionsVariable, "")
	require.Equal(t, analysis.DemoSessions(), Sessions())
	require.NotEmpty(t, Sessions())
	t.Setenv(SessionsVariable, "/a/b: c\ndemo:sour-evening")
	require.Equal(t, []string{"/a/b: c", "demo:sour-evening"}, Sessions())
}

func TestStudyShowsTastersAsTheRunWasTold(t *testing.T) {
	t.Setenv(SessionsVariable, "demo:sour-evening")
	title := func() string {
		data, err := Study().Rejections("sour")
		require.NoError(t, err)
		return report.Table(data)
	}
	study := analysis.MustOpen("demo:sour-evening")
	name := study.Tasters()[0]
	t.Setenv(NamesVariable, "letters")
	require.NotContains(t, title(), name)
	t.Setenv(NamesVariable, NamesReal)
	require.Contains(t, title(), name)
}

func TestStaleKernelSaysSo(t *testing.T) {
	old := stderr
	t.Cleanup(func() { stderr = old })
	var said bytes.Buffer
	stderr = &said
	t.Setenv(StaleVariable, "")
	Study()
	require.Empty(t, said.String())
	t.Setenv(StaleVariable, "This kernel is stale")
	Study()
	require.Equal(t, "This kernel is stale\n", said.String())
}

func TestWordsInANotebook(t *testing.T) {
	sent, printed, failed := notebook(t, true)
	Say(act())
	Headline(act())
	Table(act())
	Markdown("## my own")
	Markdown(" \n")
	require.Empty(t, *failed)
	require.Empty(t, printed.String())
	require.Len(t, *sent, 4, "one bundle each, none for nothing")
	require.True(t, strings.HasPrefix((*sent)[0][markdownType].(string), "**Good for three minutes.**"))
	require.Contains(t, (*sent)[0][plainType], "Good for three minutes.\nTwelve tasters *said* so.")
	require.Contains(t, (*sent)[1][markdownType], "# Good for three minutes.")
	require.Contains(t, (*sent)[2][markdownType], "|")
	for _, b := range (*sent)[:3] {
		require.Len(t, b[RowsType], 1)
	}
	require.Equal(t, bundle{markdownType: "## my own", plainType: "## my own"}, (*sent)[3])
}

func TestPlainTextElsewhere(t *testing.T) {
	t.Setenv(DrawVariable, "")
	sent, printed, failed := notebook(t, false)
	Say(act())
	Headline(act())
	Markdown("## my own")
	Figure(act())
	require.Empty(t, *sent)
	require.Empty(t, *failed)
	require.True(t, strings.HasPrefix(printed.String(), "Good for three minutes.\nTwelve tasters *said* so.\nGood for three"))
	require.Contains(t, printed.String(), "\n## my own\nNo figure: nothing here draws figures")
}

// Rows must arrive as they left: through JSON, gob (which the kernel decodes) and JSON again.
func TestRowsSurviveTheWay(t *testing.T) {
	a := act()
	a.Rows = append(a.Rows, answer.Row{Question: "lifetime", Value: answer.Num{}, Lower: answer.Of(1.0 / 3), Upper: answer.Of(inf()), Level: answer.Of(0), Batches: 6, Note: "a, \"b\"\n"})
	rows := rowsOf(a)
	require.NotContains(t, rows[1], "Session")
	require.NotContains(t, rows[1], "Value")
	require.Contains(t, rows[1], "Level")
	var wire bytes.Buffer
	require.NoError(t, gob.NewEncoder(&wire).Encode(map[string]any{"rows": rows}))
	var back map[string]any
	require.NoError(t, gob.NewDecoder(&wire).Decode(&back))
	b, err := json.Marshal(back["rows"])
	require.NoError(t, err)
	var got []answer.Row
	require.NoError(t, json.Unmarshal(b, &got))
	require.Equal(t, a.Rows, got)
}

func inf() float64 { var zero float64; return 1 / zero }

func TestFigure(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	t.Setenv(DrawVariable, self)
	for _, tt := range []struct {
		role, wantFail string
		want           func(t *testing.T, b bundle)
	}{
		{"picture", "", func(t *testing.T, b bundle) {
			require.Equal(t, "<svg>wide</svg>", b[svgType], "without the XML declaration")
			require.Equal(t, "<svg>narrow</svg>", b[NarrowType])
			require.Equal(t, "cG5n", b[pngType])
			require.Equal(t, "alt of sour, coupe", b[plainType])
			require.Len(t, b[RowsType], 1)
		}},
		{"none", "", func(t *testing.T, b bundle) {
			require.Contains(t, b[markdownType], "No figure: nothing to see")
			require.NotContains(t, b, svgType)
			require.Len(t, b[RowsType], 1)
		}},
		{"half", "half a picture", nil},
		{"babble", "no picture", nil},
		{"fails", "out of ink", nil},
	} {
		t.Run(tt.role, func(t *testing.T) {
			t.Setenv("SHOW_TEST_DRAWS", tt.role)
			sent, _, failed := notebook(t, true)
			Figure(act())
			if tt.wantFail != "" {
				require.Len(t, *failed, 1)
				require.ErrorContains(t, (*failed)[0], tt.wantFail)
				require.Empty(t, *sent)
				return
			}
			require.Empty(t, *failed)
			require.Len(t, *sent, 1)
			tt.want(t, (*sent)[0])
		})
	}
	t.Setenv(DrawVariable, "/no/such/program")
	_, _, failed := notebook(t, true)
	Figure(act())
	require.Len(t, *failed, 1)
}

// The residuals are another figure of the same answer.
func TestResiduals(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	t.Setenv(DrawVariable, self)
	t.Setenv("SHOW_TEST_DRAWS", "picture")
	sent, _, failed := notebook(t, true)
	Residuals(&answer.PrimeWindow{Head: answer.Head{Title: "sour, coupe"}})
	require.Empty(t, *failed)
	require.Equal(t, "alt, residuals of sour, coupe", (*sent)[0][plainType])
	Residuals(nil)
	require.ErrorContains(t, (*failed)[0], "no answer to show")
}

func TestFigureWithoutAProgramShowsTheNumbers(t *testing.T) {
	t.Setenv(DrawVariable, "")
	sent, _, failed := notebook(t, true)
	Figure(act())
	require.Empty(t, *failed)
	require.Contains(t, (*sent)[0][markdownType], "No figure: nothing here draws figures")
	require.Contains(t, (*sent)[0][markdownType], "\n|")
}

type drawing struct{ err error }

func (d drawing) SVG() ([]byte, error) { return []byte("<?xml?>\n<svg/>"), d.err }
func (d drawing) PNG() ([]byte, error) { return []byte("png"), nil }
func (d drawing) Alt() string          { return "mine" }

func TestDrawing(t *testing.T) {
	sent, printed, failed := notebook(t, true)
	Drawing(drawing{})
	require.Equal(t, []bundle{{svgType: "<svg/>", pngType: "cG5n", plainType: "mine"}}, *sent)
	Drawing(drawing{errors.New("no ink")})
	require.ErrorContains(t, (*failed)[0], "no ink")
	inKernel = func() bool { return false }
	Drawing(drawing{})
	require.Equal(t, "mine\n", printed.String())
}

func TestMissingAnswersFailTheCell(t *testing.T) {
	sent, _, failed := notebook(t, true)
	var none *answer.Lifetime
	Say(nil)
	Say(none)
	Figure(none)
	Opened(nil)
	require.Len(t, *failed, 4)
	require.Empty(t, *sent)
}

func TestOpened(t *testing.T) {
	_, printed, failed := notebook(t, false)
	study, err := analysis.Open(analysis.DemoSessions()[0])
	require.NoError(t, err)
	Opened(study)
	require.Empty(t, *failed)
	require.Contains(t, printed.String(), "tasters")
}
