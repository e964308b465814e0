package figure_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis"
	"lastsip/analysis/figure"
	"lastsip/analysis/golden"
)

// README's picture is what the tool draws today of the demonstration evening.
func TestPictureOfTheReadme(t *testing.T) {
	study, err := analysis.Open("demo:sour-evening")
	require.NoError(t, err)
	life, err := study.Lifetime("sour")
	require.NoError(t, err)
	f, err := figure.Of(life, figure.Wide)
	require.NoError(t, err)
	svg, err := f.SVG()
	require.NoError(t, err)
	golden.Check(t, "../../testdata/readme/lifetime.svg", append(svg, '\n'))
}
