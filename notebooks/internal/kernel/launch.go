package kernel

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"time"
)

// parentPoll is how often the launched kernel looks whether the program that started it is still there.
const parentPoll = time.Second

// ErrOrphan ends a launched kernel whose front end is gone.
var ErrOrphan = errors.New("the program that started the kernel is gone")

// Launch runs the kernel on a connection file that a front end such as Jupyter wrote, in the working folder of this
// process, until the front end shuts it down, ctx ends, or the front end is gone. Its environment is that of Start, env
// added. A kernel that dies by itself is ErrDied, with its last words; what it logs in good health goes nowhere.
func (t *Tools) Launch(ctx context.Context, connection string, env []string) (err error) {
	if err := supported(); err != nil {
		return err
	}
	if err := checkRepo(t.Repo); err != nil {
		return err
	}
	connection, err = filepath.Abs(connection)
	if err != nil {
		return err
	}
	temp, err := newTemp()
	if err != nil {
		return err
	}
	k := &Kernel{Temp: temp.path, temp: temp, log: &tail{}, dead: make(chan struct{})}
	defer func() { err = errors.Join(err, k.Close()) }()
	env, err = t.environment(ctx, temp.path, env)
	if err != nil {
		return err
	}
	if err := k.run(filepath.Join(t.Dir, binary), []string{"--kernel", connection, "-go_work=" + t.Repo, "-raw_error=true"}, "", env); err != nil {
		return err
	}
	parent := os.Getppid()
	look := time.NewTicker(parentPoll)
	defer look.Stop()
	for {
		select {
		case <-k.dead:
			if k.cmd.ProcessState.Success() {
				return nil
			}
			return k.died()
		case <-ctx.Done():
			return context.Cause(ctx)
		case <-look.C:
			if os.Getppid() != parent {
				return ErrOrphan
			}
		}
	}
}
