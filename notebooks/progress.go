package main

import (
	"fmt"
	"sync"
	"time"

	"lastsip/notebooks/internal/execute"
)

// progress prints one line per cell: what was done, how long it took, how long all has taken, how long the rest may take at
// the pace so far. Several notebooks may report at once.
type progress struct {
	r *runner

	mu          sync.Mutex
	done, total int
	begun       time.Time
}

func newProgress(r *runner, jobs []*job) *progress {
	p := &progress{r: r, begun: time.Now()}
	for _, j := range jobs {
		for _, c := range j.nb.Cells {
			if c.Type == "code" {
				p.total++
			}
		}
	}
	return p
}

func (p *progress) step(j *job, s execute.Step) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done++
	cell := fmt.Sprintf("cell %d", s.Cell)
	if s.Cell == 0 {
		cell = "parameters"
	}
	if s.Failed {
		p.r.say("  %s, %s (%d of %d): failed after %s", j.name, cell, p.done, p.total, shortTime(s.Took))
		return
	}
	rest := ""
	if left := p.total - p.done; left > 0 {
		rest = ", about " + shortTime(time.Duration(float64(time.Since(p.begun))/float64(p.done)*float64(left))) + " to go"
	}
	p.r.say("  %s, %s (%d of %d): %s; %s so far%s", j.name, cell, p.done, p.total, shortTime(s.Took), shortTime(time.Since(p.r.begun)), rest)
}

// note prints a line between those of the cells.
func (p *progress) note(format string, args ...any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.r.say(format, args...)
}

// shortTime prints a duration as a person would say it.
func shortTime(d time.Duration) string {
	if d < 10*time.Second {
		return fmt.Sprintf("%.1f s", d.Seconds())
	}
	d = d.Round(time.Second)
	if d < time.Minute {
		return fmt.Sprintf("%d s", int(d.Seconds()))
	}
	return fmt.Sprintf("%d min %d s", int(d.Minutes()), int(d.Seconds())%60)
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
