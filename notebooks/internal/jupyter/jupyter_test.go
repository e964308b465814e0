package jupyter

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastsip/notebooks/internal/jupyter/jupytertest"
	"lastsip/notebooks/internal/jupyter/wire"
	"lastsip/notebooks/internal/nbformat"
)

// start serves a kernel and gives its connection and a way to kill it.
func start(t *testing.T, k *jupytertest.Kernel) (*Connection, func()) {
	t.Helper()
	conn, err := NewConnection()
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "kernel.json")
	require.NoError(t, conn.WriteFile(file))
	ctx, kill := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- k.Serve(ctx, file) }()
	t.Cleanup(func() { kill(); require.NoError(t, <-done) })
	return conn, kill
}

func dial(t *testing.T, k *jupytertest.Kernel) (*Client, func()) {
	t.Helper()
	conn, kill := start(t, k)
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	c, err := Dial(ctx, conn)
	require.NoError(t, err)
	t.Cleanup(c.Close)
	return c, kill
}

func TestConnectionFileIsPrivateAndLocal(t *testing.T) {
	conn, err := NewConnection()
	require.NoError(t, err)
	require.Equal(t, "127.0.0.1", conn.IP)
	require.Len(t, conn.Key, 64)
	ports := map[int]bool{conn.Shell: true, conn.IOPub: true, conn.Stdin: true, conn.Control: true, conn.Heartbeat: true}
	require.Len(t, ports, 5)
	for port := range ports {
		require.Less(t, port, 32768, "below the ports of outgoing connections")
	}
	file := filepath.Join(t.TempDir(), "k.json")
	require.NoError(t, conn.WriteFile(file))
	info, err := os.Stat(file)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	for _, change := range []func(c *Connection){
		func(c *Connection) { c.IP = "192.0.2.1" },
		func(c *Connection) { c.Transport = "ipc" },
		func(c *Connection) { c.Key = "" },
	} {
		bad := *conn
		change(&bad)
		_, err := Dial(context.Background(), &bad)
		require.Error(t, err)
	}
}

func TestHandshakeRepeatsLostRequests(t *testing.T) {
	dial(t, &jupytertest.Kernel{Mute: 3})
}

func TestHandshakeGivesUpWithTheCause(t *testing.T) {
	conn, err := NewConnection()
	require.NoError(t, err)
	why := errors.New("kernel never came")
	ctx, cancel := context.WithTimeoutCause(context.Background(), 200*time.Millisecond, why)
	defer cancel()
	_, err = Dial(ctx, conn)
	require.ErrorIs(t, err, why)
}

func TestImpostorIsRefused(t *testing.T) {
	conn, _ := start(t, &jupytertest.Kernel{Key: "not the key"})
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	_, err := Dial(ctx, conn)
	require.ErrorIs(t, err, wire.ErrSignature)
}

func TestExecuteGathersOutputs(t *testing.T) {
	c, _ := dial(t, &jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
		r.Status("busy")
		r.Stream("stdout", "a")
		r.Stream("stdout", "b\n")
		r.Stream("stderr", "first\n")
		r.Stream("stderr", "exit status 3\n")
		r.Publish("display_data", map[string]any{"data": map[string]any{"image/svg+xml": "<svg/>", "application/x+json": 1.50}, "metadata": map[string]any{"w": 1}, "transient": map[string]any{"display_id": "d"}})
		r.Publish("execute_result", map[string]any{"data": map[string]any{"text/plain": "5"}, "metadata": map[string]any{}, "execution_count": r.Count})
		r.Publish("update_display_data", map[string]any{"data": map[string]any{"text/plain": "new"}, "metadata": map[string]any{}, "transient": map[string]any{"display_id": "d"}})
		r.Publish("error", map[string]any{"ename": "E", "evalue": "v", "traceback": []string{"t"}})
		r.Reply("error")
		r.Status("idle")
	}})
	got, err := c.Execute(context.Background(), "x", Options{})
	require.NoError(t, err)
	one := 1
	require.Equal(t, []nbformat.Output{
		{Type: "stream", Name: "stdout", Text: "ab\n"},
		{Type: "stream", Name: "stderr", Text: "first\nexit status 3\n"},
		{Type: "display_data", Data: map[string]any{"text/plain": "new"}, Metadata: map[string]any{}},
		{Type: "execute_result", Data: map[string]any{"text/plain": "5"}, Metadata: map[string]any{}, ExecutionCount: &one},
		{Type: "error", EName: "E", EValue: "v", Traceback: []string{"t"}},
	}, got.Outputs)
	require.Equal(t, "exit status 3\n", got.LastStderr, "the last message, not joined with the one before")
	require.Equal(t, 1, got.Count)
	require.Equal(t, "error", got.Status)
	require.Equal(t, "Refused: not today", got.Reason)
}

