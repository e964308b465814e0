package panelcsv

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"time"

	"lastsip/analysis/dataerr"
)

const descriptorFile = "datapackage.json"

// resources are the files that the descriptor may give another name inside the folder.
var resources = []string{"tastes", "pours", "rounds", "readings", "choices", "rankings", "paces", "key"}

// descriptor is what datapackage.json says about a tasting; nothing here is a default.
type descriptor struct {
	file          string
	title         string
	paths         map[string]string // resource: file within the folder
	badPaths      []string          // resources whose path cannot be used
	date, start   string
	attributes    []attributeSpec
	hasAttributes bool
	overall       *setting[string]
	primeLimit    *setting[float64]
	rejectLimit   *setting[float64]
	primeDrop     *setting[float64]
	sameMargin    *setting[float64]
	improvesFirst *setting[bool]
	unclear       *setting[string]
	accept        *setting[[]string]
	reject        *setting[[]string]
	roomC         *setting[float64]
	sipML         *setting[float64]
	drinkG        *setting[float64]
	allergens     *setting[[]string]
	invented      bool
}

// path gives the file of a resource; empty where the descriptor, if there is one, does not say.
func (d *descriptor) path(resource string) string {
	if d == nil {
		return ""
	}
	return d.paths[resource]
}

// setting is a value with the line that gave it; nil when it was not given.
type setting[T any] struct {
	value T
	line  int
}

// attributeSpec is an attribute as the descriptor gives it.
type attributeSpec struct {
	name                string
	line                int
	bad                 bool // has faults: nothing more is said about it
	category            bool
	low, high           *setting[float64]
	lowMeans, highMeans string
	better              *setting[string]
	best, limit         *setting[float64]
}

// readDescriptor reads datapackage.json where there is one. A descriptor with faults is kept as far as it goes, so that the
// faults of the other files are told in the same breath.
func (r *reader) readDescriptor() {
	file := r.written(descriptorFile)
	if file == "" {
		return
	}
	shown := r.shown(file)
	raw, text, bad := slurp(r.fsys, file, shown)
	var root *node
	if bad == nil {
		root, bad = parseJSON(shown, text)
	}
	if bad != nil {
		r.faults = append(r.faults, bad)
		return
	}
	r.raw[file] = raw
	d := &descriptor{file: shown, paths: map[string]string{}}
	r.desc = d
	if root.kind != jsonObject {
		r.jsonFault(root.line, "", root.written(), dataerr.ErrFormat, "the descriptor is one object: {\"tasting\": {...}}")
		return
	}
	r.keys(root, "", map[string]func(*node, string){
		"title":     func(n *node, path string) { d.title = r.text(n, path) },
		"resources": func(n *node, path string) { r.resources(n, path) },
		"tasting":   func(n *node, path string) { r.tasting(n, path) },
	}, nil)
}

func (r *reader) jsonFault(line int, path, value string, err error, want string) {
	r.fault(dataerr.Cell{File: r.desc.file, Row: line, Column: path, Value: value, Err: err, Want: want})
}

// keys hands every member of an object to its handler. A key that stands twice is a fault; an unknown one goes to unknown.
func (r *reader) keys(n *node, path string, handle map[string]func(*node, string), unknown func(member, string)) {
	seen := map[string]bool{}
	for _, m := range n.members {
		at := strings.TrimPrefix(path+"."+m.key, ".")
		if seen[m.key] {
			r.jsonFault(m.line, at, m.value.written(), dataerr.ErrDuplicate, "give every key once")
			continue
		}
		seen[m.key] = true
		h, ok := handle[m.key]
		switch {
		case ok && m.value.kind == jsonNull: // null is an empty cell
		case ok:
			h(m.value, at)
		case unknown != nil:
			unknown(m, at)
		}
	}
}

// unknownKey warns of a key that nothing reads, which may be a slip of the pen.
func (r *reader) unknownKey(m member, path string) {
	r.find(dataerr.Cell{File: r.desc.file, Row: m.line, Column: path, Value: m.value.written(), Err: dataerr.ErrUnknown, Want: "nothing reads this key; is it spelled right?"})
}

