package kernel

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"lastsip/notebooks/internal/jupyter"
)

// Settings of one kernel.
type Settings struct {
	Dir string   // working folder of the cells: that of the notebook
	Env []string // further NAME=value, for the cells
	// Startup bounds the time until the kernel answers; 0 means 60 s.
	Startup time.Duration
}

// ErrDied tells that the kernel's process ended by itself.
var ErrDied = errors.New("the notebook kernel died")

const (
	tries     = 3
	exitGrace = time.Second // between the request to end and the kill
)

// Kernel is a running kernel.
type Kernel struct {
	Client *jupyter.Client
	Temp   string // its temporary folder

	cmd   *exec.Cmd
	group *group
	temp  *tempFolder
	log   *tail
	dead  chan struct{} // closed when the process has ended
	once  sync.Once
	err   error // of Close
}

// Start starts a kernel and shakes hands with it. The kernel outlives ctx, which bounds the start only: Close ends it.
func (t *Tools) Start(ctx context.Context, s Settings) (*Kernel, error) {
	if err := supported(); err != nil {
		return nil, err
	}
	if err := checkRepo(t.Repo); err != nil {
		return nil, err
	}
	var err error
	for range tries { // another program may take a port between our choosing it and the kernel's binding it
		var k *Kernel
		if k, err = t.start(ctx, s); err == nil {
			return k, nil
		}
		if ctx.Err() != nil || !strings.Contains(err.Error(), "address already in use") {
			break
		}
	}
	return nil, err
}

func (t *Tools) start(ctx context.Context, s Settings) (started *Kernel, err error) {
	temp, err := newTemp()
	if err != nil {
		return nil, fmt.Errorf("temporary folder for the kernel: %w", err)
	}
	k := &Kernel{Temp: temp.path, temp: temp, log: &tail{}, dead: make(chan struct{})}
	defer func() {
		if err != nil {
			k.Close()
		}
	}()
	ports, conn, err := choosePorts(filepath.Dir(temp.path))
	if err != nil {
		return nil, err
	}
	defer ports.Close()
	file := filepath.Join(temp.path, "kernel.json")
	if err := conn.WriteFile(file); err != nil {
		return nil, err
	}
	env, err := t.environment(ctx, temp.path, s.Env)
	if err != nil {
		return nil, err
	}
	if err := k.run(filepath.Join(t.Dir, binary), []string{"--kernel", file, "-go_work=" + t.Repo, "-raw_error=true"}, s.Dir, env); err != nil {
		return nil, err
	}
	return k, k.meet(ctx, conn, s.Startup)
}

// choosePorts takes free ports and holds a lock until the kernel has bound them: two kernels of ours never choose the same,
// and a message signed for one never reaches the other, which would end at it.
func choosePorts(parent string) (*os.File, *jupyter.Connection, error) {
	held, err := lock(filepath.Join(parent, "ports"), true)
	if err != nil {
		return nil, nil, err
	}
	conn, err := jupyter.NewConnection()
	if err != nil {
		held.Close()
		return nil, nil, err
	}
	return held, conn, nil
}

// run starts the process, its group and the watcher.
func (k *Kernel) run(program string, args []string, dir string, env []string) error {
	k.cmd = exec.Command(program, args...)
	k.cmd.Dir, k.cmd.Env = dir, env
	k.cmd.Stdout, k.cmd.Stderr = k.log, k.log
	groupOnly(k.cmd)
	k.cmd.Cancel = nil // only for commands with a context; the group is killed by Close
	if err := k.cmd.Start(); err != nil {
		close(k.dead)
		return Explain(err)
	}
	var err error
	if k.group, err = watch(k.cmd.Process.Pid); err != nil {
		_ = k.cmd.Process.Kill()
	}
	go func() {
		_ = k.cmd.Wait() // how it ended stands in its log
		close(k.dead)
	}()
	return err
}

// meet connects to the kernel; a kernel that ends first is reported with its last words.
func (k *Kernel) meet(ctx context.Context, conn *jupyter.Connection, limit time.Duration) error {
	if limit == 0 {
		limit = time.Minute
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	late := time.AfterFunc(limit, func() { cancel(fmt.Errorf("the notebook kernel did not answer within %v", limit)) })
	defer late.Stop()
	met := make(chan struct{})
	defer close(met)
	go func() {
		select {
		case <-k.dead:
			cancel(k.died())
		case <-met:
		}
	}()
	client, err := jupyter.Dial(ctx, conn)
	if err != nil {
		return err
	}
	k.Client = client
	// The versions are those of the checkout: looking them up for every cell only costs time.
	r, err := client.Execute(ctx, "%noautoget", jupyter.Options{Silent: true})
	if err != nil || r.Status != "ok" {
		return k.Explain(fmt.Errorf("setting up the kernel: %s: %w", r.Reason, err))
	}
	return nil
}

// died is ErrDied with the kernel's last words.
func (k *Kernel) died() error {
	words := k.log.String()
	if words != "" {
		words = ":\n" + words
	}
	how := ""
	if k.cmd != nil && k.cmd.ProcessState != nil {
		how = " (" + k.cmd.ProcessState.String() + ")"
	}
	return fmt.Errorf("%w%s%s", ErrDied, how, words)
}

// Explain turns an error of the client into ErrDied when the process has ended, which can be known a little later than the
// broken connection.
func (k *Kernel) Explain(err error) error {
	if err == nil {
		return nil
	}
	select {
	case <-k.dead:
		return k.died()
	case <-time.After(200 * time.Millisecond):
		return err
	}
}

// Dead is closed when the kernel's process has ended.
func (k *Kernel) Dead() <-chan struct{} { return k.dead }

// PID is the kernel's process, and its process group.
func (k *Kernel) PID() int { return k.cmd.Process.Pid }

// Close asks the kernel to end, kills after a grace time whatever is left of its process group, and removes its temporary
// folder. It may be called again.
func (k *Kernel) Close() error {
	k.once.Do(func() {
		if k.Client != nil {
			_ = k.Client.Shutdown() // a kernel that is gone cannot be asked
			k.wait(exitGrace)
			k.Client.Close()
		}
		if k.cmd != nil && k.cmd.Process != nil {
			if k.group != nil {
				k.group.kill()
			}
			<-k.dead
		}
		k.err = k.temp.remove()
	})
	return k.err
}

func (k *Kernel) wait(d time.Duration) {
	select {
	case <-k.dead:
	case <-time.After(d):
	}
}
