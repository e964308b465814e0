// Package wire is the signed wire format of Jupyter messages: identities, a delimiter, an HMAC-SHA256 signature in
// hexadecimal, then header, parent header, metadata and content as JSON.
//
// Source: Jupyter client documentation, "Messaging in Jupyter", section "The wire protocol".
package wire

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
)

// Version of the messaging protocol.
const Version = "5.4"

// ErrSignature tells that a message was not signed with the key of the connection.
var ErrSignature = errors.New("message with a wrong signature")

const delimiter = "<IDS|MSG>"

// Header is the header of a message.
type Header struct {
	ID       string `json:"msg_id"`
	Session  string `json:"session"`
	Username string `json:"username"`
	Date     string `json:"date"` // RFC 3339
	Type     string `json:"msg_type"`
	Version  string `json:"version"`
}

// Message is one message; its content stays raw until its type is known.
type Message struct {
	IDs            [][]byte // routing identities before the delimiter
	Header, Parent Header   // Parent without an ID is written as {}
	Metadata       json.RawMessage
	Content        json.RawMessage
}

// Frames writes a message, signed with key.
func (m *Message) Frames(key []byte) ([][]byte, error) {
	head, err := json.Marshal(m.Header)
	if err != nil {
		return nil, err
	}
	parent := []byte("{}")
	if m.Parent.ID != "" {
		if parent, err = json.Marshal(m.Parent); err != nil {
			return nil, err
		}
	}
	meta := m.Metadata
	if meta == nil {
		meta = json.RawMessage("{}")
	}
	body := [][]byte{head, parent, meta, m.Content}
	out := append([][]byte{}, m.IDs...)
	return append(append(out, []byte(delimiter), sign(key, body)), body...), nil
}

// Parse reads the frames of a message and checks its signature; ErrSignature when that is wrong.
func Parse(key []byte, frames [][]byte) (*Message, error) {
	at := -1
	for i, f := range frames {
		if bytes.Equal(f, []byte(delimiter)) {
			at = i
			break
		}
	}
	if at < 0 || len(frames) < at+6 {
		return nil, fmt.Errorf("message of %d frames: a delimiter and five frames after it are wanted", len(frames))
	}
	body := frames[at+2 : at+6]
	if !hmac.Equal(sign(key, body), frames[at+1]) {
		return nil, ErrSignature
	}
	m := &Message{IDs: frames[:at], Metadata: body[2], Content: body[3]}
	if err := json.Unmarshal(body[0], &m.Header); err != nil {
		return nil, fmt.Errorf("message header: %w", err)
	}
	if err := json.Unmarshal(body[1], &m.Parent); err != nil {
		return nil, fmt.Errorf("message parent header: %w", err)
	}
	return m, nil
}

func sign(key []byte, body [][]byte) []byte {
	mac := hmac.New(sha256.New, key)
	for _, f := range body {
		mac.Write(f)
	}
	return []byte(hex.EncodeToString(mac.Sum(nil)))
}
