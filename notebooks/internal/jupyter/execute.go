package jupyter

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"lastsip/notebooks/internal/jupyter/wire"
	"lastsip/notebooks/internal/nbformat"
)

// What can end a piece of code early. The result holds what came until then.
var (
	ErrFlood = errors.New("too much output")
	ErrInput = errors.New("the code asks for input, and nobody can answer in a run")
	ErrStuck = errors.New("the code did not end when interrupted")
)

// Options bound the execution of one piece of code.
type Options struct {
	MaxBytes int           // of output, text and data together; 0 means 16 MiB
	Grace    time.Duration // between an interrupt and giving up; 0 means 3 s
	Silent   bool          // neither counted nor kept in the kernel's history
}

func (o Options) maxBytes() int {
	if o.MaxBytes == 0 {
		return 16 << 20
	}
	return o.MaxBytes
}

func (o Options) grace() time.Duration {
	if o.Grace == 0 {
		return 3 * time.Second
	}
	return o.Grace
}

// Result is what one piece of code gave.
type Result struct {
	Status     string            // of the reply: "ok", "error" or "aborted"
	Count      int               // execution count; 0 when silent
	Outputs    []nbformat.Output // neighbouring pieces of one stream are joined
	LastStderr string            // the last message on stderr, as it came, not joined
	Reason     string            // what an unhappy reply says: "name: value"

	bytes   int
	stream  string // name of the stream whose text is still coming, or nothing
	text    []byte // that text: joined at once when it ends, since a flood comes in millions of pieces
	waiting bool   // clear_output(wait): the next output clears
}

// place finds an output that update_display_data may change, also after its own code is done.
type place struct {
	result *Result
	index  int
}

// Execute sends code over shell and gathers its outputs until the reply has come and the kernel is idle for this request.
//
// An unhappy code is no error: see Result.Status. When ctx ends, output exceeds MaxBytes or input is asked for, the code is
// interrupted and given Grace to end; the error is then the cause of ctx, ErrFlood or ErrInput, joined with ErrStuck when
// it did not end. Any other error means that the connection broke. The result is never nil.
func (c *Client) Execute(ctx context.Context, code string, opt Options) (*Result, error) {
	r := &Result{}
	id, err := c.send(c.shell, "execute_request", map[string]any{
		"code": code, "silent": opt.Silent, "store_history": !opt.Silent, "user_expressions": map[string]any{},
		"allow_stdin": false, "stop_on_error": true,
	})
	if err != nil {
		return r, err
	}
	w := waiting{client: c, result: r, id: id, opt: opt}
	err = w.run(ctx)
	r.endText()
	return r, err
}

// waiting is the state of one execution.
type waiting struct {
	client  *Client
	result  *Result
	id      string
	opt     Options
	replied bool
	idle    bool
	reason  error            // why it was interrupted
	giveUp  <-chan time.Time // set when interrupted, or when only the reply is missing
}

func (w *waiting) run(ctx context.Context) error {
	c, done := w.client, ctx.Done()
	for !w.replied || !w.idle {
		select {
		case m := <-c.iopubIn:
			if m.Parent.ID == w.id {
				w.published(m)
			}
		case m := <-c.shellIn:
			if m.Parent.ID == w.id && m.Header.Type == "execute_reply" {
				if err := w.reply(m); err != nil {
					return err
				}
			}
		case <-c.stdinIn:
			w.interrupt(ErrInput)
		case <-done:
			done = nil
			w.interrupt(context.Cause(ctx))
		case <-w.giveUp:
			if w.reason == nil {
				return errors.New("the kernel went idle without replying")
			}
			return errors.Join(w.reason, ErrStuck)
		case <-c.ctx.Done():
			return errors.Join(w.reason, context.Cause(c.ctx))
		}
	}
	return w.reason
}

// interrupt stops the code once, for the first reason given.
func (w *waiting) interrupt(reason error) {
	if w.reason != nil {
		return
	}
	w.reason = reason
	w.giveUp = time.After(w.opt.grace())
	// A failed send means a broken connection, which the readers report.
	_ = w.client.Interrupt()
}

func (w *waiting) reply(m *wire.Message) error {
	var content struct {
		Status string `json:"status"`
		Count  int    `json:"execution_count"`
		EName  string `json:"ename"`
		EValue string `json:"evalue"`
	}
	if err := json.Unmarshal(m.Content, &content); err != nil {
		return fmt.Errorf("execute_reply: %w", err)
	}
	w.replied = true
	w.result.Status, w.result.Count = content.Status, content.Count
	if content.Status != "ok" {
		w.result.Reason = content.EName + ": " + content.EValue
	}
	return nil
}

// published takes one message of iopub that belongs to this request.
func (w *waiting) published(m *wire.Message) {
	if m.Header.Type == "status" {
		var s struct {
			State string `json:"execution_state"`
		}
		if json.Unmarshal(m.Content, &s) == nil && s.State == "idle" {
			w.idle = true
			if w.giveUp == nil {
				w.giveUp = time.After(replyTimeout)
			}
		}
		return
	}
	if !errors.Is(w.reason, ErrFlood) { // after a flood the rest is thrown away
		w.client.gather(w.result, m)
	}
	if w.result.bytes > w.opt.maxBytes() {
		w.interrupt(fmt.Errorf("%w: more than %d bytes", ErrFlood, w.opt.maxBytes()))
	}
}
