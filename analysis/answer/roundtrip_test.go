package answer

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
)

// filler sets every field of an answer to something of its own.
type filler struct{ n int }

func (f *filler) fill(t *testing.T, v reflect.Value) {
	t.Helper()
	f.n++
	if num, ok := v.Addr().Interface().(*Num); ok {
		if *num = Of(float64(f.n) / 3); f.n%5 == 0 {
			*num = Of(math.Inf(1))
		}
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(fmt.Sprintf("text %d \u00a0é <&>", f.n))
	case reflect.Int:
		v.SetInt(int64(f.n))
	case reflect.Float64:
		v.SetFloat(1 / float64(f.n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Struct:
		for i := range v.NumField() {
			require.True(t, v.Type().Field(i).IsExported(), "%s.%s would be lost", v.Type(), v.Type().Field(i).Name)
			f.fill(t, v.Field(i))
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		f.fill(t, v.Index(0))
		f.fill(t, v.Index(1))
	case reflect.Array:
		for i := range v.Len() {
			f.fill(t, v.Index(i))
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		f.fill(t, v.Elem())
	default:
		t.Fatalf("%s: a %s in an answer does not survive", v.Type(), v.Kind())
	}
}

// Every field of every kind of answer survives a round trip through JSON, full and empty.
func TestEveryFieldSurvives(t *testing.T) {
	for kind, empty := range kinds {
		for _, full := range []bool{false, true} {
			a := empty()
			if full {
				new(filler).fill(t, reflect.ValueOf(a).Elem())
			}
			b, err := Encode(a)
			require.NoError(t, err, kind)
			back, err := Decode(b)
			require.NoError(t, err, kind)
			require.Equal(t, a, back, kind)
			again, err := Encode(back)
			require.NoError(t, err, kind)
			require.Equal(t, string(b), string(again), kind)
		}
	}
}
