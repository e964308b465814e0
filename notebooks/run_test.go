package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/analysis"
	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
	"lastsip/analysis/report"
	"lastsip/notebooks/internal/nbformat"
	"lastsip/notebooks/show"
)

func TestExitStatusOfWrongUse(t *testing.T) {
	for _, tt := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"-h"}, 0, "Example:"},
		{[]string{"run", "-h"}, 0, "Example, on a session"},
		{[]string{"answer", "-h"}, 0, "Example, on a session"},
		{[]string{"check", "-h"}, 0, "Example, on a session"},
		{[]string{"kernel", "-h"}, 0, "Example:"},
		{[]string{"kernel", "now"}, 2, "takes no arguments"},
		{[]string{"launch"}, 2, "called by Jupyter"},
		{[]string{"bake"}, 2, `there is no verb "bake"`},
		{[]string{"run", "my-evening"}, 2, "sessions are named by -session my-evening"},
		{[]string{"run", "-set", "style"}, 2, "name=value is wanted"},
		{[]string{"run", "-timeout", "-1s"}, 2, "a time above zero"},
		{[]string{"run", "-timeout", "soon"}, 2, "soon"},
		{[]string{"run", "-names", "some"}, 2, "\"letters\" or \"real\" is wanted"},
		{[]string{"run", "-colour"}, 2, "-colour"},
		{[]string{"draw", "x"}, 2, "called by notebook cells"},
		{[]string{"draw", "residuals", "x"}, 2, "called by notebook cells"},
	} {
		t.Run(strings.Join(tt.args, " "), func(t *testing.T) {
			var out, errs bytes.Buffer
			require.Equal(t, tt.code, dispatch(context.Background(), tt.args, &out, &errs))
			text, other := &out, &errs
			if tt.code != 0 {
				text, other = &errs, &out
			}
			require.Contains(t, text.String(), tt.want)
			require.Empty(t, other.String())
		})
	}
}

// The command and package show agree on what passes between them; neither may import the other.
func TestAgreesWithShow(t *testing.T) {
	require.Equal(t, show.SessionsVariable, sessionsVariable)
	require.Equal(t, show.DrawVariable, drawVariable)
	require.Equal(t, show.NamesVariable, namesVariable)
	require.Equal(t, show.StaleVariable, staleVariable)
	require.Equal(t, show.RowsType, rowsType)
	full := picture{"w", "n", "p", "a", "x"}
	b, err := json.Marshal(full)
	require.NoError(t, err)
	var p show.Picture
	require.NoError(t, json.Unmarshal(b, &p))
	require.Equal(t, show.Picture(full), p)
}

func demo(t *testing.T) *analysis.Study {
	t.Helper()
	study, err := analysis.Open(analysis.DemoSessions()...)
	require.NoError(t, err)
	return study
}

// notebookFolder holds a style notebook and another one, both with a parameter.
func notebookFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for name, source := range map[string]string{"style.ipynb": "const style = \"sour\"\nconst limit = 4", "other.ipynb": "const limit = 4.5"} {
		b, err := nbformat.Encode(&nbformat.Notebook{Cells: []nbformat.Cell{{Type: "code", Tags: []string{"parameters"}, Source: source}}})
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), b, 0o644))
	}
	return dir
}

