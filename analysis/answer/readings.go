package answer

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// NewReadings gathers the instrument readings about a drink: each quantity over age, glass by glass.
func NewReadings(in Input, d endpoint.Drink) (*Readings, error) {
	out := &Readings{Head: in.head("reading", d)}
	out.Method, out.Source = "Instrument readings at their actual ages, joined glass by glass; nothing is fitted.", "the session folders"
	index := map[[2]string]int{}
	glasses := map[[2]string]bool{}
	for _, r := range in.Panel.Readings {
		p := in.Panel.Pours[r.Pour]
		if p.Style != d.Style || p.Serve != d.Serve {
			continue
		}
		k := [2]string{r.Quantity, r.Unit}
		i, ok := index[k]
		if !ok {
			i = len(out.Series)
			index[k] = i
			out.Series = append(out.Series, ReadingSeries{Quantity: r.Quantity, Unit: r.Unit})
		}
		glasses[[2]string{r.Session, p.ID}] = true
		out.Series[i].Points = append(out.Series[i].Points, ReadingPoint{Session: r.Session, Pour: p.ID, AgeMin: panel.Minutes(r.Age), Value: r.Value})
	}
	for i := range out.Series {
		slices.SortStableFunc(out.Series[i].Points, func(a, b ReadingPoint) int {
			return cmp.Or(cmp.Compare(a.Session, b.Session), cmp.Compare(a.Pour, b.Pour), cmp.Compare(a.AgeMin, b.AgeMin))
		})
	}
	out.say(len(glasses))
	out.tabulate()
	return out, nil
}

func (a *Readings) say(glasses int) {
	n := 0
	var names []string
	for _, s := range a.Series {
		n += len(s.Points)
		names = append(names, s.name())
	}
	a.Counts = Counts{Pours: glasses, RowsUsed: n}
	if n == 0 {
		a.Status = NotAsked
		a.Sentences = []string{"No instrument was read."}
		return
	}
	a.Sentences = append(a.Sentences, fmt.Sprintf("Read in %s: %s.", Count(glasses, "glass"), strings.Join(names, ", ")))
	for _, s := range a.Series {
		first, last := s.ends()
		a.Sentences = append(a.Sentences, fmt.Sprintf("%s went from %s to %s%s%s between %s and %s%smin.", upperFirst(s.name()), points(first.Value), points(last.Value), nbsp, s.unit(),
			Halves.Minutes(Of(first.AgeMin)), Halves.Minutes(Of(last.AgeMin)), nbsp))
	}
}

// ends are the youngest and the oldest reading.
func (s ReadingSeries) ends() (first, last ReadingPoint) {
	first, last = s.Points[0], s.Points[0]
	for _, p := range s.Points {
		if p.AgeMin < first.AgeMin {
			first = p
		}
		if p.AgeMin > last.AgeMin {
			last = p
		}
	}
	return first, last
}

// name as printed: some quantities are known by capitals.
func (s ReadingSeries) name() string {
	switch s.Quantity {
	case "co2":
		return "CO₂"
	case "abv":
		return "alcohol by volume"
	}
	return s.Quantity
}

// unit as printed: a bare C is a temperature.
func (s ReadingSeries) unit() string {
	if s.Unit == "C" {
		return "°C"
	}
	return s.Unit
}

func (a *Readings) tabulate() {
	seen := map[string]int{}
	for _, s := range a.Series {
		for _, p := range s.Points {
			r := a.row("reading", "raw", "glass "+p.Pour, s.Unit)
			r.Session, r.Attribute, r.AgeMin, r.Value = p.Session, s.Quantity, Of(p.AgeMin), Of(p.Value)
			r.Tasters, r.Tastes, r.Batches = 0, 1, 0
			key := fmt.Sprint(p.Session, s.Quantity, s.Unit, p.Pour, p.AgeMin)
			if seen[key]++; seen[key] > 1 { // two thermometers in one glass
				r.Variant += fmt.Sprintf(", reading %d", seen[key])
			}
			a.Rows = append(a.Rows, r)
		}
	}
}
