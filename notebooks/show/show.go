package show

import (
	"encoding/base64"
	"encoding/gob"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"strings"

	"github.com/janpfeifer/gonb/gonbui"
	"github.com/janpfeifer/gonb/gonbui/protocol"

	"lastsip/analysis"
	"lastsip/analysis/answer"
	"lastsip/analysis/report"
)

// Environment variables that a run sets for its cells.
const (
	SessionsVariable = "LASTSIP_SESSIONS" // absolute folders or demo:NAME, one a line
	DrawVariable     = "LASTSIP_DRAW"     // the program that draws
	NamesVariable    = "LASTSIP_NAMES"    // how tasters are shown: NamesReal, or as letters
	StaleVariable    = "LASTSIP_STALE"    // what a kernel installed for JupyterLab has to say of its age
)

// NamesReal is the value of NamesVariable that shows tasters as written in the files.
const NamesReal = "real"

// MIME types of ours in a bundle.
const (
	RowsType   = "application/vnd.lastsip.rows+json"  // JSON array of answer.Row; fields that are empty are left out
	NarrowType = "application/vnd.lastsip.narrow+svg" // the figure 360 pixels wide
)

const (
	markdownType = "text/markdown"
	plainType    = "text/plain"
	svgType      = "image/svg+xml"
	pngType      = "image/png"
)

// bundle is one output by MIME type.
type bundle = map[string]any

// Where output goes; tests put other things here.
var (
	inKernel           = func() bool { return gonbui.IsNotebook }
	send               = sendToKernel
	stdout   io.Writer = os.Stdout
	stderr   io.Writer = os.Stderr
	fail               = func(err error) {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
)

func init() {
	gob.Register(map[string]any{}) // what rows are made of, on their way to the kernel
	gob.Register([]any{})
}

// sendToKernel sends a bundle and waits until the kernel has taken it.
func sendToKernel(b bundle) {
	data := map[protocol.MIMEType]any{}
	for mime, v := range b {
		data[protocol.MIMEType(mime)] = v
	}
	gonbui.SendData(&protocol.DisplayData{Data: data})
	gonbui.Sync()
	if err := gonbui.Error(); err != nil {
		fail(fmt.Errorf("the output did not reach the notebook: %w", err))
	}
}

// Sessions gives what the run was given, for analysis.Open: absolute folders or demo:NAME; the sessions that come with the
// program when it was given none.
func Sessions() []string {
	if list := os.Getenv(SessionsVariable); list != "" {
		return strings.Split(list, "\n")
	}
	return analysis.DemoSessions()
}

// Study opens Sessions, with tasters shown as the run was told: as letters, or as written. It ends the cell with a plain
// message when the sessions cannot be read. A kernel that is older than the code says so here, on stderr.
func Study() *analysis.Study {
	if words := os.Getenv(StaleVariable); words != "" {
		fmt.Fprintln(stderr, words)
	}
	study := analysis.MustOpen(Sessions()...)
	if os.Getenv(NamesVariable) == NamesReal {
		return study.RealNames()
	}
	return study
}

// Say shows an answer in sentences, the first in bold, then its warnings.
func Say(a answer.Answer) { words(a, report.Sentences, report.Text) }

// Headline shows an answer as the head of a report: its first sentence as a heading of level 1.
func Headline(a answer.Answer) { words(a, report.Headline, report.Text) }

// Table shows the numbers of an answer.
func Table(a answer.Answer) { words(a, report.Table, report.Table) }

// words shows an answer as Markdown in a kernel, else as plain text.
func words(a answer.Answer, markdown, plain func(answer.Answer) string) {
	if !given(a) {
		return
	}
	text := markdown(a)
	if strings.TrimSpace(text) == "" {
		return
	}
	if !inKernel() {
		fmt.Fprintln(stdout, strings.TrimRight(plain(a), "\n"))
		return
	}
	b := bundle{markdownType: text, plainType: plain(a)}
	if rows := rowsOf(a); rows != nil {
		b[RowsType] = rows
	}
	send(b)
}

// Markdown shows text of your own.
func Markdown(text string) {
	if strings.TrimSpace(text) == "" {
		return
	}
	if !inKernel() {
		fmt.Fprintln(stdout, strings.TrimRight(text, "\n"))
		return
	}
	send(bundle{markdownType: text, plainType: text})
}

// Opened says what a study holds.
func Opened(study *analysis.Study) {
	if study == nil {
		fail(errors.New("show.Opened: there is no study; open one with analysis.MustOpen"))
		return
	}
	data, err := study.Data()
	if err != nil {
		fail(err)
		return
	}
	Say(data)
}

// Drawing shows a drawing of your own: anything that writes itself as SVG and PNG and says in words what it shows.
func Drawing(d interface {
	SVG() ([]byte, error)
	PNG() ([]byte, error)
	Alt() string
}) {
	svg, err := d.SVG()
	if err != nil {
		fail(fmt.Errorf("drawing as SVG: %w", err))
		return
	}
	png, err := d.PNG()
	if err != nil {
		fail(fmt.Errorf("drawing as PNG: %w", err))
		return
	}
	if !inKernel() {
		fmt.Fprintln(stdout, d.Alt())
		return
	}
	send(bundle{svgType: withoutProlog(string(svg)), pngType: base64.StdEncoding.EncodeToString(png), plainType: d.Alt()})
}

// withoutProlog cuts what stands before the svg element: inside a page an XML declaration is an error.
func withoutProlog(svg string) string {
	if at := strings.Index(svg, "<svg"); at > 0 {
		return svg[at:]
	}
	return svg
}

// given tells whether there is an answer, and fails the cell when there is none.
func given(a answer.Answer) bool {
	if v := reflect.ValueOf(a); !v.IsValid() || v.Kind() == reflect.Pointer && v.IsNil() {
		fail(errors.New("show: there is no answer to show"))
		return false
	}
	return true
}

// rowsOf gives an answer's rows as plain JSON values, which gob can carry. Fields that are empty are left out, which more
// than halves what an executed notebook holds; zero is no empty field.
func rowsOf(a answer.Answer) []any {
	rows := a.Common().Rows
	if len(rows) == 0 {
		return nil
	}
	b, err := json.Marshal(rows)
	if err != nil {
		fail(fmt.Errorf("rows of the answer: %w", err))
		return nil
	}
	var out []any
	if err := json.Unmarshal(b, &out); err != nil {
		fail(fmt.Errorf("rows of the answer: %w", err))
		return nil
	}
	for _, row := range out {
		fields, _ := row.(map[string]any) // a Row is a struct, which JSON writes as an object
		for name, v := range fields {
			if v == nil || v == "" {
				delete(fields, name)
			}
		}
	}
	return out
}
