package execute

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"

	"lastsip/notebooks/internal/jupyter"
	"lastsip/notebooks/internal/kernel"
	"lastsip/notebooks/internal/nbformat"
)

// DefaultTimeout bounds one cell unless Options say otherwise.
const DefaultTimeout = 2 * time.Minute

const (
	defaultMaxBytes = 16 << 20
	grace           = 2 * time.Second
)

// Options bound the cells and report progress.
type Options struct {
	Timeout  time.Duration // per cell; 0 means DefaultTimeout
	MaxBytes int           // output per cell; 0 means 16 MiB
	// Progress, when set, is called after each code cell, also a failed one.
	Progress func(Step)
}

// Step is one code cell that was executed.
type Step struct {
	Cell   int // number of the cell as a reader counts, from 1, all cells but an injected one
	Code   int // how many code cells are done, this one included
	Codes  int // of how many
	Took   time.Duration
	Failed bool
}

// Run executes the code cells of nb and puts outputs and execution counts into it; what it held before is cleared first.
//
// A failed cell is a *CellError. When ctx ends, the error wraps its cause. Cells after a failure stay without outputs.
func Run(ctx context.Context, k *kernel.Kernel, nb *nbformat.Notebook, opt Options) error {
	nb.Clear()
	r := &run{k: k, nb: nb, opt: opt, cellOf: map[int]int{}}
	codes, done := 0, 0
	for _, c := range nb.Cells {
		if c.Type == "code" {
			codes++
		}
	}
	for i := range nb.Cells {
		if nb.Cells[i].Type != "code" {
			continue
		}
		begin := time.Now()
		err := r.cell(ctx, i)
		done++
		if opt.Progress != nil {
			opt.Progress(Step{r.number(i), done, codes, time.Since(begin), err != nil})
		}
		if err != nil {
			return err
		}
	}
	return nil
}

type run struct {
	k      *kernel.Kernel
	nb     *nbformat.Notebook
	opt    Options
	cellOf map[int]int // index of the cell by execution count
}

// number is the number of a cell as a reader of the original notebook counts: the injected cell is not in it. It is 0 for
// the injected cell itself.
func (r *run) number(index int) int {
	if r.nb.Cells[index].HasTag(nbformat.TagInjected) {
		return 0
	}
	n := 0
	for i := range index + 1 {
		if !r.nb.Cells[i].HasTag(nbformat.TagInjected) {
			n++
		}
	}
	return n
}

// cell executes one cell.
func (r *run) cell(ctx context.Context, i int) error {
	c := &r.nb.Cells[i]
	timeout, maxBytes := r.opt.Timeout, r.opt.MaxBytes
	if timeout <= 0 {
		timeout = DefaultTimeout
	}
	if maxBytes <= 0 {
		maxBytes = defaultMaxBytes
	}
	late := fmt.Errorf("it took longer than %v and was interrupted; -timeout sets another limit", timeout)
	bounded, cancel := context.WithTimeoutCause(ctx, timeout, late)
	defer cancel()
	res, err := r.k.Client.Execute(bounded, c.Source, jupyter.Options{MaxBytes: maxBytes, Grace: grace})
	c.Outputs = res.Outputs
	if res.Count > 0 {
		count := res.Count
		c.ExecutionCount, r.cellOf[count] = &count, i
	}
	var faults []Fault
	switch {
	case err == nil:
		faults = r.faults(i, res)
	case ctx.Err() != nil:
		return fmt.Errorf("%s: %w", r.place(i), context.Cause(ctx))
	case errors.Is(err, late):
		faults = []Fault{{Cell: i, Message: late.Error()}}
	case errors.Is(err, jupyter.ErrFlood):
		faults = []Fault{{Cell: i, Message: fmt.Sprintf("it gave more than %d bytes of output and was interrupted; does a loop print without end?", maxBytes)}}
	case errors.Is(err, jupyter.ErrInput):
		faults = []Fault{{Cell: i, Message: jupyter.ErrInput.Error()}}
	default:
		err = r.k.Explain(err)
		faults = []Fault{{Cell: i, Message: err.Error()}}
	}
	if faults == nil {
		return nil
	}
	return r.fail(i, faults, err)
}

func (r *run) place(i int) string {
	if n := r.number(i); n > 0 {
		return fmt.Sprintf("%s, cell %d", r.nb.Name, n)
	}
	return r.nb.Name + ", the parameters that were set"
}

// fail makes the error of a cell and sees that its outputs show it.
func (r *run) fail(i int, faults []Fault, cause error) error {
	e := &CellError{Err: cause}
	for _, f := range faults {
		f.Place = r.place(f.Cell)
		f.Message = r.clean(f.Message)
		e.Faults = append(e.Faults, f)
	}
	c := &r.nb.Cells[i]
	hasError := false
	for j := range c.Outputs {
		o := &c.Outputs[j]
		o.Text, o.EValue = r.clean(o.Text), r.clean(o.EValue)
		for n, line := range o.Traceback {
			o.Traceback[n] = r.clean(line)
		}
		hasError = hasError || o.Type == "error"
	}
	if !hasError {
		c.Outputs = append(c.Outputs, nbformat.Output{Type: "error", EName: "failed", EValue: e.Error(), Traceback: strings.Split(e.Error(), "\n")})
	}
	return e
}

var colour = regexp.MustCompile("\x1b\\[[0-9;]*[a-zA-Z]")

// clean takes colour codes and the kernel's temporary paths out of a text.
func (r *run) clean(s string) string {
	s = colour.ReplaceAllString(s, "")
	if r.k.Temp == "" {
		return s
	}
	return regexp.MustCompile(regexp.QuoteMeta(r.k.Temp)+`(/gonb_[0-9a-f]+)?/?`).ReplaceAllString(s, "")
}
