package figure_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/figure"
	"lastsip/analysis/golden"
)

// widths by the name they have in files.
var widths = map[string]int{"wide": figure.Wide, "narrow": figure.Narrow}

func TestGolden(t *testing.T) {
	for name, a := range cases() {
		for suffix, width := range widths {
			f, err := figure.Of(a, width)
			require.NoError(t, err, name)
			svg, err := f.SVG()
			require.NoError(t, err, name)
			golden.Check(t, filepath.Join("../../testdata/figure", name+"."+suffix+".svg"), svg)
			golden.Check(t, filepath.Join("../../testdata/figure", name+".alt.txt"), []byte(f.Alt()+"\n"))
		}
	}
}
