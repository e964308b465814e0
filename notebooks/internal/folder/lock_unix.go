//go:build unix

package folder

import (
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"
	"time"
)

// hold locks a folder until it is closed or this process ends; nil where the file system cannot.
func hold(dir string) (io.Closer, error) {
	f, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	for begin := time.Now(); ; time.Sleep(10 * time.Millisecond) {
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case err == nil:
			return f, nil
		case errors.Is(err, syscall.EWOULDBLOCK), errors.Is(err, syscall.EINTR):
		default:
			f.Close()
			return nil, nil
		}
		if time.Since(begin) > lockTimeout {
			f.Close()
			return nil, fmt.Errorf("another program has been writing into %s for %v; end it, or try again", dir, lockTimeout)
		}
	}
}
