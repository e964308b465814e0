package answer

import (
	"encoding/json"
	"fmt"
	"reflect"
)

// kinds names every answer type in its JSON form.
var kinds = map[string]func() Answer{
	"data":            func() Answer { return new(Data) },
	"glass":           func() Answer { return new(Glass) },
	"scores":          func() Answer { return new(Scores) },
	"rejections":      func() Answer { return new(Rejections) },
	"lifetime":        func() Answer { return new(Lifetime) },
	"serve_by":        func() Answer { return new(ServeBy) },
	"differences":     func() Answer { return new(Differences) },
	"compare":         func() Answer { return new(Compare) },
	"age_differences": func() Answer { return new(AgeDifferences) },
	"goes_first":      func() Answer { return new(GoesFirst) },
	"readings":        func() Answer { return new(Readings) },
	"prime_window":    func() Answer { return new(PrimeWindow) },
	"provenance":      func() Answer { return new(Provenance) },
}

type envelope struct {
	Kind   string          `json:"kind"`
	Answer json.RawMessage `json:"answer"`
}

// Encode writes an answer as JSON that Decode turns back into an equal answer.
func Encode(a Answer) ([]byte, error) {
	for kind, empty := range kinds {
		if reflect.TypeOf(a) != reflect.TypeOf(empty()) {
			continue
		}
		body, err := json.Marshal(a)
		if err != nil {
			return nil, fmt.Errorf("encode %s: %w", kind, err)
		}
		return json.Marshal(envelope{kind, body})
	}
	return nil, fmt.Errorf("encode: %T is not an answer type", a)
}

// Decode reads what Encode wrote.
func Decode(b []byte) (Answer, error) {
	var e envelope
	if err := json.Unmarshal(b, &e); err != nil {
		return nil, fmt.Errorf("decode answer: %w", err)
	}
	empty, ok := kinds[e.Kind]
	if !ok {
		return nil, fmt.Errorf("decode answer: kind %q is not known", e.Kind)
	}
	a := empty()
	if err := json.Unmarshal(e.Answer, a); err != nil {
		return nil, fmt.Errorf("decode %s: %w", e.Kind, err)
	}
	return a, nil
}
