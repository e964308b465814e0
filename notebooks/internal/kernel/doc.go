// Package kernel builds the Go notebook kernel that go.mod pins and runs it for one notebook at a time.
//
// Prepare does, in this order, `go mod download`, `go build -o DIR tool` (kernel and goimports, the tools of go.mod) and
// `go build ./...`. The tools stay in the user's cache folder under a name made of go.mod, go.sum, Go version and platform,
// so that a later run skips the first two steps, and a changed pin builds anew; what cells import is built by the go
// command itself, whose cache knows every source file: a stale build cannot happen.
//
// Start runs the kernel with the repository as a workspace module, network look-ups off, and a TMPDIR of its own. A cell is
// a Go program that the kernel builds and runs as its child. Everything the kernel starts is in one process group, which
// Close kills; a watcher in that group, holding one end of a pipe, kills it when this process dies, however it dies. The
// folders of runs that were themselves killed are swept at the next start: each running kernel holds a lock on its own.
//
// Install puts a kernelspec with a program of ours where JupyterLab and others look for it; that program calls Launch, with
// everything that Start gives but a client, and says when the checkout has moved on since (Installed.Ready).
//
// It knows nothing of drinks, and needs Linux or macOS: the kernel does not build on Windows, where Start says so.
package kernel
