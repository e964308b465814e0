package answer

import "fmt"

// batchCoverage are coverages, in %, of the median's 95 % limits, which know tasters only, where shakes differ by 10, 20, 30 %, by
// number of batches and of tasters: testdata/answer/batches.md, which a test holds against these.
var batchCoverage = []struct {
	batches int
	cover   [3][3]int // by tasters 8, 12, 24
}{
	{1, [3][3]int{{90, 76, 60}, {86, 67, 51}, {78, 51, 37}}},
	{2, [3][3]int{{93, 86, 79}, {91, 82, 71}, {87, 67, 56}}},
	{4, [3][3]int{{94, 92, 90}, {94, 89, 85}, {91, 80, 74}}},
	{8, [3][3]int{{95, 93, 91}, {95, 93, 91}, {93, 89, 86}}},
}

// BatchCoverage gives the measured coverages, in %, of the median's 95 % limits where shakes differ by 10, 20, 30 %: those of the
// next fewer batches and the next larger number of tasters in the table, beyond it of the nearest.
func BatchCoverage(batches, tasters int) [3]int {
	i := 0
	for i+1 < len(batchCoverage) && batchCoverage[i+1].batches <= batches {
		i++
	}
	j := 2
	if tasters <= 8 {
		j = 0
	} else if tasters <= 12 {
		j = 1
	}
	return batchCoverage[i].cover[j]
}

// batchWords says what an interval speaks for, and how often it holds where shakes differ. Evenings do to the drinks of an
// evening what a shake does to its glasses.
func batchWords(c Counts) (heading, coverage string) {
	heading = "for these drinks"
	if c.OwnBatch {
		heading = ""
	}
	if c.Evenings > 1 {
		if heading = "for these drinks and evenings"; c.OwnBatch {
			heading = "for these evenings"
		}
	}
	switch {
	case c.Batches == 0:
		return heading, "Batches are not known: how far shakes differ cannot be seen, and the limits speak for these drinks only."
	case !c.OwnBatch:
		v := BatchCoverage(c.Batches, c.Tasters)
		return heading, fmt.Sprintf("Such limits hold in 95%s%% of panels if every shake is alike; in about %d, %d, %d%s%% if shakes differ by 10, 20, 30%s%%.", nbsp, v[0], v[1], v[2], nbsp, nbsp)
	case c.Evenings > 1:
		v := BatchCoverage(c.Evenings, c.Tasters)
		return heading, fmt.Sprintf("Such limits hold in 95%s%% of panels if evenings are alike; in about %d, %d, %d%s%% if evenings differ by 10, 20, 30%s%%.", nbsp, v[0], v[1], v[2], nbsp, nbsp)
	}
	return heading, ""
}