func TestJobs(t *testing.T) {
	study, dir := demo(t), notebookFolder(t)
	for _, tt := range []struct {
		name, only string
		set        []nbformat.Setting
		want       []string // job: injected source
		err        string
	}{
		{name: "all", want: []string{"other: ", `style-sour: const style = "sour"`, `style-stirred: const style = "stirred"`, `style-highball: const style = "highball"`}},
		{name: "one notebook", only: "style", want: []string{`style-sour: const style = "sour"`, `style-stirred: const style = "stirred"`, `style-highball: const style = "highball"`}},
		{name: "by its file", only: "other.ipynb", want: []string{"other: "}},
		{name: "one of its runs", only: "style-stirred", want: []string{`style-stirred: const style = "stirred"`}},
		{name: "unknown", only: "styles", err: "there is no such notebook; there are: other, style, style-sour, style-stirred, style-highball"},
		{name: "one style", set: []nbformat.Setting{{Name: "style", Value: "sour"}}, want: []string{"other: ", `style-sour: const style = "sour"`}},
		{name: "unknown style", set: []nbformat.Setting{{Name: "style", Value: "fizz"}}, err: "no such style; they have: sour; stirred; highball"},
		{name: "where it exists", set: []nbformat.Setting{{Name: "limit", Value: "5"}}, want: []string{"other: const limit = 5.0", "style-sour: const style = \"sour\"\nconst limit = 5", "style-stirred: const style = \"stirred\"\nconst limit = 5", "style-highball: const style = \"highball\"\nconst limit = 5"}},
		{name: "wrong type", only: "style", set: []nbformat.Setting{{Name: "limit", Value: "4.2"}}, err: `limit = "4.2": a whole number is wanted`},
		{name: "unknown parameter", set: []nbformat.Setting{{Name: "limits", Value: "4"}}, err: "no notebook that runs has this parameter; there are: limit, style"},
		{name: "not in those that run", only: "other", set: []nbformat.Setting{{Name: "style", Value: "sour"}}, err: "no notebook that runs has this parameter; there are: limit"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := &runner{notebooks: dir, only: tt.only, set: tt.set}
			jobs, err := r.jobs(study)
			if tt.err != "" {
				require.ErrorIs(t, err, errUse)
				require.ErrorContains(t, err, tt.err)
				return
			}
			require.NoError(t, err)
			var got []string
			for _, j := range jobs {
				injected := ""
				if len(j.nb.Cells) > 1 {
					injected = j.nb.Cells[1].Source
				}
				got = append(got, j.name+": "+injected)
			}
			require.Equal(t, tt.want, got)
		})
	}
}

func TestSlug(t *testing.T) {
	for in, want := range map[string]string{"sour": "sour", "Sour, Coupe": "sour-coupe", "../../etc": "etc", "Weiß & Soda!": "weiß-soda", "???": "unnamed", "": "unnamed"} {
		require.Equal(t, want, slug(in))
	}
}

func TestWriteReportReplacesOnlyReports(t *testing.T) {
	out := filepath.Join(t.TempDir(), "deep", "reports")
	require.NoError(t, checkOut(out))
	require.NoError(t, writeReport(out, map[string][]byte{marker: nil, "old.html": []byte("1")}))
	require.NoError(t, writeReport(out, map[string][]byte{marker: nil, "new.html": []byte("2")}))
	entries, err := os.ReadDir(out)
	require.NoError(t, err)
	require.Len(t, entries, 2, "nothing of the old report is left")
	require.FileExists(t, filepath.Join(out, "new.html"))
	beside, err := os.ReadDir(filepath.Dir(out))
	require.NoError(t, err)
	require.Len(t, beside, 1)

	foreign := filepath.Join(t.TempDir(), "photos")
	require.NoError(t, os.Mkdir(foreign, 0o755))
	require.NoError(t, checkOut(foreign), "an empty folder may become a report")
	require.NoError(t, os.WriteFile(filepath.Join(foreign, "me.jpg"), nil, 0o644))
	require.ErrorIs(t, checkOut(foreign), errUse)
	require.ErrorIs(t, writeReport(foreign, map[string][]byte{marker: nil}), errUse)
	require.FileExists(t, filepath.Join(foreign, "me.jpg"))
	require.Error(t, checkOut(filepath.Join(foreign, "me.jpg")), "a file cannot become a report")
}

