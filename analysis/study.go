package analysis

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"lastsip/analysis/answer"
	"lastsip/analysis/dataerr"
	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
	"lastsip/datasets"
)

// Answers, under one roof for notebooks.
type (
	Answer         = answer.Answer
	Data           = answer.Data
	Glass          = answer.Glass
	Scores         = answer.Scores
	Rejections     = answer.Rejections
	Lifetime       = answer.Lifetime
	ServeBy        = answer.ServeBy
	Compare        = answer.Compare
	Differences    = answer.Differences
	AgeDifferences = answer.AgeDifferences
	Readings       = answer.Readings
	GoesFirst      = answer.GoesFirst
	PrimeWindow    = answer.PrimeWindow
	Provenance     = answer.Provenance
	Frame          = panelcsv.Frame
)

// demoPrefix marks a session that comes with the program.
const demoPrefix = "demo:"

// Study is one or more tasting sessions, opened and checked. It does not change and may be used from several goroutines.
type Study struct {
	panel   *panel.Panel
	folders []*panelcsv.Folder
	in      answer.Input
	names   []string // tasters as written, sorted: the first is letter A
	drinks  []endpoint.Drink
	keys    []string // of the drinks, as Styles gives them

	mu   sync.Mutex
	done map[endpoint.Drink]*once
}

// once holds the lifetime, the act and the prime window of one drink, computed when first asked for.
type once struct {
	sync.Once
	life *answer.Lifetime
	act  *answer.ServeBy
	err  error

	whole     sync.Once // the prime window with all that stands beside it
	window    *answer.PrimeWindow
	windowErr error
}

// defaultSeed is of whatever draws again.
const defaultSeed = 1

// Open reads session folders, or single files that hold the tastes of a session; "demo:NAME" is a session that comes with the program. Every fault of every folder is told at
// once, each as a *dataerr.Cell in the error's tree. Tasters are shown as letters; see RealNames.
func Open(sources ...string) (*Study, error) {
	if len(sources) == 0 {
		return nil, errors.New("no session given: name a folder that holds a tastes.csv, or one of " + strings.Join(DemoSessions(), ", "))
	}
	var folders []*panelcsv.Folder
	var panels []*panel.Panel
	var bad []error
	for i, src := range sources {
		f, err := openFolder(src)
		if err != nil {
			bad = append(bad, fmt.Errorf("%s:\n%w", src, err))
			continue
		}
		if twice := sameFolder(sources[:i], src); twice != "" {
			bad = append(bad, fmt.Errorf("%s and %s are the same session; name it once", twice, src))
			continue
		}
		for k := range f.Panel.Sessions {
			f.Panel.Sessions[k].Dir = src
		}
		folders = append(folders, f)
		panels = append(panels, f.Panel)
	}
	if bad != nil {
		return nil, errors.Join(bad...)
	}
	p, err := panel.Merge(panels...)
	if err != nil {
		return nil, err
	}
	s := &Study{panel: p, folders: folders, done: map[endpoint.Drink]*once{}}
	for _, t := range p.Tastes {
		s.names = append(s.names, t.Taster)
	}
	for _, c := range p.Choices {
		s.names = append(s.names, c.Taster)
	}
	for _, x := range p.Places {
		s.names = append(s.names, x.Taster)
	}
	slices.Sort(s.names)
	s.names = slices.Compact(s.names)
	s.in = answer.Input{Panel: p, Name: s.Letter, Text: datasets.StyleText, Seed: defaultSeed}.Indexed()
	s.drinks = s.in.Drinks()
	s.keys = keys(s.drinks)
	for _, f := range folders {
		for _, w := range f.Findings {
			s.in.Findings = append(s.in.Findings, at(f, folders, w.Error()))
		}
		for _, n := range f.Notes {
			s.in.Notes = append(s.in.Notes, at(f, folders, n))
		}
	}
	return s, nil
}

// sameFolder finds an earlier source that is the same folder or file under another name.
func sameFolder(earlier []string, src string) string {
	a, err := os.Stat(src)
	if err != nil {
		return ""
	}
	for _, e := range earlier {
		if b, err := os.Stat(e); err == nil && os.SameFile(a, b) {
			return e
		}
	}
	return ""
}

// at names the folder of a message where there are several.
func at(f *panelcsv.Folder, all []*panelcsv.Folder, message string) string {
	if len(all) < 2 || strings.HasPrefix(message, f.Name+"/") {
		return message
	}
	return f.Name + ": " + message
}

