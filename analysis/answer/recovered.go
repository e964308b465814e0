package answer

import "fmt"

// recovered are coverages, in %, of the headline's 95 % limits where an assumption fails, by tasters: of the half and of one in
// ten (0: not answered) where own limits follow a Weibull law or tasters are of two kinds, the worst of these; of the half where tasters
// repeat their own last no, asked every minute; and of an early headline where replies waver much, asked every minute.
// testdata/answer/recovery.md has them; a test holds it against these.
var recovered = map[string][]recoveredRow{
	"sip_through": {
		{5, 94, 0, 93, 87},
		{8, 94, 87, 92, 79},
		{12, 92, 88, 88, 64},
		{24, 89, 86, 78, 34},
	},
	"side_by_side": {
		{5, 93, 0, 0, 0},
		{8, 94, 89, 0, 0},
		{12, 92, 86, 0, 0},
		{24, 88, 87, 0, 0},
	},
}

// recoveredRow is one number of tasters.
type recoveredRow struct {
	tasters             int
	law, tenth          int
	repeatedNo, stopped int // 0: not applicable
}

// poor is a coverage that the page tells.
const poor = 92.5

// recoveredAt gives the row of the next larger number of tasters, beyond the table the last.
func recoveredAt(mode string, tasters int) recoveredRow {
	rows := recovered[mode]
	for _, r := range rows {
		if r.tasters >= tasters {
			return r
		}
	}
	return rows[len(rows)-1]
}

// lawWords tell how often the limits hold where own limits spread otherwise than assumed, where that is poor.
func (p *LifetimePart) lawWords() string {
	if p.Headline == nil || p.Unit != "taster" || p.Headline.Early {
		return ""
	}
	r := recoveredAt(p.Mode, p.Units)
	_, tenth := p.Headline.Quantile(0.1)
	half, poorTenth := float64(r.law) < poor, tenth && float64(r.tenth) < poor
	const otherwise = "If limits spread over drinkers otherwise than assumed (Weibull, or two kinds of drinkers), "
	switch {
	case half && poorTenth:
		return fmt.Sprintf("%sthe half's limits hold in as few as %d%s%% of panels, those of the one in ten in %d%s%%.", otherwise, r.law, nbsp, r.tenth, nbsp)
	case half:
		return fmt.Sprintf("%sthe half's limits hold in as few as %d%s%% of panels.", otherwise, r.law, nbsp)
	case poorTenth:
		return fmt.Sprintf("%sthe limits of the one in ten hold in as few as %d%s%% of panels.", otherwise, r.tenth, nbsp)
	}
	return ""
}

// memoryWords warn of tasters who repeat themselves, and tell how often the limits hold then.
func (p *LifetimePart) memoryWords() string {
	if p.Mode != "sip_through" {
		return ""
	}
	s := "One glass tasted again and again: a taster who repeats their own last no makes this about a tenth early"
	if r := recoveredAt(p.Mode, p.Units); p.Headline != nil && p.Unit == "taster" && float64(r.repeatedNo) < poor {
		s += fmt.Sprintf(", and such limits may then hold in as few as %d%s%% of panels", r.repeatedNo, nbsp)
	}
	return s + "."
}

// stoppedWords tell how often the limits of an early headline hold.
func (p *LifetimePart) stoppedWords() string {
	r := recoveredAt(p.Mode, p.Units)
	if r.stopped == 0 || float64(r.stopped) >= poor || p.Unit != "taster" {
		return ""
	}
	return fmt.Sprintf(" Where replies waver, such limits may hold in as few as %d%s%% of panels.", r.stopped, nbsp)
}
