package answer_test

import (
	"fmt"
	"math"
	"strings"
)

const recoveryIntro = `# What the headline and its neighbours recover

Made by ` + "`go test ./analysis/answer -run TestRecovery -update -timeout 60m`" + `: %d simulated panels a cell, seed %d (LASTSIP_SEED draws
afresh), estimators as of commit %s. Own limits are log-normal with median 7 min and log-sd 0.35 unless said; ages every 2 min to 16 unless said; in
sip-through two more rounds follow the first no, side by side every taster meets every age. "Noise" is the log-sd of a reply about the own limit.

Methods: the *reply model* with slips held at 0.02 and limits at the small-panel cut; log-normal lifetimes on intervals of three readings; exact
limits without a family on either-side intervals. The *headline* is the reply model, or log-normal on first-no intervals where fewer than half of
those who rejected have a later reply ("fallback", in %% of panels).

"Bias" is the median over panels of estimate/truth less 1, in %%; an estimate of 0 or infinity counts in it ("no estimate", in %%). "Covers": panels, in %%, whose
95 %% limits hold the truth; an open limit covers. "Width": median over panels in min, an open end is infinite; "open": panels, in %%, with an
end at 0, or past four times the last age, which the answers print as open. q10 is answered from 8 tasters up. "Act late": panels, in %%, whose act lies past the true one in ten; the act is the one-in-ten
estimate (from 8 tasters, except with exact limits), else the smallest L of any taster, rounded down to half a minute. "Flat": panels, in %%, where every
value in a range is as likely; "one interval": the commonest interval's share of tasters, in %%, where more than half. Monte Carlo error of a coverage: 0.5 points where it
is 95; of a bias about 0.3 points at 24 tasters and 1 at 3. Nothing is dropped.
`

const earlierIntro = `Earlier simulations, made in R 4.2 and Go before building (500 to 2,000 panels a cell, Monte Carlo error 0.5 to 1 point of a coverage and about 1 % of a
bias), chose the defaults. They had the same limits: log-normal, median 7 min, log-sd 0.35.
`

const earlierWhy = `
Where they differ: widths are medians here and were means, so a few very wide panels no longer count. q10 by interval rules is a little later and
covers a little less, as the reply noise of 0.4 at 2 min is seen by more tasters. Two kinds of tasters cover less (92 and 89 % at 12 and 24 tasters
instead of 93 to 96): our second kind is further away (half the limit, three in ten tasters), for which the earlier figures give no details. One shake
for all covers 2 to 6 points more, as the reply noise of 0.2 here widens the limits. Tasters who repeat their own no at 24 tasters: 78 instead of
82 %, as the bias is the same and these limits are a little narrower.
`

// recoverySummary gives the ranges over worlds by method, from five tasters up.
func recoverySummary(lines []recoveryLine) string {
	var b strings.Builder
	b.WriteString("\n## In short, five tasters and more\n\n| worlds | method | covers, from | to | bias, from | to | q10 covers, from | to | act late, to |\n| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n")
	for _, group := range []string{groupSip, groupSide, groupBeside} {
		for _, method := range methodNames {
			covers, bias, tenth, late := span{}, span{}, span{}, span{}
			for _, l := range lines {
				if l.group != group || l.method != method || l.tasters < 5 {
					continue
				}
				covers.add(l.half.covers)
				bias.add(l.half.bias)
				late.add(l.late)
				if l.tenth.asked {
					tenth.add(l.tenth.covers)
				}
			}
			if covers.n > 0 {
				fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | %s | %s | %s |\n", group, method, covers.low(percent), covers.high(percent),
					bias.low(func(x float64) string { return signed(100 * x) }), bias.high(func(x float64) string { return signed(100 * x) }),
					tenth.low(percent), tenth.high(percent), late.high(percent))
			}
		}
	}
	return b.String()
}

// span is the range of numbers; NaN is passed over.
type span struct {
	n        int
	min, max float64
}

func (s *span) add(x float64) {
	if math.IsNaN(x) {
		return
	}
	if s.n == 0 || x < s.min {
		s.min = x
	}
	if s.n == 0 || x > s.max {
		s.max = x
	}
	s.n++
}

func (s span) low(say func(float64) string) string  { return s.say(say, s.min) }
func (s span) high(say func(float64) string) string { return s.say(say, s.max) }

func (s span) say(say func(float64) string, x float64) string {
	if s.n == 0 {
		return ""
	}
	return say(x)
}

// comparisonPanels is fewer than those of one style: a fit of two takes longer.
const comparisonPanels = 200

// comparisonTasters are fewer numbers of tasters, for the same reason.
var comparisonTasters = []int{5, 8, 12}

const comparisonIntro = `# What comparisons of two styles recover

Made by ` + "`go test ./analysis/answer -run TestRecoveryComparisons -update -timeout 60m`" + `: %d simulated panels a cell, seed %d (LASTSIP_SEED draws afresh),
estimators as of commit %s. What is not said is as in recovery.md.

Two styles, the limits of the second "ratio" times as late, noise 0.2, the same or as many different tasters for each. The reply model's time ratio, its limits and its
likelihood-ratio test at the small-panel cut; score tests of log-rank kind on one either-side interval for each taster and style, labels exchanged within tasters
or whole tasters between styles (all relabellings up to 20,000, else 999 draws). "Bias" is that of the ratio; "width" is upper over lower limit, median over panels; "open"
below 0.01 or above 100. "Rejects": panels, in %%, with p <= 0.05: the size where the ratio is 1, else the power. "Least p" is the smallest that the labels
allow, median over panels: exchanges that change nothing (both styles in one interval) do not count. Monte Carlo
error of a size of 5 %%: 1.5 points.
`