func (r *reader) tasting(n *node, path string) {
	if n.kind != jsonObject {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrFormat, "write an object: {\"attributes\": [...]}")
		return
	}
	d := r.desc
	r.keys(n, path, map[string]func(*node, string){
		"date":             func(n *node, p string) { d.date = r.date(n, p) },
		"start":            func(n *node, p string) { d.start = r.start(n, p) },
		"attributes":       r.attributeList,
		"overall":          func(n *node, p string) { d.overall = r.textSetting(n, p) },
		"prime_limit":      func(n *node, p string) { d.primeLimit = r.numberSetting(n, p) },
		"reject_limit":     func(n *node, p string) { d.rejectLimit = r.numberSetting(n, p) },
		"prime_drop":       func(n *node, p string) { d.primeDrop = r.positive(n, p, "points") },
		"same_margin":      func(n *node, p string) { d.sameMargin = r.positive(n, p, "points") },
		"improves_first":   func(n *node, p string) { d.improvesFirst = r.boolSetting(n, p) },
		"unclear":          func(n *node, p string) { d.unclear = r.choice(n, p, "either_side", "first_no", "last_yes") },
		"verdicts":         r.verdictWords,
		"room_c":           func(n *node, p string) { d.roomC = r.room(n, p) },
		"sip_ml":           func(n *node, p string) { d.sipML = r.positive(n, p, "mL") },
		"standard_drink_g": func(n *node, p string) { d.drinkG = r.positive(n, p, "grams of ethanol") },
		"allergens":        func(n *node, p string) { d.allergens = r.textList(n, p) },
		"invented": func(n *node, p string) {
			if b := r.boolSetting(n, p); b != nil {
				d.invented = b.value
			}
		},
	}, r.unknownKey)
}

func (r *reader) attributeList(n *node, path string) {
	r.desc.hasAttributes = true
	if n.kind != jsonList {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrFormat, "write a list of attributes: [{\"name\": \"liking\", \"low\": 0, \"high\": 10}]")
		return
	}
	seen := map[string]bool{}
	for i, item := range n.items {
		at := fmt.Sprintf("%s[%d]", path, i+1)
		if item.kind != jsonObject {
			r.jsonFault(item.line, at, item.written(), dataerr.ErrFormat, "an attribute is an object: {\"name\": \"liking\", \"low\": 0, \"high\": 10}")
			continue
		}
		a := attributeSpec{line: item.line}
		before := len(r.faults)
		r.keys(item, at, map[string]func(*node, string){
			"name": func(n *node, p string) { a.name = r.text(n, p) },
			"scale": func(n *node, p string) {
				s := r.choice(n, p, "line", "category")
				a.category = s != nil && s.value == "category"
			},
			"low":        func(n *node, p string) { a.low = r.numberSetting(n, p) },
			"high":       func(n *node, p string) { a.high = r.numberSetting(n, p) },
			"low_means":  func(n *node, p string) { a.lowMeans = r.text(n, p) },
			"high_means": func(n *node, p string) { a.highMeans = r.text(n, p) },
			"better":     func(n *node, p string) { a.better = r.choice(n, p, "high", "low", "middle") },
			"best":       func(n *node, p string) { a.best = r.numberSetting(n, p) },
			"limit":      func(n *node, p string) { a.limit = r.numberSetting(n, p) },
		}, r.unknownKey)
		a.bad = len(r.faults) > before
		switch low := strings.ToLower(a.name); {
		case a.name == "" && a.bad: // told already
		case a.name == "":
			r.jsonFault(item.line, at+".name", "", dataerr.ErrMissing, "name the column of tastes.csv that holds the scores")
		case seen[a.name]:
			r.jsonFault(item.line, at+".name", a.name, dataerr.ErrDuplicate, "give every attribute once")
		case slices.Contains(tastesColumns, low) || slices.Contains(frameOnly, low):
			r.jsonFault(item.line, at+".name", a.name, dataerr.ErrConflict, "this name is taken by a column of ours; give the attribute another")
		default:
			seen[a.name] = true
			r.desc.attributes = append(r.desc.attributes, a)
		}
	}
}

func (r *reader) verdictWords(n *node, path string) {
	if n.kind != jsonObject {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrFormat, "write {\"accept\": [\"yes\"], \"reject\": [\"no\"]}")
		return
	}
	r.keys(n, path, map[string]func(*node, string){
		"accept": func(n *node, p string) { r.desc.accept = r.textList(n, p) },
		"reject": func(n *node, p string) { r.desc.reject = r.textList(n, p) },
	}, r.unknownKey)
	if r.desc.accept == nil || r.desc.reject == nil {
		return
	}
	for _, w := range r.desc.reject.value {
		if slices.ContainsFunc(r.desc.accept.value, func(a string) bool { return strings.EqualFold(a, w) }) {
			r.jsonFault(r.desc.reject.line, path+".reject", w, dataerr.ErrConflict, "the same word means accept; a word has one meaning")
		}
	}
}

