package panelcsv

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// Findings that have no sentinel in dataerr. Every finding is a *dataerr.Cell whose Err is one of these or of dataerr's.
var (
	ErrAssumed     = errors.New("is our assumption")
	ErrDoubt       = errors.New("is known to half a minute only")
	ErrHalfGlass   = errors.New("lost half of the glass or more to sips")
	ErrLong        = errors.New("is over 3 hours")
	ErrNoBatch     = errors.New("is not given")
	ErrNotAnalysed = errors.New("is kept and not analysed")
	ErrNotTasted   = errors.New("was never tasted")
	ErrNothingYet  = errors.New("nothing was tasted yet")
	ErrPlannedAge  = errors.New("has no time, the planned age stands in")
	ErrSameAge     = errors.New("is as old as the other glass")
	ErrSpelling    = errors.New("may be a second spelling of one name")
)

// Folder is a session folder as read: the panel, and the files themselves, so that nothing of them is lost.
type Folder struct {
	Name     string       // the folder's name: default session and prefix of every place
	Panel    *panel.Panel // valid: Panel.Validate is nil
	Findings []error      // doubts to print beside the results, each located
	Notes    []string     // what was taken or left aside, in words

	raw     map[string][]byte // bytes of every file that was read, by name within the folder
	wide    string            // the file that is a wide table; empty: none
	long    []byte            // that file in the long form
	shownAs string            // the folder's name in places
	single  bool              // the session was one file
}

