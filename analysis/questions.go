package analysis

import (
	"crypto/sha256"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"

	"lastsip/analysis/answer"
	"lastsip/analysis/endpoint"
)

// Data says what the study holds: sessions, tasters, drinks, ages, batches, gaps, findings.
func (s *Study) Data() (*Data, error) { return answer.NewData(s.in) }

// Lifetime answers: how long is this style good enough to go on with? Half, and from eight tasters one in ten, of drinkers
// like these tasters under the reply model, with limits; the curve without a family, exact limits, every taster's interval and
// the answers under other choices stand beside. The style is one of Styles.
func (s *Study) Lifetime(style string) (*Lifetime, error) {
	d, err := s.drink(style)
	if err != nil {
		return nil, err
	}
	o := s.rest(d)
	return o.life, o.err
}

// ServeBy answers: until when should it have been drunk? The style is one of Styles.
func (s *Study) ServeBy(style string) (*ServeBy, error) {
	d, err := s.drink(style)
	if err != nil {
		return nil, err
	}
	o := s.rest(d)
	return o.act, o.err
}

// PrimeWindow answers: when is it at its best? The ages at which an average taster's expected overall score is at or above
// the prime limit, with limits, by a mixed model over tasters. The style is one of Styles.
func (s *Study) PrimeWindow(style string) (*PrimeWindow, error) {
	d, err := s.drink(style)
	if err != nil {
		return nil, err
	}
	o := s.rest(d)
	if o.err != nil {
		return nil, o.err
	}
	o.whole.Do(func() {
		if o.window, o.windowErr = answer.NewPrimeWindow(s.in, d); o.windowErr == nil {
			o.window.Act = o.act.Act
		}
	})
	return o.window, o.windowErr
}

// rest computes the lifetime, and the act that rests on it and on the prime window, once per drink.
func (s *Study) rest(d endpoint.Drink) *once {
	s.mu.Lock()
	o := s.done[d]
	if o == nil {
		o = &once{}
		s.done[d] = o
	}
	s.mu.Unlock()
	o.Do(func() {
		if o.life, o.err = answer.NewLifetime(s.in, d); o.err != nil {
			return
		}
		brief := s.in
		brief.Quick, brief.Brief = true, true // the act needs the window alone: nothing is drawn for it
		window, err := answer.NewPrimeWindow(brief, d)
		if err != nil {
			o.err = err
			return
		}
		if o.act, o.err = answer.NewServeBy(s.in, d, o.life, window); o.err == nil {
			o.life.Act = o.act.Act
		}
	})
	return o
}

// Scores gathers every attribute's scores over age. The style is one of Styles.
func (s *Study) Scores(style string) (*Scores, error) {
	return ask(s, style, answer.NewScores)
}

// GoesFirst answers: which attribute fails first? The style is one of Styles.
func (s *Study) GoesFirst(style string) (*GoesFirst, error) {
	return ask(s, style, answer.NewGoesFirst)
}

// AgeDifferences answers: from which age on is it surely not as good as fresh, and up to which age is it shown to be the same?
// The style is one of Styles.
func (s *Study) AgeDifferences(style string) (*AgeDifferences, error) {
	return ask(s, style, answer.NewAgeDifferences)
}

// Rejections holds every reply of every glass. The style is one of Styles.
func (s *Study) Rejections(style string) (*Rejections, error) {
	return ask(s, style, answer.NewRejections)
}

// Glass says what is in the glass. The style is one of Styles.
func (s *Study) Glass(style string) (*Glass, error) {
	return ask(s, style, answer.NewGlass)
}

// Readings gathers the instrument readings about a style. The style is one of Styles.
func (s *Study) Readings(style string) (*Readings, error) {
	return ask(s, style, answer.NewReadings)
}

// Compare sets the acts of all styles side by side, the latest first.
func (s *Study) Compare() (*Compare, error) {
	var acts []*ServeBy
	for _, style := range s.Styles() {
		act, err := s.ServeBy(style)
		if err != nil {
			return nil, err
		}
		acts = append(acts, act)
	}
	return answer.NewCompare(acts), nil
}

// Differences compares the lifetimes of every pair of styles: time ratios, score tests, p-values after Holm.
func (s *Study) Differences() (*Differences, error) { return answer.NewDifferences(s.in) }

// Provenance says what the study was read from and with which programs.
func (s *Study) Provenance() (*Provenance, error) {
	var files []answer.InputFile
	for _, f := range s.folders {
		for _, name := range f.Files() {
			raw := f.Raw(name)
			files = append(files, answer.InputFile{Session: f.Name, File: name, SHA256: fmt.Sprintf("%x", sha256.Sum256(raw)), Bytes: len(raw)})
		}
	}
	return answer.NewProvenance(s.in, files, versions()), nil
}

// versions names the language and the libraries that computed, as they were built in.
func versions() []answer.Fact {
	out := []answer.Fact{{Name: "Go", Value: runtime.Version() + " " + runtime.GOOS + "/" + runtime.GOARCH}}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, d := range info.Deps {
			if d.Path == "gonum.org/v1/gonum" || d.Path == "github.com/go-gota/gota" {
				out = append(out, answer.Fact{Name: d.Path, Value: d.Version})
			}
		}
	}
	return out
}

// ask answers a question about one drink and draws the act through it.
func ask[A answer.Answer](s *Study, style string, question func(answer.Input, endpoint.Drink) (A, error)) (A, error) {
	var none A
	d, err := s.drink(style)
	if err != nil {
		return none, err
	}
	a, err := question(s.in, d)
	if err != nil {
		return none, err
	}
	o := s.rest(d)
	if o.err != nil {
		return none, o.err
	}
	a.Common().Act = o.act.Act
	return a, nil
}

// MustOpen is Open for notebook cells: a failure ends the cell with a plain message.
func MustOpen(sources ...string) *Study { return must(Open(sources...)) }

// MustData is Data for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustData() *Data { return must(s.Data()) }

// MustLifetime is Lifetime for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustLifetime(style string) *Lifetime { return must(s.Lifetime(style)) }

// MustServeBy is ServeBy for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustServeBy(style string) *ServeBy { return must(s.ServeBy(style)) }

// MustPrimeWindow is PrimeWindow for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustPrimeWindow(style string) *PrimeWindow { return must(s.PrimeWindow(style)) }

// MustScores is Scores for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustScores(style string) *Scores { return must(s.Scores(style)) }

// MustRejections is Rejections for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustRejections(style string) *Rejections { return must(s.Rejections(style)) }

// MustGlass is Glass for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustGlass(style string) *Glass { return must(s.Glass(style)) }

// MustGoesFirst is GoesFirst for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustGoesFirst(style string) *GoesFirst { return must(s.GoesFirst(style)) }

// MustAgeDifferences is AgeDifferences for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustAgeDifferences(style string) *AgeDifferences {
	return must(s.AgeDifferences(style))
}

// MustReadings is Readings for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustReadings(style string) *Readings { return must(s.Readings(style)) }

// MustCompare is Compare for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustCompare() *Compare { return must(s.Compare()) }

// MustDifferences is Differences for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustDifferences() *Differences { return must(s.Differences()) }

// MustProvenance is Provenance for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustProvenance() *Provenance { return must(s.Provenance()) }

// MustFrame is Frame for notebook cells: a failure ends the cell with a plain message.
func (s *Study) MustFrame() Frame { return must(s.Frame()) }

func must[T any](v T, err error) T {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	return v
}
