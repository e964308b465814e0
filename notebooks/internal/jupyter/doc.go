// Package jupyter is a client of the Jupyter messaging protocol 5.4: it makes a connection file, shakes hands with a kernel
// that listens there, executes code one piece at a time and gathers the outputs as nbformat stores them.
//
// Five ZeroMQ sockets join client and kernel on the loopback interface: shell (requests and replies), iopub (outputs),
// control (interrupt, shutdown), stdin (a kernel asking for input) and heartbeat. Every message is signed with HMAC-SHA256
// under a key made for this kernel alone; a message with a wrong signature ends the connection. Shell, control and stdin
// share one identity, by which the kernel knows to whom it answers.
//
// A piece of code is done when its reply has come over shell and the kernel has reported itself idle for that very request
// over iopub: the two sockets keep no common order. Output beyond a bound, and a request for input, which nobody can
// answer here, interrupt the code.
//
// The package starts no process and knows nothing about Go cells; see kernel and execute.
//
// Source: Jupyter client documentation, "Messaging in Jupyter" (protocol 5.4) and "Making kernels for Jupyter" (connection
// files); ZeroMQ by github.com/go-zeromq/zmq4.
package jupyter
