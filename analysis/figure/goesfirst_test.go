package figure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"lastsip/analysis/answer"
	"lastsip/analysis/figure"
)

const (
	muteInk = "#5D636B"
	inkInk  = "#1F2328"
)

// bandsOf finds the bands of a drawing from their lines at none and all.
func (d *drawing) bandsOf() (none, all []float64) {
	for _, tx := range d.texts {
		switch tx.s {
		case "none", "0":
			if tx.x < d.zero-5 {
				none = append(none, tx.y+4)
			}
		case "all", "2":
			if tx.x < d.zero-5 {
				all = append(all, tx.y+4)
			}
		}
	}
	return none, all
}

// Bars stand at their age, solid from none to alone, screened from there to alone and tied, and the whisker runs between the
// limits: all of it in the band of its attribute, the one that was first most often on top.
func TestGoesFirstPositions(t *testing.T) {
	a := goesFirstOf(threeAttributes("side_by_side"))
	order := []int{1, 0, 2} // liveliness, coldness, sourness
	bothWidths(t, a, func(t *testing.T, d *drawing) {
		none, all := d.bandsOf()
		require.Len(t, none, 3)
		var solid, screened, limits []path
		for _, p := range d.with("fill", muteInk) {
			if p.y[1] < all[0]+15 { // the key stands higher
				solid = append(solid, p)
			}
		}
		for _, p := range d.with("stroke", muteInk, "stroke-width", "") {
			if len(p.points) == 5 && p.y[1] < all[0]+15 && p.style["stroke-dasharray"] == "" {
				screened = append(screened, p)
			}
		}
		for _, p := range d.with("stroke", inkInk, "stroke-width", "1.2") {
			if p.x[0] == p.x[1] && p.y[1] < all[0]+15 {
				limits = append(limits, p)
			}
		}
		next := func(list *[]path) path {
			require.NotEmpty(t, *list)
			p := (*list)[0]
			*list = (*list)[1:]
			return p
		}
		for band, k := range order {
			height := func(share float64) float64 { return none[band] + share*(all[band]-none[band]) }
			for _, st := range a.Parts[0].Attributes[k].Steps {
				if st.Alone > 0 {
					p := next(&solid)
					require.InDelta(t, st.AgeMin, d.minutes((p.x[0]+p.x[1])/2), .02)
					require.InDelta(t, none[band], p.y[0], .02)
					require.InDelta(t, height(float64(st.Alone)/12), p.y[1], .02)
				}
				if st.Tied > 0 {
					p := next(&screened)
					require.InDelta(t, st.AgeMin, d.minutes((p.x[0]+p.x[1])/2), .02)
					require.InDelta(t, height(float64(st.Alone)/12), p.y[0], .02)
					require.InDelta(t, height(float64(st.Alone+st.Tied)/12), p.y[1], .02)
				}
				p := next(&limits)
				require.InDelta(t, st.AgeMin, d.minutes(p.x[0]), .02)
				require.InDelta(t, height(st.Lower.Float()), p.y[0], .02)
				require.InDelta(t, height(st.Upper.Float()), p.y[1], .02)
			}
		}
		require.Empty(t, solid)
		require.Empty(t, screened)
		require.Empty(t, limits)

		// The age that a sentence names is marked under the band, where the counts have become those of the last step.
		marks := d.with("stroke", inkInk, "stroke-width", "2")
		require.Len(t, marks, 2, "none where it was first for nobody")
		require.InDelta(t, 6, d.minutes(marks[0].x[0]), .02)
		require.InDelta(t, 10, d.minutes(marks[1].x[0]), .02)
	})
}

func TestGoesFirstWords(t *testing.T) {
	wide := func(name string) string { return draw(t, goesFirstCases()[name], figure.Wide).words() }
	require.Contains(t, wide("first_three"), "liveliness: first alone for 7, tied for 2 of 12\u00a0tasters by 6 min")
	require.Contains(t, wide("first_three"), "sourness: first for none of 12\u00a0tasters")
	require.Contains(t, wide("first_1_taster"), "liveliness: first alone for 2, tied for 1 of 4\u00a0pours by 6 min")
	require.NotContains(t, wide("first_1_taster"), "half", "a single taster's pours have no half")
	require.Contains(t, wide("first_three"), "half")
	require.Contains(t, wide("first_2_tasters"), "\n0\n2\n", "two are counted, not shared out")
	require.NotContains(t, wide("first_2_tasters"), "exact limits", "none are drawn")
	require.Contains(t, wide("first_two_modes"), "ages side by side")
	f, err := figure.Of(goesFirstCases()["first_three"], 0)
	require.NoError(t, err)
	require.Contains(t, f.Alt(), "liveliness: first alone for 7, tied for 2 of 12\u00a0tasters by 6 min (limits 28 to 95 %); 0 at 0.2, 1 at 2, 4 at 4, 7 and 2 tied at 6")
	require.Contains(t, f.Alt(), "serve by 3½")
}

func TestGoesFirstRefuses(t *testing.T) {
	_, err := figure.Of(&answer.GoesFirst{}, 0)
	require.ErrorIs(t, err, figure.ErrNoFigure)
	_, err = figure.Of(goesFirstOf(firstPart("sip_through", "taster", 0, answer.FirstAttribute{Name: "body"})), 0)
	require.ErrorIs(t, err, figure.ErrNoFigure, "nobody is compared")
	bad := threeAttributes("side_by_side")
	bad.Attributes[0].Steps[2].AgeMin = math.NaN()
	_, err = figure.Of(goesFirstOf(bad), 0)
	require.ErrorContains(t, err, "an age step of coldness is NaN")
}
