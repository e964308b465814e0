package report

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
)

func TestAgeDifferencesTable(t *testing.T) {
	n := answer.Of
	a := &answer.AgeDifferences{Attribute: "liking", Better: "high", Decimals: 1, Unit: "taster", Steps: []answer.AgeDifference{
		{AgeMin: 1.04, Tasters: 6, Tastes: 7, Mean: 8.26},
		{AgeMin: 6, Tasters: 6, Tastes: 6, Mean: 7.02, Difference: -1.24, Lower: -1.8, Upper: -0.68, P: n(0.0011), PAdjusted: n(0.0021)},
		{AgeMin: 12, Tasters: 5, Tastes: 5, Mean: 4, Difference: -4.26, Lower: -5, Upper: -3.5},
	}}
	require.Equal(t, `| age, min | tasters | tastes | mean liking | less fresh, points | limits for all ages together | p after max-t |
| ---: | ---: | ---: | ---: | ---: | ---: | ---: |
| 1.0 | 6 | 7 | 8.3 | fresh |  |  |
| 6.0 | 6 | 6 | 7.0 | -1.2 | -1.8 to -0.7 | 0.002 |
| 12.0 | 5 | 5 | 4.0 | -4.3 | -5.0 to -3.5 | - |

`, Table(a))
	a.Margin, a.Best = n(0.5), n(5)
	a.Steps[1].Lower90, a.Steps[1].Upper90, a.Steps[1].Same = n(-0.4), n(0.3), true
	a.Steps[2].Lower90, a.Steps[2].Upper90 = n(-4.9), n(-3.6)
	got := Table(a)
	require.Contains(t, got, "| mean distance of liking from 5 |")
	require.Contains(t, got, "| limits alone, 90 % | same within 0.5 |")
	require.Contains(t, got, "| -0.4 to 0.3 | yes |")
	require.Contains(t, got, "| -4.9 to -3.6 | not shown |")
	require.Empty(t, Table(&answer.AgeDifferences{}))
}
