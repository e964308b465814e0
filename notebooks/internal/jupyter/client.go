package jupyter

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"sync"
	"time"

	"github.com/go-zeromq/zmq4"

	"lastsip/notebooks/internal/jupyter/wire"
)

const (
	dialRetry    = 20 * time.Millisecond
	sendTimeout  = 2 * time.Second
	askAgain     = 100 * time.Millisecond
	replyTimeout = 5 * time.Second // between idle and a reply that is still on its way
)

// Client speaks with one kernel. Execute is called by one goroutine at a time; Interrupt, Shutdown and Close by any.
type Client struct {
	key     []byte
	session string
	cancel  context.CancelCauseFunc
	ctx     context.Context

	shell, iopub, control, stdin, heartbeat zmq4.Socket
	shellIn, iopubIn, stdinIn, controlIn    chan *wire.Message

	mu       sync.Mutex
	sent     int // messages sent, for their ids
	displays map[string][]place
	readers  sync.WaitGroup
}

// Dial connects to a kernel that listens, or is about to, and shakes hands: kernel_info is asked until both a reply and an
// iopub message have come, since the first ones can be lost while the subscription travels. It gives up when ctx ends,
// with the cause of ctx.
func Dial(ctx context.Context, conn *Connection) (*Client, error) {
	if err := conn.check(); err != nil {
		return nil, err
	}
	id := make([]byte, 16)
	if _, err := rand.Read(id); err != nil {
		return nil, err
	}
	c := &Client{key: []byte(conn.Key), session: hex.EncodeToString(id), displays: map[string][]place{}}
	// The sockets outlive ctx, which bounds the handshake only.
	c.ctx, c.cancel = context.WithCancelCause(context.WithoutCancel(ctx))
	stop := context.AfterFunc(ctx, func() { c.cancel(context.Cause(ctx)) })
	defer stop()
	c.open()
	if err := c.connect(conn); err != nil {
		c.Close()
		return nil, err
	}
	if err := c.handshake(); err != nil {
		c.Close()
		return nil, err
	}
	return c, nil
}

// open makes the sockets.
func (c *Client) open() {
	options := []zmq4.Option{
		zmq4.WithID(zmq4.SocketIdentity(c.session)),
		zmq4.WithTimeout(sendTimeout),
		zmq4.WithDialerRetry(dialRetry),
		zmq4.WithDialerMaxRetries(-1), // until the context ends
		zmq4.WithLogger(log.New(io.Discard, "", 0)),
	}
	c.shell = zmq4.NewDealer(c.ctx, options...)
	c.control = zmq4.NewDealer(c.ctx, options...)
	c.stdin = zmq4.NewDealer(c.ctx, options...)
	c.iopub = zmq4.NewSub(c.ctx, options[1:]...)
	c.heartbeat = zmq4.NewReq(c.ctx, options[1:]...)
	c.shellIn, c.iopubIn = make(chan *wire.Message), make(chan *wire.Message)
	c.controlIn, c.stdinIn = make(chan *wire.Message), make(chan *wire.Message)
}

func (c *Client) connect(conn *Connection) error {
	if err := c.iopub.SetOption(zmq4.OptionSubscribe, ""); err != nil {
		return err
	}
	for _, s := range []struct {
		socket zmq4.Socket
		port   int
		name   string
		in     chan *wire.Message
	}{
		{c.iopub, conn.IOPub, "iopub", c.iopubIn},
		{c.shell, conn.Shell, "shell", c.shellIn},
		{c.control, conn.Control, "control", c.controlIn},
		{c.stdin, conn.Stdin, "stdin", c.stdinIn},
		{c.heartbeat, conn.Heartbeat, "heartbeat", nil},
	} {
		if err := s.socket.Dial(conn.address(s.port)); err != nil {
			if c.ctx.Err() != nil {
				return context.Cause(c.ctx)
			}
			return fmt.Errorf("kernel socket %s: %w", s.name, err)
		}
		if s.in != nil {
			c.readers.Add(1)
			go c.read(s.name, s.socket, s.in)
		}
	}
	c.readers.Add(1)
	go c.drainControl()
	return nil
}

