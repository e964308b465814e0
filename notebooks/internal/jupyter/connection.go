package jupyter

import (
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/big"
	"net"
	"os"
	"strconv"
)

// Connection is the content of a connection file.
type Connection struct {
	IP              string `json:"ip"`
	Transport       string `json:"transport"`
	Shell           int    `json:"shell_port"`
	IOPub           int    `json:"iopub_port"`
	Stdin           int    `json:"stdin_port"`
	Control         int    `json:"control_port"`
	Heartbeat       int    `json:"hb_port"`
	Key             string `json:"key"`
	SignatureScheme string `json:"signature_scheme"`
	KernelName      string `json:"kernel_name"`
}

// Ports are drawn below those that systems hand out to outgoing connections (from 32768 on Linux, 49152 elsewhere): a port
// of that range could be taken by any connection between the choice and the kernel's start.
const (
	firstPort = 20000
	ports     = 12000
)

// NewConnection takes five free ports of the loopback interface and a random key of 256 bits. The ports are free, not
// held: another program may take one before the kernel does, in which case the kernel ends and the caller tries again.
func NewConnection() (*Connection, error) {
	c := &Connection{IP: "127.0.0.1", Transport: "tcp", SignatureScheme: "hmac-sha256", KernelName: "gonb"}
	for _, port := range []*int{&c.Shell, &c.IOPub, &c.Stdin, &c.Control, &c.Heartbeat} {
		l, err := listen(c.IP)
		if err != nil {
			return nil, fmt.Errorf("no free port on the loopback interface: %w", err)
		}
		defer l.Close() // all five are held until the last is found, so that they differ
		*port = l.Addr().(*net.TCPAddr).Port
	}
	key := make([]byte, 32)
	if _, err := rand.Read(key); err != nil {
		return nil, err
	}
	c.Key = hex.EncodeToString(key)
	return c, nil
}

// listen holds a free port: one drawn at random, or any where many draws found none.
func listen(ip string) (net.Listener, error) {
	for range 50 {
		n, err := rand.Int(rand.Reader, big.NewInt(ports))
		if err != nil {
			return nil, err
		}
		if l, err := net.Listen("tcp", net.JoinHostPort(ip, strconv.FormatInt(firstPort+n.Int64(), 10))); err == nil {
			return l, nil
		}
	}
	return net.Listen("tcp", net.JoinHostPort(ip, "0"))
}

// WriteFile writes the connection file, readable by its owner only, since it holds the key.
func (c *Connection) WriteFile(path string) error {
	b, err := json.MarshalIndent(c, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(path, append(b, '\n'), 0o600)
}

func (c *Connection) address(port int) string {
	return fmt.Sprintf("%s://%s", c.Transport, net.JoinHostPort(c.IP, fmt.Sprint(port)))
}

// check refuses connections that would leave this machine or go unsigned.
func (c *Connection) check() error {
	ip := net.ParseIP(c.IP)
	switch {
	case c.Transport != "tcp" || ip == nil || !ip.IsLoopback():
		return fmt.Errorf("kernel at %s://%s: only the loopback interface is used", c.Transport, c.IP)
	case c.SignatureScheme != "hmac-sha256" || c.Key == "":
		return fmt.Errorf("kernel connection without a key: messages must be signed with hmac-sha256")
	}
	return nil
}
