// Command make writes the two demo evenings of three drinks again, byte for byte:
//
//	go run ./datasets/make
//
// from the top of the repository. The evenings are invented; README.md beside says how. Nothing is read, and each file is
// written beside the old one and renamed over it.
package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"

	"lastsip/analysis/panel"
	"lastsip/analysis/safefile"
	"lastsip/analysis/simulate"
)

// Seeds of the demonstration: one for who tastes, one for each evening.
const (
	peopleSeed  = 2031
	sourSeed    = 223
	stirredSeed = 216
)

func main() {
	if err := write("datasets"); err != nil {
		fmt.Fprintln(os.Stderr, "make:", err)
		os.Exit(1)
	}
}

func write(dir string) error {
	files, err := demo()
	if err != nil {
		return err
	}
	if _, err := os.Stat(filepath.Join(dir, "datasets.go")); err != nil {
		return fmt.Errorf("run this from the top of the repository: %w", err)
	}
	names := make([]string, 0, len(files))
	for name := range files {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := safefile.Write(path, files[name]); err != nil {
			return err
		}
		fmt.Println("wrote", path)
	}
	return nil
}

// demo makes every file of the demonstration, by slash-separated name below datasets.
func demo() (map[string][]byte, error) {
	out := map[string][]byte{}
	for _, evening := range []func() (*simulate.Session, simulate.Format, error){sourEvening, stirredEvening} {
		s, format, err := evening()
		if err != nil {
			return nil, err
		}
		files, err := s.Files(format)
		if err != nil {
			return nil, err
		}
		if files["truth.json"], err = s.Truth.JSON(); err != nil {
			return nil, err
		}
		for name, b := range files {
			out[s.Spec().Name+"/"+name] = b
		}
	}
	return out, nil
}

func people() []simulate.Taster {
	return simulate.Recruit(rand.New(rand.NewPCG(peopleSeed, 0)), 12, nil)
}

// sourEvening is written with ages in minutes.
func sourEvening() (*simulate.Session, simulate.Format, error) {
	style := simulate.Sour()
	style.Serve = "coupe"
	s, err := simulate.Evening{
		Name: "sour-evening", Title: "The house sour, tasted after closing", Date: "2031-02-11", Start: "23:10",
		Styles: []simulate.Style{style}, People: people(), Ages: []float64{1, 3, 5, 7, 9, 11, 13, 15, 17},
		ProbeAges: probed(), Guests: 24,
	}.Run(rand.New(rand.NewPCG(sourSeed, 0)))
	if err != nil {
		return nil, simulate.Format{}, err
	}
	slipOfThePen(s, "Carla", 4)
	emptyCell(s, "Hugo", 3)
	missedRound(s, "Bruno", 3)
	return s, simulate.Format{}, nil
}

// probed are the ages at which instruments are held into a spare glass.
func probed() []float64 { return []float64{0.5, 2, 4, 6, 8, 10, 12, 15, 18} }

// stirredEvening is written with clock times and goes on past midnight: the stirred drink sipped through, then the highball
// side by side in two flights, then three paired choices between an older highball and a fresh one.
func stirredEvening() (*simulate.Session, simulate.Format, error) {
	style := simulate.Stirred()
	style.Serve = "stem glass"
	highball := simulate.Highball()
	highball.Serve = "tall glass"
	s, err := simulate.Evening{
		Name: "stirred-evening", Title: "The stirred house drink and the highball, tasted after closing", Date: "2031-02-18", Start: "23:40",
		Styles: []simulate.Style{style}, People: people(), Ages: []float64{2, 4, 6, 8, 10, 12, 14, 16},
		Tables:    []simulate.Table{{Style: highball, Ages: []float64{3, 6, 10, 14, 19, 25}, Pairs: [][2]float64{{4, 1}, {9, 1}, {16, 1}}}},
		ProbeAges: probed(), Guests: 24, Allergens: []string{"sulphites"},
	}.Run(rand.New(rand.NewPCG(stirredSeed, 0)))
	if err != nil {
		return nil, simulate.Format{}, err
	}
	slipOfThePen(s, "Greta", 2)
	emptyCell(s, "Farid", 4)
	missedRound(s, "Hugo", 3)
	return s, simulate.Format{ClockTimes: true}, nil
}

// find gives the place of a taster's round among the tastes; the demonstration is fixed, so a missing one is our own bug.
func find(s *simulate.Session, taster string, round int) int {
	i := slices.IndexFunc(s.Tastes, func(t simulate.Taste) bool {
		return s.Pours[t.Pour].Taster == taster && t.Round == round
	})
	if i < 0 {
		panic(fmt.Sprintf("the demonstration has no round %d of %s", round, taster))
	}
	return i
}

// slipOfThePen forgets the decimal point of the last attribute: 6.5 becomes 65.
func slipOfThePen(s *simulate.Session, taster string, round int) {
	t := &s.Tastes[find(s, taster, round)]
	t.Scores[len(t.Scores)-1].Value *= 10
}

// emptyCell leaves one score out.
func emptyCell(s *simulate.Session, taster string, round int) {
	s.Tastes[find(s, taster, round)].Scores[1] = panel.Score{}
}

// missedRound takes one taster away for one round.
func missedRound(s *simulate.Session, taster string, round int) {
	i := find(s, taster, round)
	s.Tastes = slices.Delete(s.Tastes, i, i+1)
	s.Tastes[i].Note = "missed the round before: was at the door"
}