// What an interrupted exchange left comes back before the next run does anything slow.
func TestReportLostInAnExchangeComesBack(t *testing.T) {
	parent := t.TempDir()
	out := filepath.Join(parent, "reports")
	old := filepath.Join(parent, ".reports.previous-123")
	require.NoError(t, os.MkdirAll(filepath.Join(old, "old"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(old, "old", marker), nil, 0o644))
	require.NoError(t, openOut(out))
	require.FileExists(t, filepath.Join(out, marker))
	require.NoDirExists(t, old)
	require.ErrorContains(t, openOut(filepath.Join(out, marker, "reports")), "-out: ")
}

// executed is a job whose cell carries a bundle.
func executed(name string, data map[string]any) *job {
	return &job{name: name, base: name, nb: &nbformat.Notebook{Name: name, Cells: []nbformat.Cell{
		{Type: "markdown", Source: "# " + name}, {Type: "code", ID: "c", Outputs: []nbformat.Output{{Type: "display_data", Data: data}}},
	}}}
}

func rows(t *testing.T, rs ...answer.Row) any {
	t.Helper()
	b, err := json.Marshal(rs)
	require.NoError(t, err)
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	var out any
	require.NoError(t, d.Decode(&out))
	return out
}

func TestRowsAreCollectedOnce(t *testing.T) {
	row := answer.Row{Question: "lifetime", Style: "sour", Statistic: "q50", Value: answer.Of(1.0 / 3), Status: "ok", Tasters: 12}
	other := row
	other.Value = answer.Of(7)
	files, err := reportFiles(demo(t), []*job{executed("a", map[string]any{rowsType: rows(t, row)}), executed("b", map[string]any{rowsType: rows(t, row)})})
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(files["results.csv"])), "\n")
	require.Len(t, lines, 2)
	require.Contains(t, lines[1], "0.3333333333333333")

	_, err = reportFiles(demo(t), []*job{executed("a", map[string]any{rowsType: rows(t, row)}), executed("b", map[string]any{rowsType: rows(t, other)})})
	require.ErrorIs(t, err, report.ErrKey)
	_, err = reportFiles(demo(t), []*job{executed("a", map[string]any{rowsType: []any{map[string]any{"Qestion": "x"}}})})
	require.ErrorContains(t, err, "a, cell 2: rows")
}

func TestFiguresBecomeFiles(t *testing.T) {
	j := executed("a", map[string]any{svgType: "<svg>1</svg>"})
	j.nb.Cells[1].Outputs = append(j.nb.Cells[1].Outputs, nbformat.Output{Type: "display_data", Data: map[string]any{svgType: "<svg>2</svg>"}})
	require.Equal(t, map[string][]byte{"a-c.svg": []byte("<svg>1</svg>"), "a-c-2.svg": []byte("<svg>2</svg>")}, figures(j))
}

func TestDrawPicture(t *testing.T) {
	study := demo(t)
	life, err := study.Lifetime("sour")
	require.NoError(t, err)
	b, err := answer.Encode(life)
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, drawPicture(bytes.NewReader(b), &out, figure.Of))
	var p picture
	require.NoError(t, json.Unmarshal(out.Bytes(), &p))
	require.Contains(t, p.Wide, `width="720"`)
	require.Contains(t, p.Narrow, `width="360"`)
	require.NotEmpty(t, p.PNG)
	require.NotEmpty(t, p.Alt)

	data, err := study.Data()
	require.NoError(t, err)
	b, err = answer.Encode(data)
	require.NoError(t, err)
	out.Reset()
	require.NoError(t, drawPicture(bytes.NewReader(b), &out, figure.Of))
	require.Contains(t, out.String(), `"none":`)
	require.Error(t, drawPicture(strings.NewReader("{}"), &out, figure.Of))

	window := &answer.PrimeWindow{Head: answer.Head{Title: "sour, coupe"}}
	for _, x := range []float64{.3, -.1, 1.2, .4} {
		window.Residuals = append(window.Residuals, answer.Residual{Taster: "A", AgeMin: 2, Fitted: 7 - x, Residual: x})
	}
	for _, tt := range []struct {
		a    answer.Answer
		want string
	}{{window, "What the age curve of sour, coupe leaves over, 4 scores"}, {data, "only a prime window has them"}} {
		b, err = answer.Encode(tt.a)
		require.NoError(t, err)
		out.Reset()
		require.NoError(t, drawPicture(bytes.NewReader(b), &out, residuals))
		require.Contains(t, out.String(), tt.want)
	}
}

func TestDataErrorsComeBeforeAnythingSlow(t *testing.T) {
	r := &runner{sessions: []string{"nowhere"}, out: filepath.Join(t.TempDir(), "r"), stdout: &bytes.Buffer{}, begun: time.Now()}
	var errs bytes.Buffer
	require.Equal(t, 1, r.report(context.Background(), &errs)) // prepare is nil: reaching it would panic
	require.Contains(t, errs.String(), "nowhere")
}

func TestShortTime(t *testing.T) {
	for d, want := range map[time.Duration]string{1234 * time.Millisecond: "1.2 s", 42400 * time.Millisecond: "42 s", 125 * time.Second: "2 min 5 s", 59700 * time.Millisecond: "1 min 0 s"} {
		require.Equal(t, want, shortTime(d))
	}
}
