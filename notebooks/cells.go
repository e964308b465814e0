package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"sync"

	"lastsip/notebooks/internal/execute"
	"lastsip/notebooks/internal/kernel"
)

// sideBySide is how many notebooks run at the same time: on two busy cores the demonstration report took 13.5 s with two, 16.0 s
// with one (BenchmarkSideBySide); go build itself uses all cores.
const sideBySide = 2

// executeChanged runs the jobs whose outputs are not those of an earlier run, and keeps what they give.
func (r *runner) executeChanged(ctx context.Context, sessions []string, jobs []*job) error {
	rest := jobs
	if r.cache != "" {
		if err := r.setKeys(ctx, sessions, jobs); err != nil {
			return err
		}
		rest = r.recall(jobs)
		if n := len(jobs) - len(rest); n > 0 {
			r.say("%s of %d: nothing has changed since the last run; not run again (-force runs all).", plural(n, "notebook"), len(jobs))
		}
	}
	if len(rest) == 0 {
		return nil
	}
	for _, j := range rest {
		if j.fresh != "" {
			r.say("%s is run each time: %s.", j.name, j.fresh)
		}
	}
	tools, err := r.prepare(ctx, r.repo, func(s string) { r.say("%s", s) })
	if err != nil {
		return err
	}
	if err := r.execute(ctx, tools, sessions, rest); err != nil {
		return err
	}
	if r.cache == "" {
		return nil
	}
	r.keepAll(ctx, sessions, rest)
	return nil
}

// keepAll keeps the executed notebooks whose key is still the same: data or code may have been changed while they ran.
func (r *runner) keepAll(ctx context.Context, sessions []string, jobs []*job) {
	before := map[*job]string{}
	for _, j := range jobs {
		before[j] = j.key
	}
	if err := r.setKeys(ctx, sessions, jobs); err != nil {
		return // something is being changed right now: keep nothing
	}
	for _, j := range jobs {
		if j.err != nil || j.key == "" {
			continue
		}
		if j.key != before[j] {
			r.say("%s: data or code were changed while it ran; run again to be sure which the report shows.", j.name)
			continue
		}
		if err := r.keep(j); err != nil {
			r.say("The executed notebooks cannot be kept for the next run: %v", err)
			return
		}
	}
}

// execute runs the jobs, each on a kernel of its own, so that no declaration leaks into the next. The first failure in the
// order of the jobs is the one told, whichever came first; with keepGoing, failures stay with their jobs, unless nothing
// is left to report on.
func (r *runner) execute(ctx context.Context, tools *kernel.Tools, sessions []string, jobs []*job) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	env := []string{sessionsVariable + "=" + strings.Join(sessions, sessionSeparator), drawVariable + "=" + self, namesVariable + "=" + r.names, staleVariable + "="}
	p := newProgress(r, jobs)
	r.say("Running %s on the kernel gonb %s: %s ...", plural(len(jobs), "notebook"), tools.Version, plural(p.total, "cell"))
	all, cancel := context.WithCancel(ctx)
	defer cancel()
	var done sync.WaitGroup
	places := make(chan struct{}, max(r.atOnce, 1))
	for _, j := range jobs {
		places <- struct{}{}
		done.Add(1)
		go func() {
			defer func() { <-places; done.Done() }()
			if j.err = context.Cause(all); j.err == nil {
				j.err = r.executeOne(all, tools, env, j, p)
			}
			if j.err != nil && !r.keepGoing {
				cancel()
			}
		}()
	}
	done.Wait()
	return r.outcome(ctx, jobs)
}

// outcome is the error of a run that has no report.
func (r *runner) outcome(ctx context.Context, jobs []*job) error {
	var failed []error
	var first error
	for _, j := range jobs {
		if j.err == nil {
			continue
		}
		failed = append(failed, j.err)
		if first == nil && !errors.Is(j.err, context.Canceled) {
			first = j.err
		}
	}
	switch {
	case failed == nil:
		return nil
	case ctx.Err() != nil:
		return failed[0]
	case !r.keepGoing:
		return fmt.Errorf("%w\nno report was written; one that was there before is as it was", first)
	case len(failed) == len(jobs):
		return fmt.Errorf("%w\nevery notebook failed: no report was written; one that was there before is as it was", errors.Join(failed...))
	}
	return nil
}

func (r *runner) executeOne(ctx context.Context, tools *kernel.Tools, env []string, j *job, p *progress) (err error) {
	k, err := tools.Start(ctx, kernel.Settings{Dir: r.notebooks, Env: env})
	if err != nil {
		return fmt.Errorf("%s: %w", j.name, err)
	}
	defer func() { err = errors.Join(err, k.Close()) }()
	err = execute.Run(ctx, k, j.nb, execute.Options{Timeout: r.timeout, Progress: func(s execute.Step) { p.step(j, s) }})
	var failed *execute.CellError
	if !errors.As(err, &failed) {
		return err
	}
	kept, keepErr := keepFailed(r.out, j)
	if keepErr != nil {
		return errors.Join(err, fmt.Errorf("the notebook as it ran up to there could not be kept: %w", keepErr))
	}
	return fmt.Errorf("%w\nthe notebook as it ran up to there: %s", err, kept)
}
