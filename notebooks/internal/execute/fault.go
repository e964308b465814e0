package execute

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"lastsip/notebooks/internal/jupyter"
)

// CellError is the failure of a cell; it has at least one fault.
type CellError struct {
	Faults []Fault
	Err    error // what the client said, when it was no fault of the cell's code
}

// Fault is one thing wrong at one place of the notebook.
type Fault struct {
	Place   string // "style.ipynb, cell 4"
	Cell    int    // index into Notebook.Cells
	Line    int    // within the cell, from 1; 0 when unknown
	Column  int    // in bytes, from 1; 0 when unknown
	Source  string // the line
	Message string
}

// Error gives every fault with its place, its source line and a caret under the column.
func (e *CellError) Error() string {
	parts := make([]string, 0, len(e.Faults))
	for _, f := range e.Faults {
		parts = append(parts, f.String())
	}
	return strings.Join(parts, "\n")
}

// Unwrap gives the cause, if any.
func (e *CellError) Unwrap() error { return e.Err }

// Where gives place and line: "style.ipynb, cell 4, line 2".
func (f Fault) Where() string {
	if f.Line > 0 {
		return fmt.Sprintf("%s, line %d", f.Place, f.Line)
	}
	return f.Place
}

// String gives place and message, then the source line with a caret.
func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.Where() + ": " + f.Message)
	if strings.TrimSpace(f.Source) != "" {
		b.WriteString("\n    " + f.Source)
		if f.Column > 0 && f.Column <= len(f.Source)+1 {
			b.WriteString("\n    " + blank(f.Source[:f.Column-1]) + "^")
		}
	}
	return b.String()
}

// blank replaces everything but tabs by spaces, so that a caret stands under its letter.
func blank(s string) string {
	return strings.Map(func(c rune) rune {
		if c == '\t' {
			return c
		}
		return ' '
	}, s)
}

var (
	ended        = regexp.MustCompile(`^(\^C\n)?((exit status \d+|signal: [^\n]+)\n)$`)
	unknownMagic = regexp.MustCompile(`^"%.*" unknown or not implemented yet\.$`)
	traceCell    = regexp.MustCompile(`^Cell\[(\d+)\]: Line (\d+)\n`)
	compileError = regexp.MustCompile(`main(?:_test)?\.go:(\d+):(\d+): (.+)$`)
	frameCell    = regexp.MustCompile(`\[\[ Cell \[(\d+)\] Line (\d+) \]\]`)
	frameLine    = regexp.MustCompile(`main(?:_test)?\.go:(\d+)`)
	notRun       = regexp.MustCompile(`fork/exec \S*gonb_\S+: permission denied`)
	noPackage    = regexp.MustCompile(`does not contain package (\S+)`)
)

// faults tells what is wrong with a cell that the kernel has answered; none when it is fine.
func (r *run) faults(i int, res *jupyter.Result) []Fault {
	if res.Status != "ok" {
		if found := r.compileFaults(i, res); found != nil {
			return found
		}
		return []Fault{{Cell: i, Message: explain(firstOf(res.Reason, "the kernel refused the cell: "+res.Status))}}
	}
	switch {
	case ended.MatchString(res.LastStderr):
		return []Fault{r.runtimeFault(i, colour.ReplaceAllString(res.StderrText(), ""))}
	case unknownMagic.MatchString(res.LastStderr):
		return []Fault{{Cell: i, Message: "the kernel does not know the command " + strings.Trim(strings.SplitN(res.LastStderr, " ", 2)[0], `"`)}}
	}
	for _, o := range res.Outputs {
		if o.Type == "error" {
			return []Fault{{Cell: i, Message: o.EName + ": " + o.EValue}}
		}
	}
	return nil
}

func firstOf(texts ...string) string {
	for _, t := range texts {
		if strings.Trim(t, ": ") != "" {
			return t
		}
	}
	return ""
}

// compileFaults maps the lines of a compiler's message: line n of evalue belongs to entry n of traceback, which has the
// cell. Indented lines go on with the message before.
func (r *run) compileFaults(i int, res *jupyter.Result) []Fault {
	var out []Fault
	for _, o := range res.Outputs {
		if o.Type != "error" {
			continue
		}
		for n, line := range strings.Split(colour.ReplaceAllString(o.EValue, ""), "\n") {
			found := compileError.FindStringSubmatch(line)
			switch {
			case found != nil:
				f := Fault{Cell: i, Message: explain(found[3])}
				if n >= len(o.Traceback) || !r.locate(&f, colour.ReplaceAllString(o.Traceback[n], ""), found[2]) {
					r.atGenerated(&f, found[1])
				}
				out = append(out, f)
			case strings.HasPrefix(line, "\t") && len(out) > 0:
				out[len(out)-1].Message += "; " + strings.TrimSpace(line)
			}
		}
	}
	return out
}