// read passes the messages of one socket on until the client closes; a broken connection or a wrong signature closes it.
func (c *Client) read(name string, socket zmq4.Socket, to chan<- *wire.Message) {
	defer c.readers.Done()
	for {
		raw, err := socket.Recv()
		if err != nil {
			c.cancel(fmt.Errorf("the kernel's %s %w: %w", name, errBroke, err))
			return
		}
		m, err := wire.Parse(c.key, raw.Frames)
		if err != nil {
			if name == "iopub" && !errors.Is(err, wire.ErrSignature) {
				continue
			}
			c.cancel(fmt.Errorf("the kernel's %s connection: %w", name, err))
			return
		}
		select {
		case to <- m:
		case <-c.ctx.Done():
			return
		}
	}
}

// drainControl throws away the replies to interrupt and shutdown, which nobody waits for: some kernels send them over
// another socket.
func (c *Client) drainControl() {
	defer c.readers.Done()
	for {
		select {
		case <-c.controlIn:
		case <-c.ctx.Done():
			return
		}
	}
}

// send sends a request and gives its id.
func (c *Client) send(socket zmq4.Socket, kind string, content any) (string, error) {
	body, err := json.Marshal(content)
	if err != nil {
		return "", err
	}
	c.mu.Lock()
	defer c.mu.Unlock() // also keeps the frames of two senders apart
	c.sent++
	m := &wire.Message{Content: body, Header: wire.Header{
		ID: fmt.Sprintf("%s_%d", c.session, c.sent), Session: c.session, Username: "lastsip", Type: kind, Version: wire.Version,
		Date: time.Now().UTC().Format(time.RFC3339Nano),
	}}
	frames, err := m.Frames(c.key)
	if err != nil {
		return "", err
	}
	if err := socket.SendMulti(zmq4.NewMsgFrom(frames...)); err != nil {
		if c.ctx.Err() != nil {
			return "", context.Cause(c.ctx)
		}
		return "", fmt.Errorf("send %s to the kernel: %w", kind, err)
	}
	return m.Header.ID, nil
}

// handshake asks for kernel_info until shell and iopub have both answered, and sends one heartbeat.
func (c *Client) handshake() error {
	if _, err := c.send(c.shell, "kernel_info_request", struct{}{}); err != nil {
		return err
	}
	again := time.NewTicker(askAgain)
	defer again.Stop()
	replied, published := false, false
	for !replied || !published {
		select {
		case m := <-c.shellIn:
			replied = replied || m.Header.Type == "kernel_info_reply"
		case <-c.iopubIn:
			published = true
		case <-again.C:
			if _, err := c.send(c.shell, "kernel_info_request", struct{}{}); err != nil {
				return err
			}
		case <-c.ctx.Done():
			return context.Cause(c.ctx)
		}
	}
	if err := c.heartbeat.Send(zmq4.NewMsgString("ping")); err != nil {
		return fmt.Errorf("kernel heartbeat: %w", err)
	}
	beat := make(chan error, 1)
	go func() { _, err := c.heartbeat.Recv(); beat <- err }()
	select {
	case err := <-beat:
		if err != nil && c.ctx.Err() == nil {
			return fmt.Errorf("kernel heartbeat: %w", err)
		}
		return context.Cause(c.ctx)
	case <-c.ctx.Done():
		return context.Cause(c.ctx)
	}
}

// Interrupt asks the kernel, over control, to interrupt what runs. It does not wait for the kernel to do so.
func (c *Client) Interrupt() error {
	_, err := c.send(c.control, "interrupt_request", struct{}{})
	return err
}

// Shutdown asks the kernel, over control, to end. It does not wait for the kernel to do so. A connection that breaks while
// it asks is a kernel that ends, which is no failure.
func (c *Client) Shutdown() error {
	_, err := c.send(c.control, "shutdown_request", map[string]bool{"restart": false})
	if errors.Is(err, errBroke) {
		return nil
	}
	return err
}

// errBroke marks a connection that the kernel's side closed.
var errBroke = errors.New("connection broke")

var errClosed = errors.New("the connection to the kernel is closed")

// Close closes the sockets; what runs in Execute ends with an error.
func (c *Client) Close() {
	c.cancel(errClosed)
	for _, s := range []zmq4.Socket{c.shell, c.iopub, c.control, c.stdin, c.heartbeat} {
		s.Close() // the kernel is going anyway: an error here has no reader
	}
	c.readers.Wait()
}
