// Package jupytertest is a kernel for tests: it speaks the protocol and answers as the test says, without any language
// behind it.
package jupytertest

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/go-zeromq/zmq4"

	"lastsip/notebooks/internal/jupyter/wire"
)

// Kernel is a kernel that a test scripts. It is served by Serve.
type Kernel struct {
	// Execute answers one execute_request. Nil replies ok at once.
	Execute func(r *Request)
	// Key signs what it sends; empty: the key of the connection file. A wrong one plays an impostor.
	Key string
	// Mute is the number of kernel_info requests that get no answer.
	Mute int

	mu          sync.Mutex
	code        []string // of all execute_requests, in order
	interrupted chan struct{}
	count       int
	key         []byte
	iopub       zmq4.Socket
	stdin       zmq4.Socket
}

// Code is every piece of code that came over the shell socket, in order.
func (k *Kernel) Code() []string {
	k.mu.Lock()
	defer k.mu.Unlock()
	return append([]string(nil), k.code...)
}

// Request is one execute_request.
type Request struct {
	Code        string
	Silent      bool
	Count       int
	Interrupted <-chan struct{} // closed by an interrupt_request

	kernel *Kernel
	shell  zmq4.Socket
	from   *wire.Message
}

type connection struct {
	IP        string `json:"ip"`
	Shell     int    `json:"shell_port"`
	IOPub     int    `json:"iopub_port"`
	Stdin     int    `json:"stdin_port"`
	Control   int    `json:"control_port"`
	Heartbeat int    `json:"hb_port"`
	Key       string `json:"key"`
}

// Serve serves the connection file until ctx ends or a shutdown is asked for.
func (k *Kernel) Serve(ctx context.Context, file string) error {
	b, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	var conn connection
	if err := json.Unmarshal(b, &conn); err != nil {
		return err
	}
	if k.Key == "" {
		k.Key = conn.Key
	}
	k.key, k.interrupted = []byte(k.Key), make(chan struct{})
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	shell, control, heartbeat := zmq4.NewRouter(ctx), zmq4.NewRouter(ctx), zmq4.NewRep(ctx)
	k.stdin, k.iopub = zmq4.NewRouter(ctx), zmq4.NewPub(ctx)
	for _, s := range []struct {
		socket zmq4.Socket
		port   int
	}{{shell, conn.Shell}, {control, conn.Control}, {k.stdin, conn.Stdin}, {k.iopub, conn.IOPub}, {heartbeat, conn.Heartbeat}} {
		if err := s.socket.Listen(fmt.Sprintf("tcp://%s:%d", conn.IP, s.port)); err != nil {
			return err
		}
		defer s.socket.Close()
	}
	go func() {
		for {
			m, err := heartbeat.Recv()
			if err != nil || heartbeat.Send(m) != nil {
				return
			}
		}
	}()
	go k.control(control, conn.Key, cancel)
	go k.shell(shell, conn.Key)
	<-ctx.Done()
	return nil
}

func (k *Kernel) control(s zmq4.Socket, key string, end func()) {
	for {
		raw, err := s.Recv()
		if err != nil {
			return
		}
		m, err := wire.Parse([]byte(key), raw.Frames)
		if err != nil {
			continue
		}
		switch m.Header.Type {
		case "interrupt_request":
			k.mu.Lock()
			close(k.interrupted)
			k.interrupted = make(chan struct{})
			k.mu.Unlock()
		case "shutdown_request":
			end()
			return
		}
	}
}

func (k *Kernel) shell(s zmq4.Socket, key string) {
	for {
		raw, err := s.Recv()
		if err != nil {
			return
		}
		m, err := wire.Parse([]byte(key), raw.Frames)
		if err != nil {
			continue
		}
		switch m.Header.Type {
		case "kernel_info_request":
			if k.Mute--; k.Mute >= 0 {
				continue
			}
			r := &Request{kernel: k, shell: s, from: m}
			r.Status("busy")
			r.send(s, "kernel_info_reply", map[string]any{"status": "ok", "protocol_version": wire.Version})
			r.Status("idle")
		case "execute_request":
			k.execute(s, m)
		}
	}
}

func (k *Kernel) execute(s zmq4.Socket, m *wire.Message) {
	r := &Request{kernel: k, shell: s, from: m}
	var content struct {
		Code   string `json:"code"`
		Silent bool   `json:"silent"`
	}
	if json.Unmarshal(m.Content, &content) != nil {
		return
	}
	r.Code, r.Silent = content.Code, content.Silent
	k.mu.Lock()
	if !r.Silent {
		k.count++
	}
	r.Count, r.Interrupted = k.count, k.interrupted
	k.code = append(k.code, r.Code)
	k.mu.Unlock()
	if k.Execute == nil {
		r.Status("busy")
		r.Reply("ok")
		r.Status("idle")
		return
	}
	k.Execute(r)
}

// Publish sends a message over iopub.
func (r *Request) Publish(kind string, content any) { r.send(r.kernel.iopub, kind, content) }

// Status publishes "busy" or "idle".
func (r *Request) Status(state string) {
	r.Publish("status", map[string]string{"execution_state": state})
}

// Stream publishes text on "stdout" or "stderr".
func (r *Request) Stream(name, text string) {
	r.Publish("stream", map[string]string{"name": name, "text": text})
}

// Reply answers over shell.
func (r *Request) Reply(status string) {
	r.send(r.shell, "execute_reply", map[string]any{"status": status, "execution_count": r.Count, "ename": "Refused", "evalue": "not today"})
}

// AskInput sends an input_request.
func (r *Request) AskInput() {
	r.send(r.kernel.stdin, "input_request", map[string]any{"prompt": "?", "password": false})
}

func (r *Request) send(s zmq4.Socket, kind string, content any) {
	body, err := json.Marshal(content)
	if err != nil {
		panic(err)
	}
	m := wire.Message{IDs: r.from.IDs, Parent: r.from.Header, Content: body, Header: wire.Header{
		ID: fmt.Sprintf("%s-%s-%d", r.from.Header.ID, kind, time.Now().UnixNano()), Type: kind, Version: wire.Version,
	}}
	frames, err := m.Frames(r.kernel.key)
	if err != nil {
		panic(err)
	}
	_ = s.SendMulti(zmq4.NewMsgFrom(frames...)) // a client that has left is no fault of the kernel
}
