package panelcsv

import (
	"fmt"
	"math"
	"strconv"

	"github.com/go-gota/gota/dataframe"
	"github.com/go-gota/gota/series"

	"lastsip/analysis/panel"
)

// Frame is a table of typed columns, for exploring a session by hand.
type Frame = dataframe.DataFrame

// Frame gives the tastes of the panel joined with their pours, one row per taste in the order of the panel. Text: session,
// taster, pour, style, serve, batch, mode, age_from, flight, verdict, why, note. Numbers: age_min, planned_age_min
// (minutes), position, volume_ml (mL) and one column per attribute (points), NaN where a cell is empty. Yes or no: aware.
// A value that the table library would read as something else (the text "NaN", a renamed column) is an error.
func (f *Folder) Frame() (Frame, error) { return FrameOf(f.Panel) }

// FrameOf is Frame for any valid panel, such as several sessions merged.
func FrameOf(p *panel.Panel) (Frame, error) {
	b := frameBuilder{rows: len(p.Tastes)}
	taste := func(i int) (*panel.Taste, *panel.Pour) { return &p.Tastes[i], &p.Pours[p.Tastes[i].Pour] }
	b.text("session", func(i int) string { return p.Tastes[i].Session })
	b.text("taster", func(i int) string { return p.Tastes[i].Taster })
	b.text("pour", func(i int) string { _, g := taste(i); return g.ID })
	b.text("style", func(i int) string { _, g := taste(i); return g.Style })
	b.text("serve", func(i int) string { _, g := taste(i); return g.Serve })
	b.text("batch", func(i int) string { _, g := taste(i); return g.Batch })
	b.text("mode", func(i int) string { return p.Tastes[i].Mode.String() })
	b.number("age_min", func(i int) (float64, bool) { return panel.Minutes(p.Tastes[i].Age), true })
	b.text("age_from", func(i int) string {
		return [...]string{"stated", "clock", "planned"}[p.Tastes[i].AgeFrom]
	})
	b.number("planned_age_min", func(i int) (float64, bool) { return panel.Minutes(p.Tastes[i].Planned), p.Tastes[i].HasPlanned })
	b.text("flight", func(i int) string { return p.Tastes[i].Flight })
	b.number("position", func(i int) (float64, bool) { return float64(p.Tastes[i].Position), p.Tastes[i].Position > 0 })
	b.text("verdict", func(i int) string { return p.Tastes[i].Verdict.String() })
	b.text("why", func(i int) string { return p.Tastes[i].Why.String() })
	b.column("aware", series.Bool, func(i int) string { return strconv.FormatBool(p.Tastes[i].Aware) })
	b.text("note", func(i int) string { return p.Tastes[i].Note })
	b.number("volume_ml", func(i int) (float64, bool) { _, g := taste(i); return g.VolumeML, g.VolumeML > 0 })
	for k, a := range p.Attributes {
		b.number(a.Name, func(i int) (float64, bool) { s := p.Tastes[i].Scores[k]; return s.Value, s.Given })
	}
	return b.build()
}

// frameBuilder hands the library strings with explicit types, as its own guesses lose leading zeros and places.
type frameBuilder struct {
	rows   int
	names  []string
	series []series.Series
	err    error
}

func (b *frameBuilder) column(name string, kind series.Type, cell func(int) string) {
	cells := make([]string, b.rows)
	for i := range cells {
		cells[i] = cell(i)
	}
	s := series.New(cells, kind, name)
	if s.Err != nil && b.err == nil {
		b.err = fmt.Errorf("column %s: %w", name, s.Err)
	}
	b.names = append(b.names, name)
	b.series = append(b.series, s)
}

func (b *frameBuilder) text(name string, cell func(int) string) {
	b.column(name, series.String, cell)
	s := b.series[len(b.series)-1]
	for i := range b.rows {
		if s.Elem(i).IsNA() && b.err == nil {
			b.err = fmt.Errorf("column %s, row %d: the text %q would be read as a missing value; write it otherwise", name, i+1, cell(i))
		}
	}
}

func (b *frameBuilder) number(name string, value func(int) (float64, bool)) {
	b.column(name, series.Float, func(i int) string {
		if x, given := value(i); given {
			return strconv.FormatFloat(x, 'g', -1, 64)
		}
		return "NaN"
	})
	s := b.series[len(b.series)-1]
	for i := range b.rows {
		x, given := value(i)
		if got := s.Elem(i).Float(); given && got != x || !given && !math.IsNaN(got) {
			b.err = fmt.Errorf("column %s, row %d: %v became %v", name, i+1, x, got)
		}
	}
}

func (b *frameBuilder) build() (Frame, error) {
	if b.err != nil {
		return Frame{}, fmt.Errorf("frame: %w", b.err)
	}
	df := dataframe.New(b.series...)
	if df.Err != nil {
		return Frame{}, fmt.Errorf("frame: %w", df.Err)
	}
	for i, name := range df.Names() {
		if name != b.names[i] {
			return Frame{}, fmt.Errorf("frame: column %q would be renamed %q; give the attribute another name", b.names[i], name)
		}
	}
	return df, nil
}
