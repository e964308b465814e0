// Package datasets holds the demonstration evenings and what is known of drink styles, built into the program so that the
// first run needs no files.
//
// The evenings are INVENTED: no one tasted anything. Each is a session folder (tastes.csv, pours.csv, datapackage.json) with
// the truth that it was drawn from beside it in truth.json, which no analysis reads. README.md says how they were made.
package datasets

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strings"
)

//go:embed sour-evening stirred-evening styles
var files embed.FS

// names of the demonstration evenings, in the order in which they took place.
var names = []string{"sour-evening", "stirred-evening"}

// Names lists the demonstration evenings.
func Names() []string { return slices.Clone(names) }

// Open gives the session folder of a demonstration evening. The error of an unknown name lists those there are.
func Open(name string) (fs.FS, error) {
	if !slices.Contains(names, name) {
		return nil, fmt.Errorf("no demonstration evening is called %q; there are %s", name, strings.Join(names, ", "))
	}
	return fs.Sub(files, name)
}

// Styles lists the styles that StyleText knows, in alphabetical order.
func Styles() []string {
	entries, err := files.ReadDir("styles")
	if err != nil {
		panic(err) // the folder is embedded
	}
	out := make([]string, 0, len(entries))
	for _, e := range entries {
		out = append(out, strings.ReplaceAll(strings.TrimSuffix(e.Name(), ".md"), "_", " "))
	}
	slices.Sort(out)
	return out
}

// StyleText is what is known of a style, as Markdown without a heading of the first level: what is in the glass, what fails
// and how, what to watch. Capitals and spaces about the name do not matter. ok is false for a style never heard of, which is
// no fault.
func StyleText(style string) (text string, ok bool) {
	key := strings.ToLower(strings.Join(strings.Fields(style), " "))
	if !slices.Contains(Styles(), key) {
		return "", false
	}
	b, err := files.ReadFile("styles/" + strings.ReplaceAll(key, " ", "_") + ".md")
	if err != nil {
		return "", false
	}
	return string(b), true
}
