package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"

	"lastsip/analysis/answer"
)

// Heights of a panel, px.
const (
	overallHeight   = 170
	attributeHeight = 92
)

// scores draws one panel per attribute, the overall score first and taller.
func scores(a *answer.Scores, width int) (*Figure, error) {
	series := slices.Clone(a.Attributes)
	series = slices.DeleteFunc(series, func(s answer.ScoreSeries) bool { return len(s.Points) == 0 && len(s.Steps) == 0 })
	if len(series) == 0 {
		return nil, fmt.Errorf("scores of %s: %w: no attribute has a score", a.Title, ErrNoFigure)
	}
	slices.SortStableFunc(series, func(x, y answer.ScoreSeries) int {
		switch {
		case x.Overall == y.Overall:
			return 0
		case x.Overall:
			return -1
		}
		return 1
	})
	far := 0.0
	for _, ser := range series {
		for _, pt := range ser.Points {
			far = max(far, pt.AgeMin)
		}
		for _, st := range ser.Steps {
			far = max(far, st.AgeMin)
		}
	}
	s := newSheet(&a.Head, width, far)
	above := 31.0
	for i := range series {
		s.attribute(&series[i], above)
		above = 37
	}
	return s.finish(scoresAlt(a, series))
}

// attribute draws one attribute: raw scores, middle half of tasters, mean per age step, limits.
func (s *sheet) attribute(ser *answer.ScoreSeries, above float64) {
	height := float64(attributeHeight)
	if ser.Overall {
		height = overallHeight
	}
	for _, pt := range ser.Points {
		s.need("a score of "+ser.Name, pt.AgeMin, pt.Score)
	}
	for _, st := range ser.Steps {
		s.need("a mean of "+ser.Name, st.AgeMin, st.Mean, st.LowQuarter, st.HighQuarter)
	}
	low, high := scale(ser)
	s.need("an end of the scale of "+ser.Name, low, high)
	p := s.panel(above, height, low, high)
	p.name(scoreName(ser, low, high, s.right))
	p.limits(ser, low, high)
	line, band := plainStroke, thin(mute, .16)
	if ser.Overall {
		line, band = meanStroke, thin(window, .16)
	}
	p.mark(func(c *pen) {
		var up, down, mean, raw []vg.Point
		for _, st := range ser.Steps {
			x := c.x(st.AgeMin)
			up = append(up, vg.Point{X: x, Y: c.y(st.HighQuarter)})
			down = append(down, vg.Point{X: x, Y: c.y(st.LowQuarter)})
			mean = append(mean, vg.Point{X: x, Y: c.y(st.Mean)})
		}
		slices.Reverse(down)
		if len(mean) > 1 {
			c.shape(band, append(up, down...))
			c.path(line, mean)
		}
		for _, pt := range ser.Points {
			raw = append(raw, vg.Point{X: c.x(pt.AgeMin), Y: c.y(pt.Score)})
		}
		c.dots(thin(ink, .3), rawR, raw)
		if len(mean) == 1 {
			c.disc(line.Color, mean[0].X, mean[0].Y, dotR-1)
		}
	})
}

// scale gives the ends of the y axis: those of the scale, wider where a score lies outside.
func scale(ser *answer.ScoreSeries) (low, high float64) {
	low, high = ser.Low, ser.High
	if low == high { // no scale known and all scores equal
		low, high = low-1, high+1
	}
	for _, pt := range ser.Points {
		low, high = min(low, pt.Score), max(high, pt.Score)
	}
	for _, st := range ser.Steps {
		low, high = min(low, st.LowQuarter, st.Mean), max(high, st.HighQuarter, st.Mean)
	}
	return low, high
}

// scoreName names an attribute with its scale and, where there is room, what the ends mean.
func scoreName(ser *answer.ScoreSeries, low, high, room float64) string {
	name := fmt.Sprintf("%s, %s to %s", ser.Name, points(low), points(high))
	if ser.LowMeans != "" && ser.HighMeans != "" {
		full := fmt.Sprintf("%s, %s (%s) to %s (%s)", ser.Name, points(low), ser.LowMeans, points(high), ser.HighMeans)
		if rowText.width(clean(full)) <= room {
			return full
		}
	}
	if rowText.width(clean(name)) > room { // a long name is cut, its scale is not
		tail := fmt.Sprintf(", %s to %s", points(low), points(high))
		return rowText.fit(clean(ser.Name), room-rowText.width(tail)) + tail
	}
	return name
}

// points writes a score.
func points(x float64) string { return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64) }

// limits draws the lines to read against and the numbers of the y axis: ends of the scale and limits.
func (p *panel) limits(ser *answer.ScoreSeries, low, high float64) {
	type level struct {
		at   float64
		word string
	}
	var lines []level
	for _, l := range []struct {
		at   answer.Num
		word string
	}{{ser.Limit, "limit"}, {ser.Prime, "at its best"}} {
		if l.at.Finite() && l.at.Float() >= low && l.at.Float() <= high {
			lines = append(lines, level{l.at.Float(), l.word})
		}
	}
	slices.SortStableFunc(lines, func(a, b level) int { return cmp.Compare(a.at, b.at) })
	numbers := []float64{low, high}
	for _, l := range lines {
		if !slices.Contains(numbers, l.at) {
			numbers = append(numbers, l.at)
		}
	}
	slices.Sort(numbers)
	p.mark(func(c *pen) {
		for _, l := range lines {
			c.line(halfStroke, c.Min.X, c.y(l.at), c.Max.X, c.y(l.at))
		}
	})
	p.letter(func(c *pen) {
		wish := make([]float64, len(numbers))
		for i, v := range numbers {
			wish[i] = float64(c.y(v))
		}
		for i, y := range spread(wish, 13, float64(c.Min.Y), float64(c.Max.Y)) {
			word := points(numbers[i])
			for _, l := range lines {
				if l.at == numbers[i] && !p.sheet.narrow() {
					word = l.word + "  " + word
				}
			}
			c.text(tickText, c.Min.X-10, vg.Length(y)-4, 1, word)
		}
		if !p.sheet.narrow() {
			return
		}
		for i, l := range lines { // a phone has no room beside the axis: on the side of the line where the mean is not
			up := vg.Length(3)
			steps := ser.Steps
			meanAbove := i == 0 && len(steps) > 0 && steps[len(steps)-1].Mean > l.at
			crowded := i+1 < len(lines) && c.y(lines[i+1].at)-c.y(l.at) < 13
			if meanAbove || crowded {
				up = -12
			}
			c.onPaper(tickText, c.Max.X, c.y(l.at)+up, 1, l.word)
		}
	})
}

// scoresAlt says what the figure shows.
func scoresAlt(a *answer.Scores, series []answer.ScoreSeries) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Scores of %s against minutes since it was made.", a.Title)
	for _, ser := range series {
		var means []string
		for _, st := range ser.Steps {
			means = append(means, fmt.Sprintf("%s at %s", points(math.Round(st.Mean*10)/10), tenths(st.AgeMin)))
		}
		if means == nil {
			fmt.Fprintf(&b, " %s: %d scores.", ser.Name, len(ser.Points))
			continue
		}
		fmt.Fprintf(&b, " Mean %s: %s.", ser.Name, strings.Join(means, ", "))
	}
	b.WriteString(actAlt(a.Act))
	return b.String()
}
