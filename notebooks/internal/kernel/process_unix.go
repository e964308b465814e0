//go:build unix

package kernel

import (
	"errors"
	"io"
	"os"
	"os/exec"
	"syscall"
	"time"
)

func supported() error { return nil }

func ownedByUs(info os.FileInfo) bool {
	s, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(s.Uid) == os.Getuid()
}

// lock opens path and takes an exclusive lock that ends with the file or with the process; wait or fail when it is held.
func lock(path string, wait bool) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	how := syscall.LOCK_EX
	if !wait {
		how |= syscall.LOCK_NB
	}
	for {
		err = syscall.Flock(int(f.Fd()), how)
		if !errors.Is(err, syscall.EINTR) {
			break
		}
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// groupOnly puts a command in a process group of its own, so that Ctrl-C at the terminal reaches us alone, and makes the
// end of its context kill the whole group.
func groupOnly(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) }
	cmd.WaitDelay = time.Second
}

// group is the process group of a kernel.
type group struct {
	id      int
	watcher *exec.Cmd
	hold    io.Closer // our end of the watcher's pipe
}

// watch starts the watcher: a shell in the group that waits for the end of its input, which comes when we close it or die,
// and then kills the group, itself included. This works wherever there is a shell, and for cells as well as the kernel,
// where a parent-death signal (Linux only) would end the kernel alone.
func watch(id int) (*group, error) {
	cmd := exec.Command("/bin/sh", "-c", "read -r line; kill -KILL 0")
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pgid: id}
	hold, err := cmd.StdinPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	return &group{id: id, watcher: cmd, hold: hold}, nil
}

// kill ends every process of the group. The watcher, not yet waited for, keeps the group's number from being given away.
func (g *group) kill() {
	_ = syscall.Kill(-g.id, syscall.SIGKILL) // a group that is gone is what is wanted
	g.hold.Close()
	_ = g.watcher.Wait() // it was killed, and says so
}