// Files names the files that were read, in order of name.
func (f *Folder) Files() []string {
	var out []string
	for name := range f.raw {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// Raw gives the bytes of a file that was read, as they stand on disk; nil for any other name.
func (f *Folder) Raw(file string) []byte { return slices.Clone(f.raw[file]) }

// reader gathers everything while a folder is read.
type reader struct {
	fsys           fs.FS
	name           string
	session        string              // default session
	entries        map[string][]string // lower-case name: names in the folder
	raw            map[string][]byte
	faults         []*dataerr.Cell
	findings       []*dataerr.Cell
	notes          []string
	leftOut        map[panel.LeftOut]int // Rows 0 in the key
	desc           *descriptor
	attr           []attribute
	pours          pourBook
	tastes         *table
	glass          []glass
	codes          codeBook
	rounds         roundBook
	blind          bool // the plan has a code key that is not there
	dropped        bool // something was left out for it
	wide           string
	long           []byte
	plannedChoices int
	plannedChoice  dataerr.Cell     // the first of them
	index          map[glassKey]int // of glass
	readings       []panel.Reading
	choices        []choiceRow
	choiceTable    *table
	places         []panel.Place
	paces          []panel.Pace
}

// Read reads the session folder fsys; name is the folder's name, which is the default session and stands before every
// place in a message (without a name the session is called session). A folder that cannot be used gives an error that joins one *dataerr.Cell per fault (dataerr.All lists
// them; the printed message shows at most twenty of one kind). Names in fsys use slashes on every system.
func Read(fsys fs.FS, name string) (*Folder, error) {
	r := &reader{fsys: fsys, name: name, session: cmp.Or(name, "session"), raw: map[string][]byte{}, entries: map[string][]string{}, leftOut: map[panel.LeftOut]int{}, index: map[glassKey]int{}}
	if err := r.list(); err != nil {
		return nil, err
	}
	return r.read()
}

// ReadFile reads one file of fsys, a table of tastes, long or wide, as a whole session; the session is called by the file's
// name without its ending.
func ReadFile(fsys fs.FS, file string) (*Folder, error) {
	session := strings.TrimSuffix(path.Base(file), path.Ext(file))
	r := &reader{fsys: fsys, session: cmp.Or(session, file), raw: map[string][]byte{}, entries: map[string][]string{"tastes.csv": {file}}, leftOut: map[panel.LeftOut]int{}, index: map[glassKey]int{}}
	f, err := r.read()
	if f != nil {
		f.Name, f.single = r.session, true
	}
	return f, err
}

// read reads what list has found.
func (r *reader) read() (*Folder, error) {
	r.readDescriptor()
	r.readCodes()
	poursTable := r.open("pours", poursColumns, false)
	r.tastes = r.openTastes()
	r.readPours(poursTable)
	if r.tastes != nil {
		r.readRounds()
	}
	if r.tastes == nil || !r.requireTastes(poursTable) {
		return nil, r.fail()
	}
	r.resolveAttributes()
	rows := r.readTastes()
	r.modes(rows)
	rows = r.glasses(rows)
	r.readBeside()
	rows = r.dropBlind(rows)
	r.ages(rows)
	p := r.build(rows)
	if len(r.faults) > 0 {
		return nil, r.fail()
	}
	r.doubts(p, rows)
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("reading %s made an impossible panel, which is a bug of ours: %w", r.session, err)
	}
	return &Folder{Name: r.name, Panel: p, Findings: capped(r.findings), Notes: r.notes, raw: r.raw, wide: r.wide, long: r.long, shownAs: r.name}, nil
}

// openTastes opens tastes.csv, a wide one turned into the long form. A session of another kind has none: then it is empty.
func (r *reader) openTastes() *table {
	there := func(resource string) bool {
		return r.desc.path(resource) != "" || len(r.entries[resource+".csv"]) > 0 || r.desc != nil && slices.Contains(r.desc.badPaths, resource)
	}
	if !there("tastes") && (there("choices") || there("rankings") || there("paces") || there("readings")) {
		return &table{file: r.shown("tastes.csv"), own: map[string]int{}, absent: true}
	}
	t := r.open("tastes", tastesColumns, true)
	if t == nil {
		return nil
	}
	return r.lengthen(t)
}

// list reads the names in the folder.
func (r *reader) list() error {
	entries, err := fs.ReadDir(r.fsys, ".")
	if err != nil {
		return &dataerr.Cell{File: r.name, Err: dataerr.ErrNoFile, Want: "the session folder cannot be opened: " + err.Error()}
	}
	for _, e := range entries {
		if !e.IsDir() {
			low := strings.ToLower(strings.TrimSpace(e.Name()))
			r.entries[low] = append(r.entries[low], e.Name())
		}
	}
	return nil
}

// shown is how messages name a file of the folder.
func (r *reader) shown(file string) string { return path.Join(r.name, file) }

func (r *reader) note(format string, args ...any) {
	r.notes = append(r.notes, fmt.Sprintf(format, args...))
}

func (r *reader) fault(c dataerr.Cell) { r.faults = append(r.faults, &c) }

func (r *reader) find(c dataerr.Cell) { r.findings = append(r.findings, &c) }

// fileName finds the file that holds a resource: what the descriptor says, else NAME.csv in any case. Empty: none.
func (r *reader) fileName(resource string) string {
	if p := r.desc.path(resource); p != "" {
		return p
	}
	return r.written(resource + ".csv")
}

// written gives the name of a file as the folder writes it, by its lower-case name; empty where there is none.
func (r *reader) written(low string) string {
	names := r.entries[low]
	if len(names) == 0 {
		return ""
	}
	if len(names) > 1 {
		r.fault(dataerr.Cell{File: r.shown(names[1]), Err: dataerr.ErrDuplicate, Want: fmt.Sprintf("%s is there too; keep one of them", names[0])})
	}
	return names[0]
}

// open reads one resource as a table; nil when it is not there or cannot be used.
func (r *reader) open(resource string, known []string, required bool) *table {
	if r.desc != nil && slices.Contains(r.desc.badPaths, resource) {
		return nil // already a fault; the file of the usual name is not what was meant
	}
	file := r.fileName(resource)
	if file == "" {
		if required {
			r.fault(dataerr.Cell{File: r.shown(resource + ".csv"), Err: dataerr.ErrNoFile, Want: r.instead()})
		}
		return nil
	}
	raw, text, bad := slurp(r.fsys, file, r.shown(file))
	if bad != nil {
		if bad.Err == dataerr.ErrNoFile {
			bad.Want = "datapackage.json names it among its resources"
		}
		r.faults = append(r.faults, bad)
		return nil
	}
	r.raw[file] = raw
	return r.readTable(r.shown(file), text, known)
}

// instead says what to do about a missing tastes.csv, by what lies in the folder.
func (r *reader) instead() string {
	var names []string
	for low, written := range r.entries {
		switch path.Ext(low) {
		case ".xlsx", ".xls", ".xlsm", ".ods", ".numbers":
			names = append(names, written...)
		}
	}
	if len(names) > 0 {
		slices.Sort(names)
		return fmt.Sprintf("save the sheet of %s as CSV UTF-8 under this name", names[0])
	}
	return "a session folder holds one row per taste in it: taster, pour, style, age_min, verdict"
}

// count adds to what is left out.
func (r *reader) count(session, reason string, rows int) {
	r.leftOut[panel.LeftOut{Session: session, Reason: reason}] += rows
}
