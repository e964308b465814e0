// Package execute runs the code cells of a notebook, in order, each over the kernel's shell socket, and says where and why
// a cell fails.
//
// The kernel answers "ok" for a cell whose program panicked, called os.Exit or log.Fatal, or was killed, and for a shell
// line that failed. Such a cell is known by the last message on stderr before the kernel is idle, which is exactly
// `exit status N` or `signal: NAME` with a line end (a cell that itself writes exactly this, as one piece and as its last
// word on stderr, is taken for failed too: the two cannot be told apart). Compile errors, which name lines of a generated
// file, and traces of panics are mapped to cell, line and column of the notebook; colours and temporary paths are removed.
//
// A cell is bounded in time and in output, and is interrupted beyond either. The first failure ends the run: the notebook
// then holds the outputs up to there and an error output in the failed cell.
//
// Source: behaviour of the gonb kernel v0.11.3, as its source says and as tests here see it.
package execute
