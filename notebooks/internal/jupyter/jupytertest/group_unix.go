//go:build unix

package jupytertest

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
)

// GroupGone tells whether no process of a process group is left. Processes that have ended and only wait for process 1 to
// take notice, which in some containers never does, are gone; they can be told where there is a /proc.
func GroupGone(group int) bool {
	if errors.Is(syscall.Kill(-group, 0), syscall.ESRCH) {
		return true
	}
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil || len(stats) == 0 {
		return false
	}
	for _, name := range stats {
		b, err := os.ReadFile(name)
		if err != nil {
			continue // it ended while we looked
		}
		// pid (command) state ppid pgrp ...; the command may hold anything
		f := bytes.Fields(b[bytes.LastIndexByte(b, ')')+1:])
		if len(f) > 2 && string(f[2]) == strconv.Itoa(group) && string(f[0]) != "Z" {
			return false
		}
	}
	return true
}
