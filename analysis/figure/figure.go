package figure

import (
	"errors"
	"fmt"

	"lastsip/analysis/answer"
)

// Widths of a figure, in pixels.
const (
	Wide   = 720
	Narrow = 360
)

// ErrNoFigure tells that an answer has nothing to draw; it is wrapped with the reason.
var ErrNoFigure = errors.New("no figure")

// Figure is a drawing of one answer, which must not be changed while the figure is in use.
type Figure struct {
	sheet *sheet
	alt   string
}

// Alt says what the figure shows, with its numbers, for readers who cannot see it.
func (f *Figure) Alt() string { return f.alt }

// Of draws an answer, width pixels wide: Wide (also for 0) or Narrow. Answers without a figure give ErrNoFigure.
func Of(a answer.Answer, width int) (*Figure, error) {
	switch width {
	case 0:
		width = Wide
	case Wide, Narrow:
	default:
		return nil, fmt.Errorf("figure: width %d: want %d or %d", width, Wide, Narrow)
	}
	switch a := a.(type) {
	case *answer.ServeBy:
		return Ribbon(a, nil, width)
	case *answer.Lifetime:
		return lifetime(a, width)
	case *answer.Rejections:
		return rejections(a, width)
	case *answer.Scores:
		return scores(a, width)
	case *answer.AgeDifferences:
		return ageDifferences(a, width)
	case *answer.GoesFirst:
		return goesFirst(a, width)
	case *answer.PrimeWindow:
		return primeWindow(a, width)
	case *answer.Readings:
		return readings(a, width)
	case *answer.Compare:
		return compare(a, width)
	case *answer.Differences:
		return differences(a, width)
	case *answer.Data, *answer.Glass, *answer.Provenance:
		return nil, fmt.Errorf("%s: %w: it is told in words and tables", a.Common().Question, ErrNoFigure)
	case nil:
		return nil, fmt.Errorf("%w: no answer given", ErrNoFigure)
	}
	return nil, fmt.Errorf("%w: %T is not known here", ErrNoFigure, a)
}

// finish closes a sheet into a figure.
func (s *sheet) finish(alt string) (*Figure, error) {
	s.close()
	if s.err != nil {
		return nil, s.err
	}
	return &Figure{sheet: s, alt: clean(alt)}, nil
}