func TestUpdatesReachEarlierCellsAndClearForgets(t *testing.T) {
	show := func(r *jupytertest.Request, kind, id, text string) {
		r.Publish(kind, map[string]any{"data": map[string]any{"text/plain": text}, "metadata": map[string]any{}, "transient": map[string]any{"display_id": id}})
	}
	c, _ := dial(t, &jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
		switch r.Code {
		case "one":
			show(r, "display_data", "a", "old")
		case "two":
			r.Stream("stdout", "gone")
			show(r, "display_data", "b", "gone")
			r.Publish("clear_output", map[string]bool{"wait": true})
			r.Stream("stdout", "kept")
			show(r, "update_display_data", "a", "new")
			show(r, "update_display_data", "b", "nowhere")
		case "three":
			r.Stream("stdout", "gone")
			r.Publish("clear_output", map[string]bool{"wait": false})
		case "four":
			r.Stream("stdout", "stays, as nothing follows")
			r.Publish("clear_output", map[string]bool{"wait": true})
		}
		r.Reply("ok")
		r.Status("idle")
	}})
	var got [4]*Result
	for i, code := range []string{"one", "two", "three", "four"} {
		var err error
		got[i], err = c.Execute(context.Background(), code, Options{})
		require.NoError(t, err)
	}
	require.Equal(t, "new", got[0].Outputs[0].Data["text/plain"])
	require.Equal(t, []nbformat.Output{{Type: "stream", Name: "stdout", Text: "kept"}}, got[1].Outputs)
	require.Empty(t, got[2].Outputs)
	require.Len(t, got[3].Outputs, 1)
}

// The two sockets keep no common order: idle may come before the reply, and messages of other requests come between.
func TestOrderDoesNotMatter(t *testing.T) {
	c, _ := dial(t, &jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
		if r.Code == "idle first" {
			r.Stream("stdout", "x")
			r.Status("idle")
			time.Sleep(50 * time.Millisecond)
			r.Reply("ok")
			return
		}
		r.Reply("ok")
		time.Sleep(50 * time.Millisecond)
		r.Stream("stdout", "late")
		r.Status("idle")
		r.Stream("stdout", "of an earlier request")
		r.Status("idle")
	}})
	for range 3 {
		got, err := c.Execute(context.Background(), "reply first", Options{})
		require.NoError(t, err)
		require.Equal(t, "late", got.Outputs[0].Text)
		require.Len(t, got.Outputs, 1)
		got, err = c.Execute(context.Background(), "idle first", Options{})
		require.NoError(t, err)
		require.Equal(t, "x", got.Outputs[0].Text)
	}
}

func TestSilentIsNotCounted(t *testing.T) {
	k := &jupytertest.Kernel{}
	c, _ := dial(t, k)
	_, err := c.Execute(context.Background(), "quiet", Options{Silent: true})
	require.NoError(t, err)
	got, err := c.Execute(context.Background(), "loud", Options{})
	require.NoError(t, err)
	require.Equal(t, 1, got.Count)
	require.Equal(t, []string{"quiet", "loud"}, k.Code())
}

// endless prints until interrupted.
func endless(r *jupytertest.Request) {
	for i := 0; ; i++ {
		select {
		case <-r.Interrupted:
			r.Stream("stderr", "signal: interrupt\n")
			r.Reply("ok")
			r.Status("idle")
			return
		default:
			r.Stream("stdout", fmt.Sprintln("line", i))
		}
	}
}

func TestFloodIsInterrupted(t *testing.T) {
	c, _ := dial(t, &jupytertest.Kernel{Execute: endless})
	got, err := c.Execute(context.Background(), "x", Options{MaxBytes: 100_000})
	require.ErrorIs(t, err, ErrFlood)
	require.NotErrorIs(t, err, ErrStuck)
	require.ErrorContains(t, err, "100000 bytes")
	require.Less(t, len(got.Outputs[0].Text), 100_000, "what comes after the bound is thrown away")
	require.True(t, strings.HasPrefix(got.Outputs[0].Text, "line 0\nline 1\n"))
}

func TestEndedContextInterrupts(t *testing.T) {
	c, _ := dial(t, &jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
		if r.Code == "deaf" {
			r.Stream("stdout", "before")
			return
		}
		<-r.Interrupted
		r.Stream("stdout", "last words")
		r.Reply("ok")
		r.Status("idle")
	}})
	why := errors.New("time is up")
	for _, code := range []string{"hears", "deaf"} {
		ctx, cancel := context.WithTimeoutCause(context.Background(), 100*time.Millisecond, why)
		defer cancel()
		got, err := c.Execute(ctx, code, Options{Grace: 300 * time.Millisecond})
		require.ErrorIs(t, err, why)
		require.Equal(t, code == "deaf", errors.Is(err, ErrStuck))
		require.Len(t, got.Outputs, 1)
	}
}

func TestInputIsRefused(t *testing.T) {
	c, _ := dial(t, &jupytertest.Kernel{Execute: func(r *jupytertest.Request) {
		r.AskInput()
		<-r.Interrupted
		r.Reply("ok")
		r.Status("idle")
	}})
	_, err := c.Execute(context.Background(), "x", Options{})
	require.ErrorIs(t, err, ErrInput)
}

func TestDeadKernelIsSeen(t *testing.T) {
	started := make(chan struct{})
	c, kill := dial(t, &jupytertest.Kernel{Execute: func(*jupytertest.Request) { close(started) }})
	go func() { <-started; kill() }()
	begin := time.Now()
	_, err := c.Execute(context.Background(), "x", Options{})
	require.ErrorContains(t, err, "connection broke")
	require.Less(t, time.Since(begin), 5*time.Second)
	_, err = c.Execute(context.Background(), "y", Options{})
	require.Error(t, err)
}

func TestMissingReplyIsAnError(t *testing.T) {
	t.Parallel() // waits out the time a reply may lag
	c, _ := dial(t, &jupytertest.Kernel{Execute: func(r *jupytertest.Request) { r.Status("idle") }})
	_, err := c.Execute(context.Background(), "x", Options{})
	require.ErrorContains(t, err, "without replying")
}
