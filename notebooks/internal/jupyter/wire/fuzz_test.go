package wire

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzParse sends frames that anybody could: they never panic, and pass only with the right signature. Signed with our key
// they either fail with an error or come back as they were.
func FuzzParse(f *testing.F) {
	f.Add([]byte("id\x00<IDS|MSG>\x00sig\x00{}\x00{}\x00{}\x00{}"), []byte(`{"msg_id":"1","msg_type":"stream"}`), []byte(`{"text":"x"}`))
	f.Add([]byte("<IDS|MSG>"), []byte(`{}`), []byte(`null`))
	f.Add([]byte(""), []byte(`[1`), []byte(``))
	key := []byte("key")
	f.Fuzz(func(t *testing.T, raw, head, content []byte) {
		if m, err := Parse(key, bytes.Split(raw, []byte{0})); err == nil {
			t.Fatalf("unsigned frames were taken for a message: %+v", m)
		}
		body := [][]byte{head, []byte("{}"), []byte("{}"), content}
		frames := append([][]byte{[]byte("id"), []byte(delimiter), sign(key, body)}, body...)
		m, err := Parse(key, frames)
		if err != nil {
			return
		}
		again, err := m.Frames(key)
		require.NoError(t, err)
		back, err := Parse(key, again)
		require.NoError(t, err)
		require.Equal(t, m.Header, back.Header)
		require.Equal(t, m.Content, back.Content)
	})
}