// locate reads cell and line from an entry of a traceback, and the column when the generated line is that of the cell,
// apart from its indentation. It tells whether the line is known.
func (r *run) locate(f *Fault, trace, column string) bool {
	found := traceCell.FindStringSubmatch(trace)
	if found == nil || !r.at(f, found[1], found[2]) {
		return false
	}
	col, err := strconv.Atoi(column)
	if err != nil {
		return true
	}
	caret := strings.Repeat(" ", max(col-1, 0)) + "^"
	lines := strings.Split(trace, "\n")
	for n := 1; n < len(lines); n++ {
		generated := lines[n-1]
		if lines[n] != caret || strings.TrimSpace(generated) != strings.TrimSpace(f.Source) {
			continue
		}
		if c := col + indent(f.Source) - indent(generated); c > 0 {
			f.Column = c
		}
	}
	return true
}

func indent(s string) int { return len(s) - len(strings.TrimLeft(s, " \t")) }

// at fills in cell, line and source from an execution count and a line number.
func (r *run) at(f *Fault, count, line string) bool {
	n, err := strconv.Atoi(count)
	if err != nil {
		return false
	}
	cell, known := r.cellOf[n]
	l, err := strconv.Atoi(line)
	if !known || err != nil {
		return false
	}
	lines := strings.Split(r.nb.Cells[cell].Source, "\n")
	if l < 1 || l > len(lines) {
		return false
	}
	f.Cell, f.Line, f.Source = cell, l, lines[l-1]
	return true
}

// atGenerated finds a line of the generated program, which the kernel sometimes cannot map itself (functions of earlier
// cells), by its text: when exactly one line of the cells executed so far reads the same.
func (r *run) atGenerated(f *Fault, line string) bool {
	n, err := strconv.Atoi(line)
	if err != nil {
		return false
	}
	files, err := filepath.Glob(filepath.Join(r.k.Temp, "gonb_*", "main*.go"))
	if err != nil || len(files) != 1 {
		return false
	}
	program, err := os.ReadFile(files[0])
	lines := strings.Split(string(program), "\n")
	if err != nil || n < 1 || n > len(lines) {
		return false
	}
	want, matches, before := strings.TrimSpace(lines[n-1]), 0, *f
	for _, cell := range r.cellOf {
		for l, source := range strings.Split(r.nb.Cells[cell].Source, "\n") {
			if want != "" && strings.TrimSpace(source) == want {
				matches++
				f.Cell, f.Line, f.Source = cell, l+1, source
			}
		}
	}
	if matches != 1 {
		*f = before
	}
	return matches == 1
}

// atFrame finds the innermost frame of a panic that is a line of the notebook.
func (r *run) atFrame(f *Fault, trace []string) {
	for _, frame := range trace {
		if found := frameCell.FindStringSubmatch(frame); found != nil && r.at(f, found[1], found[2]) {
			return
		}
		if found := frameLine.FindStringSubmatch(frame); found != nil && r.atGenerated(f, found[1]) {
			return
		}
	}
}

const maxMessageLines = 12

// runtimeFault reads the stderr of a program that ended badly: the panic and the first line of the notebook in its trace,
// or else its last words.
func (r *run) runtimeFault(i int, stderr string) Fault {
	f := Fault{Cell: i}
	lines := strings.Split(strings.TrimSpace(stderr), "\n")
	status := lines[len(lines)-1]
	for n, line := range lines {
		if !strings.HasPrefix(line, "panic: ") && !strings.HasPrefix(line, "fatal error: ") {
			continue
		}
		f.Message = line
		for _, more := range lines[n+1:] {
			if more == "" || strings.HasPrefix(more, "goroutine ") || strings.HasPrefix(more, "[signal ") {
				break
			}
			f.Message += "\n" + more
		}
		r.atFrame(&f, lines[n:])
		return f
	}
	words := lines[:len(lines)-1]
	if len(words) > maxMessageLines {
		words = append([]string{"..."}, words[len(words)-maxMessageLines:]...)
	}
	if f.Message = strings.TrimSpace(strings.Join(words, "\n")); f.Message == "" {
		f.Message = "its program ended with " + status
	} else {
		f.Message += " (" + status + ")"
	}
	return f
}

// explain adds advice to messages that a reader of the notebook cannot act on.
func explain(message string) string {
	if found := noPackage.FindStringSubmatch(message); found != nil {
		message = fmt.Sprintf("package %s is not in std nor in the checkout", found[1])
	}
	switch {
	case strings.Contains(message, "expected declaration, found"):
		return message + "; statements follow a line that says %%"
	case notRun.MatchString(message):
		return fmt.Sprintf("its program may not be run (permission denied): programs are not allowed in the folder for temporary files, %s (mounted noexec); set TMPDIR to another folder", os.TempDir())
	case strings.Contains(message, "is not in std"):
		return message + "; cells import the standard library, lastsip and the modules of its go.mod"
	}
	return message
}
