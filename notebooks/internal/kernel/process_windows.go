package kernel

import (
	"errors"
	"os"
	"os/exec"
)

var errWindows = errors.New("notebooks need Linux or macOS: the Go notebook kernel does not build on Windows (in WSL it does); `answer` and `check` work here")

func supported() error { return errWindows }

func ownedByUs(os.FileInfo) bool { return true }

func lock(string, bool) (*os.File, error) { return nil, errWindows }

func groupOnly(*exec.Cmd) {}

type group struct{}

func watch(int) (*group, error) { return nil, errWindows }

func (*group) kill() {}