func openFolder(src string) (*panelcsv.Folder, error) {
	if name, ok := strings.CutPrefix(src, demoPrefix); ok {
		demo, err := datasets.Open(name)
		if err != nil {
			return nil, err
		}
		return panelcsv.Read(demo, name)
	}
	info, err := os.Stat(src)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &dataerr.Cell{File: src, Err: dataerr.ErrNoFile, Want: "name a folder that holds a tastes.csv"}
	case err != nil:
		return nil, err
	}
	abs, err := filepath.Abs(src)
	if err != nil {
		return nil, err
	}
	if !info.IsDir() {
		return panelcsv.ReadFile(os.DirFS(filepath.Dir(abs)), filepath.Base(abs))
	}
	return panelcsv.Read(os.DirFS(abs), filepath.Base(abs))
}

// WriteLong writes the files of the one session that was opened into a new or empty folder, byte for byte but for a wide
// table, which is written in the long form; whole or not at all.
func (s *Study) WriteLong(dir string) error {
	if len(s.folders) != 1 {
		return fmt.Errorf("the long form of one session is written, %d were named", len(s.folders))
	}
	return panelcsv.WriteFolder(dir, s.folders[0].Long())
}

// DemoSessions names the sessions that come with the program, as Open takes them.
func DemoSessions() []string {
	var out []string
	for _, n := range datasets.Names() {
		out = append(out, demoPrefix+n)
	}
	return out
}

// Letter is how a taster is shown: A, B ... by the order of their names.
func (s *Study) Letter(taster string) string {
	i, ok := slices.BinarySearch(s.names, taster)
	if !ok {
		return taster
	}
	var out []byte
	for i++; i > 0; i = (i - 1) / 26 {
		out = append(out, byte('A'+(i-1)%26))
	}
	slices.Reverse(out)
	return string(out)
}

// Tasters lists the names as written, in the order of their letters.
func (s *Study) Tasters() []string { return slices.Clone(s.names) }

// RealNames returns the same study with tasters shown as written.
func (s *Study) RealNames() *Study { return s.named(nil) }

// NamesAndLetters returns the same study with tasters shown as "A = ada", for eyes that may see both.
func (s *Study) NamesAndLetters() *Study {
	return s.named(func(taster string) string { return s.Letter(taster) + " = " + taster })
}

func (s *Study) named(name func(string) string) *Study {
	out := s.again()
	out.in.Name = name
	return out
}

// WithoutResampling returns the same study without whatever draws again (bootstrap bands, permutations): those numbers are
// left out, all others stay as they are.
func (s *Study) WithoutResampling() *Study {
	out := s.again()
	out.in.Quick = true
	return out
}

// Brief returns the same study with what its sentences need, for a quick look: without resampling, limits of shares and of
// other choices, batches and evenings one by one. Rows of results.csv and figures want the whole.
func (s *Study) Brief() *Study {
	out := s.again()
	out.in.Quick, out.in.Brief = true, true
	return out
}

// again is the same study with nothing computed.
func (s *Study) again() *Study {
	return &Study{panel: s.panel, folders: s.folders, in: s.in, names: s.names, drinks: s.drinks, keys: s.keys, done: map[endpoint.Drink]*once{}}
}

// Allergens lists what the descriptors name.
func (s *Study) Allergens() []string { return slices.Clone(s.panel.Settings.Allergens) }

// Invented tells that at least one session is a demonstration.
func (s *Study) Invented() bool {
	return slices.ContainsFunc(s.panel.Sessions, func(x panel.Session) bool { return x.Invented })
}

// Styles lists what can be asked about, in order of first appearance: a style served one way by its name, a style with
// several serves once for each as "style, serve".
func (s *Study) Styles() []string { return slices.Clone(s.keys) }

// keys names drinks as Styles does.
func keys(drinks []endpoint.Drink) []string {
	serves := map[string]int{}
	for _, d := range drinks {
		serves[d.Style]++
	}
	var out []string
	for _, d := range drinks {
		switch {
		case serves[d.Style] == 1:
			out = append(out, d.Style)
		case d.Serve == "":
			out = append(out, d.Style+", serve not said")
		default:
			out = append(out, d.Style+", "+d.Serve)
		}
	}
	return out
}

// drink finds what a style means; the error lists what can be asked.
func (s *Study) drink(style string) (endpoint.Drink, error) {
	if i := slices.Index(s.keys, style); i >= 0 {
		return s.drinks[i], nil
	}
	return endpoint.Drink{}, fmt.Errorf("no style %q was tasted: %w; ask for one of: %s", style, dataerr.ErrUnknown, strings.Join(s.keys, "; "))
}

// Frame joins tastes and pours of all sessions into one gota data frame, one row per taste used.
func (s *Study) Frame() (Frame, error) {
	out, err := s.folders[0].Frame()
	for _, f := range s.folders[1:] {
		if err != nil {
			return out, err
		}
		var next Frame
		if next, err = f.Frame(); err == nil {
			out = out.Concat(next)
			err = out.Err
		}
	}
	return out, err
}
