package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"lastsip/analysis/panelcsv"
	"lastsip/analysis/report"
)

const newUsage = `new DIR -style NAME -tasters N

Writes a blank evening into a new or empty folder: the sheet tastes.csv with a row
for every taster every 2 minutes up to 16, pours.csv with a glass for each, two
glasses a shake, and datapackage.json with the settings. Fill them in with any
spreadsheet. Tasters are called A, B, C ...; write your own names if you like.

Example:

  go run ./notebooks new my-evening -style sour -tasters 8
`

// The blank evening: one glass for each taster, tasted at the same ages; two glasses from one shake, so that what a shake
// does can be told from what a taster does.
const (
	newStepMin     = 2  // minutes between rounds
	newLastMin     = 16 // minutes, the last round
	glassesAShake  = 2
	maxNewTasters  = 100
	longestNewName = 60
)

// newCommand writes a blank evening.
func newCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("new", flag.ContinueOnError)
	style := fs.String("style", "", "the drink style")
	tasters := fs.Int("tasters", 0, "how many taste")
	dirs, code := parseMixed(fs, args, newUsage, stdout, stderr)
	if code >= 0 {
		return code
	}
	name := strings.Join(strings.Fields(*style), " ")
	wrong := ""
	switch {
	case len(dirs) != 1:
		wrong = fmt.Sprintf("one folder is written, %d are named", len(dirs))
	case name == "":
		wrong = "-style names the drink style, such as sour"
	case len([]rune(name)) > longestNewName:
		wrong = fmt.Sprintf("-style is a name of at most %d letters", longestNewName)
	case *tasters < 1 || *tasters > maxNewTasters:
		wrong = fmt.Sprintf("-tasters is a number from 1 to %d", maxNewTasters)
	}
	if wrong != "" {
		fmt.Fprintf(stderr, "%s\n\n%s", wrong, newUsage)
		return 2
	}
	dir := dirs[0]
	files, err := blankEvening(filepath.Base(filepath.Clean(dir)), name, *tasters)
	if err == nil {
		err = panelcsv.WriteFolder(dir, files)
	}
	if err != nil {
		fmt.Fprintf(stderr, "the evening was not written: %v\n", err)
		return 1
	}
	fmt.Fprint(stdout, newSteps(dir, name, *tasters))
	return 0
}

// letters names the tasters A to Z, then AA, AB ...
func letters(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letters(i/26-1) + letters(i%26)
}

// blankEvening makes the files of an evening that nobody has tasted yet.
func blankEvening(folder, style string, tasters int) (map[string][]byte, error) {
	pours := [][]string{{"pour", "taster", "style", "batch", "volume_ml", "made_at"}}
	// The reader never reads the row of a taster called EXAMPLE.
	tastes := [][]string{{"taster", "pour", "planned_age_min", "tasted_at", "verdict", "liking", "why", "note"},
		{"EXAMPLE", "1", "4", "21:34:10", "yes", "7.5", "", "this row shows how: it is never read"}}
	for i := range tasters {
		glass := strconv.Itoa(i + 1)
		pours = append(pours, []string{glass, letters(i), style, strconv.Itoa(1 + i/glassesAShake), "", ""})
		for age := newStepMin; age <= newLastMin; age += newStepMin {
			tastes = append(tastes, []string{letters(i), glass, strconv.Itoa(age), "", "", "", "", ""})
		}
	}
	descriptor, err := blankDescriptor(folder, style, pours[0], tastes[0])
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{"datapackage.json": descriptor}
	for name, rows := range map[string][][]string{"pours.csv": pours, "tastes.csv": tastes} {
		var buf bytes.Buffer
		w := csv.NewWriter(&buf)
		if err := w.WriteAll(rows); err != nil {
			return nil, err
		}
		files[name] = buf.Bytes()
	}
	return files, nil
}

// field types of the sheet, in the words of the open Table Schema; the rest is text.
var fieldTypes = map[string]string{"planned_age_min": "number", "liking": "number", "volume_ml": "number", "tasted_at": "time", "made_at": "time"}

// blankDescriptor writes datapackage.json with the limits of our convention, to be settled before anyone tastes.
func blankDescriptor(folder, style string, pours, tastes []string) ([]byte, error) {
	type object = map[string]any
	resource := func(name string, columns []string) object {
		var fields []object
		for _, c := range columns {
			kind := fieldTypes[c]
			if kind == "" {
				kind = "string"
			}
			fields = append(fields, object{"name": c, "type": kind})
		}
		return object{"name": name, "path": name + ".csv", "format": "csv", "schema": object{"fields": fields}}
	}
	slug := strings.Trim(regexp.MustCompile(`[^a-z0-9._-]+`).ReplaceAllString(strings.ToLower(folder), "-"), "-.")
	if slug == "" {
		slug = "evening"
	}
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(object{
		"name": slug, "title": "How long a " + style + " stays good",
		"resources": []object{resource("tastes", tastes), resource("pours", pours)},
		"tasting": object{
			"date": nil, "start": nil, "room_c": nil, "allergens": []string{}, "sip_ml": 6,
			"attributes": []object{{"name": "liking", "scale": "line", "low": 0, "high": 10, "better": "high",
				"low_means": "pour it away", "high_means": "could not be better"}},
			"overall": "liking", "prime_limit": 7, "reject_limit": 4,
			"verdicts": object{"accept": []string{"accept", "yes"}, "reject": []string{"reject", "no"}},
		},
	})
	return buf.Bytes(), err
}

// newSteps says what to do with the folder, and what to mind.
func newSteps(dir, style string, tasters int) string {
	rounds := newLastMin / newStepMin
	return fmt.Sprintf(`wrote %s: a blank evening of %s, %s, %d rounds

Next:
  1. datapackage.json: date, start, room temperature, allergens; settle the limits now,
     before anyone tastes.
  2. pours.csv: when you finish a drink (strained, topped or garnished), write made_at,
     such as 21:30:00, and volume_ml. Glasses of one batch come from one shake. Every
     taster keeps one glass: %d sips of 6 mL are %d mL, so pour more than twice that.
  3. tastes.csv: at every planned age each taster writes tasted_at, verdict (yes: would
     go on with it; no: would leave the rest) and liking from 0 to 10. A time left empty
     falls back to the planned age; a row left empty is not used. Whoever stops writes
     why: drink, full, bored or left. The row EXAMPLE is never read.
  4. go run ./notebooks check %s, then answer, then run -session %s

%s`, dir, style, plural(tasters, "taster"), rounds, rounds, 6*rounds, shellWord(dir), shellWord(dir), report.Cautions(nil))
}

// shellWord puts a name into quotation marks where a shell would cut it.
func shellWord(s string) string {
	if strings.ContainsAny(s, " '\"$&;()*?<>|\\") {
		return strconv.Quote(s)
	}
	return s
}
