package answer

import "fmt"

// NewProvenance says what a report was made from: the input files with their hashes, the programs, the settings. Nothing in
// it depends on the clock.
func NewProvenance(in Input, files []InputFile, versions []Fact) *Provenance {
	out := &Provenance{Head: Head{Question: "provenance", Title: "provenance", Status: OK, Counts: in.counts(in.Panel.Tastes)}, Files: files, Versions: versions}
	out.Method, out.Source = "SHA-256 of every file as it was read.", "FIPS 180-4"
	for _, t := range in.Panel.Settings.Taken {
		out.Settings = append(out.Settings, setting(t))
	}
	for _, s := range in.Panel.Sessions {
		out.Invented = out.Invented || s.Invented
		date := s.Date
		if date == "" {
			date = "date not said"
		}
		out.Sentences = append(out.Sentences, fmt.Sprintf("%s: %s.", s.Name, date))
	}
	out.Sentences = append(out.Sentences, fmt.Sprintf("Whatever is drawn at random in these answers comes from seed %d: the same files give the same numbers.", in.Seed))
	return out
}
