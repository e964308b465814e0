package wire

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestRoundTripAndTampering(t *testing.T) {
	key := []byte("key")
	m := Message{IDs: [][]byte{[]byte("id")}, Header: Header{ID: "1", Type: "a"}, Parent: Header{ID: "0"}, Content: []byte(`{"x":1}`)}
	frames, err := m.Frames(key)
	require.NoError(t, err)
	got, err := Parse(key, frames)
	require.NoError(t, err)
	require.Equal(t, m.Header, got.Header)
	require.Equal(t, m.Parent, got.Parent)
	require.Equal(t, m.Content, got.Content)
	require.Equal(t, m.IDs, got.IDs)
	for i := 2; i < len(frames); i++ { // every frame after the delimiter is covered
		changed := append([][]byte(nil), frames...)
		changed[i] = append([]byte(" "), frames[i]...)
		_, err := Parse(key, changed)
		require.ErrorIs(t, err, ErrSignature, "frame %d", i)
	}
	_, err = Parse([]byte("other"), frames)
	require.ErrorIs(t, err, ErrSignature)
	for n := range frames {
		_, err := Parse(key, frames[:n])
		require.Error(t, err)
	}
	_, err = Parse(nil, nil)
	require.Error(t, err)
}

// The signature of RFC 4231, test case 2 (HMAC-SHA-256, key "Jefe"), with its text cut into the four frames.
func TestSignatureAgainstRFC4231(t *testing.T) {
	got := sign([]byte("Jefe"), [][]byte{[]byte("what do "), []byte("ya want"), []byte(" for "), []byte("nothing?")})
	require.Equal(t, "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843", string(got))
}