// resources reads where the files of ours lie. Resources of other names belong to others.
func (r *reader) resources(n *node, path string) {
	if n.kind != jsonList {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrFormat, "write a list: [{\"name\": \"tastes\", \"path\": \"tastes.csv\"}]")
		return
	}
	for i, item := range n.items {
		at := fmt.Sprintf("%s[%d]", path, i+1)
		if item.kind != jsonObject {
			r.jsonFault(item.line, at, item.written(), dataerr.ErrFormat, "a resource is an object: {\"name\": \"tastes\", \"path\": \"tastes.csv\"}")
			continue
		}
		name, file, line := "", (*node)(nil), item.line
		r.keys(item, at, map[string]func(*node, string){
			"name": func(n *node, p string) { name = strings.ToLower(r.text(n, p)) },
			"path": func(n *node, _ string) { file, line = n, n.line },
		}, nil)
		if !slices.Contains(resources, name) || file == nil {
			continue
		}
		if _, twice := r.desc.paths[name]; twice {
			r.jsonFault(line, at+".name", name, dataerr.ErrDuplicate, "give every resource once")
			continue
		}
		if file.kind != jsonString || !inside(file.text) {
			r.jsonFault(line, at+".path", file.written(), dataerr.ErrRange, "name one file inside the session folder, such as "+name+".csv")
			r.desc.badPaths = append(r.desc.badPaths, name)
			continue
		}
		r.desc.paths[name] = file.text
	}
}

// inside tells whether a path stays within the folder on every system.
func inside(p string) bool {
	return fs.ValidPath(p) && p != "." && !strings.ContainsAny(p, `\:`)
}

func (r *reader) text(n *node, path string) string {
	if n.kind != jsonString {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrFormat, "write text in quotation marks")
		return ""
	}
	return strings.TrimSpace(n.text)
}

func (r *reader) textSetting(n *node, path string) *setting[string] {
	s := r.text(n, path)
	if s == "" {
		return nil
	}
	return &setting[string]{s, n.line}
}

func (r *reader) textList(n *node, path string) *setting[[]string] {
	if n.kind != jsonList {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrFormat, "write a list of words: [\"yes\", \"accept\"]")
		return nil
	}
	out := &setting[[]string]{line: n.line}
	for i, item := range n.items {
		if s := r.text(item, fmt.Sprintf("%s[%d]", path, i+1)); s != "" {
			out.value = append(out.value, s)
		}
	}
	return out
}

func (r *reader) boolSetting(n *node, path string) *setting[bool] {
	if n.kind != jsonBool {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrFormat, "write true or false")
		return nil
	}
	return &setting[bool]{n.text == "true", n.line}
}

func (r *reader) numberSetting(n *node, path string) *setting[float64] {
	if n.kind != jsonNumber {
		r.jsonFault(n.line, path, n.written(), dataerr.ErrNumber, "write a number without quotation marks, such as 4.5")
		return nil
	}
	x, err, want := number(n.text)
	if err != nil {
		r.jsonFault(n.line, path, n.text, err, want)
		return nil
	}
	return &setting[float64]{x, n.line}
}

func (r *reader) positive(n *node, path, unit string) *setting[float64] {
	s := r.numberSetting(n, path)
	if s != nil && !(s.value > 0) {
		r.jsonFault(n.line, path, n.text, dataerr.ErrRange, "write a number above 0 ("+unit+")")
		return nil
	}
	return s
}

func (r *reader) room(n *node, path string) *setting[float64] {
	s := r.numberSetting(n, path)
	if s != nil && !(s.value >= -10 && s.value <= 50) {
		r.jsonFault(n.line, path, n.text, dataerr.ErrRange, "write degrees Celsius between -10 and 50")
		return nil
	}
	return s
}

func (r *reader) choice(n *node, path string, words ...string) *setting[string] {
	for _, w := range words {
		if n.kind == jsonString && strings.TrimSpace(n.text) == w {
			return &setting[string]{w, n.line}
		}
	}
	r.jsonFault(n.line, path, n.written(), dataerr.ErrUnknown, "write one of: "+strings.Join(words, ", "))
	return nil
}

func (r *reader) date(n *node, path string) string {
	s := r.text(n, path)
	if s == "" {
		return ""
	}
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		r.jsonFault(n.line, path, s, dataerr.ErrTime, "write a date such as 2031-03-04")
		return ""
	}
	return s
}

func (r *reader) start(n *node, path string) string {
	s := r.text(n, path)
	if s == "" {
		return ""
	}
	if _, ok := parseClock(s); !ok {
		r.jsonFault(n.line, path, s, dataerr.ErrTime, wantClock)
		return ""
	}
	return s
}
