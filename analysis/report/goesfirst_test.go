package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
)

// Counts, limits, what went first for whom, and the other rules stand under their own heads.
func TestGoesFirstTable(t *testing.T) {
	of := answer.Of
	step := func(age float64, alone, tied, other, nothing int, lower, upper answer.Num) answer.FirstStep {
		return answer.FirstStep{AgeMin: age, Alone: alone, Tied: tied, Other: other, Nothing: nothing, Lower: lower, Upper: upper}
	}
	fizz := answer.FirstAttribute{Name: "fizz", Steps: []answer.FirstStep{step(2, 0, 0, 0, 7, of(0), of(.41)), step(4.04, 3, 1, 1, 2, of(.099), of(.901))}}
	a := &answer.GoesFirst{Parts: []answer.FirstPart{{
		Mode: "side_by_side", Units: 7, Attributes: []answer.FirstAttribute{fizz},
		Each:     []answer.FirstUnit{{Taster: "A", Pour: "g|1", AgeMin: of(4.04), Which: []string{"fizz", "cold"}, Until: 6}, {Taster: "B", Pour: "g2", Until: 4.04}},
		Variants: []answer.FirstVariant{{Name: "limit_up", Units: 7, Attributes: []answer.FirstAttribute{fizz}}, {Name: "last_crossing", Units: 7}},
	}}}
	require.Equal(t, []string{
		"| how | attribute | age, min | first alone | first, tied | another first | nothing yet | of | exact limits |",
		"| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
		"| side by side | fizz | 2.0 | 0 | 0 | 0 | 7 | 7 | 0 % to 41 % |",
		"| side by side | fizz | 4.0 | 3 | 1 | 1 | 2 | 7 | 10 % to 90 % |",
		"",
		"| how | taster | glass | went first | by, min | followed to, min |",
		"| --- | --- | --- | --- | ---: | ---: |",
		`| side by side | A | g\|1 | fizz, cold | 4.0 | 6.0 |`,
		"| side by side | B | g2 | nothing |  | 4.0 |",
		"",
		"| how | counted again | first alone \\+ tied by the last age | of |",
		"| --- | --- | --- | ---: |",
		`| side by side | every limit one point stricter | fizz 3 \+ 1 | 7 |`,
		"| side by side | only what failed for good |  | 7 |",
		"", "",
	}, strings.Split(Table(a), "\n"))
	require.Empty(t, Table(&answer.GoesFirst{}), "not asked: the sentences say so")
}

func TestLead(t *testing.T) {
	a := &answer.GoesFirst{}
	require.Empty(t, Lead(a))
	a.Sentences = []string{"One\u00a0thing.", "Another."}
	require.Equal(t, "One thing.\n", Lead(a))
}
