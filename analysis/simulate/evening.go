package simulate

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"lastsip/analysis/panel"
)

// Tick is the grid of all times: an age that is a multiple of 3 s is exact both as minutes with two decimals and as a
// clock time with seconds.
const Tick = 3 * time.Second

// Attribute is one property that the tasters score. Its fall is AirLoss points as the air goes (times Style.Air), WarmLoss
// points per degree and GasLoss points as the CO2 of a carbonated drink goes; the overall attribute falls as the style says
// instead. Where the three are 0 they are 4, 0.3 and 0.
type Attribute struct {
	Name            string // free text, one line
	Low, High, Step float64
	Better          panel.Direction
	Best            float64 // only for panel.BetterMiddle
	Category        bool
	LowMeans        string
	HighMeans       string
	Fresh           float64 // points of 0 to 10 at age 0; 0 means 8
	AirLoss         float64 // points when all air has gone
	WarmLoss        float64 // points per degree
	GasLoss         float64 // points when all CO2 has gone
}

// Evening says what to invent: Styles are sipped through, then Tables are tasted side by side. The zero value is twelve
// tasters of mixed habits and one sour, sipped through.
// Where 0 means a default, a negative value means none.
type Evening struct {
	Name   string // session (and folder) name; "" means "evening"
	Title  string
	Date   string  // YYYY-MM-DD; "" means 2031-03-11
	Start  string  // HH:MM of the first making; "" means 22:30
	Styles []Style // nil means one sour where there is no table either
	Tables []Table

	ProbeAges []float64 // minutes at which instruments are held into a spare glass of each style; nil: none
	Guests    int       // of each style, whose pace was noted; 0: none

	Tasters int      // 0 means 12; not used when People is given
	People  []Taster // who tastes; nil means recruited from the seed
	Habits  []Habit  // of those recruited; nil means Habits

	Glasses         int           // glasses of each style per taster; 0 means 1
	GlassesPerBatch int           // 0 means 2
	Wave            time.Duration // between two makings; 0 means 2 min, rounded to Tick
	Ages            []float64     // planned ages in minutes, rising, >= 0; nil means 1, 3 ... 17
	Jitter          float64       // sd of actual about planned age, minutes, cut at a third of the closest spacing; 0 means 0.15
	RoundsAfter     int           // rounds tasted after the first rejection; 0 means 2
	ToEnd           bool          // go on to the last age whatever the replies
	NoVerdicts      bool          // scores only; the protocol still follows the unspoken verdict

	Attributes      []Attribute // nil means liking, liveliness, coldness
	Overall         string      // "" means the attribute named liking, else the first
	Low, High, Step float64     // scale of attributes that give none; all 0 means 0, 10, 0.5; Step 0 means (High-Low)/20

	Noise   float64 // sd of a score, points of 0 to 10; 0 means 0.45
	ReplySD float64 // log-sd of a reply about the own limit; 0 means 0.1
	Slips   float64 // chance of a slip, at most 0.5; 0 means 0.01
	BatchSD float64 // log-sd of a batch's fault; 0 means 0.06
	Shared  float64 // share of the variance of log limits that is a taster's in every style, 0 to 1; 0 means 0.5
	Dulled  float64 // share of a late limit that comes from noticing less, the rest from tolerating more, 0 to 1; 0 means 0.6

	RoomC          float64 // C; 0 means 21
	SipML          float64 // sip-through; 0 means 6
	CupML          float64 // side by side; 0 means 12
	StandardDrinkG float64 // 0 means 10
	Allergens      []string
}

// making is one batch.
type making struct {
	id    string
	style int
	pace  float64       // fault f: everything goes f times as fast
	made  time.Duration // since midnight before the evening
}

// Run invents the evening. It draws two numbers from rng; the same state gives the same Session. Errors are joined
// *dataerr.Cell that name the field, its value and what would be right.
func (spec Evening) Run(rng *rand.Rand) (*Session, error) {
	e, err := spec.resolved()
	if err != nil {
		return nil, err
	}
	sd := newSeed(rng)
	if len(e.People) == 0 {
		e.People = Recruit(sd.child(kindTaster, 0, 0, 1), e.Tasters, e.Habits)
	}
	if err := e.checkPeople(); err != nil {
		return nil, err
	}
	s := &Session{spec: e}
	s.Truth.begin(e)
	for si := range e.sipped() {
		for round := range e.Glasses {
			s.pourRound(sd, si, round)
		}
	}
	at := e.start() + time.Duration(e.sipped()*e.Glasses)*e.slot()
	for ti := range e.Tables {
		at = s.lay(sd, ti, at)
	}
	s.probe(sd)
	s.watch(sd)
	s.Truth.finish()
	return s, nil
}

// pourRound makes one glass of a style for everyone and has it tasted.
func (s *Session) pourRound(sd seed, si, round int) {
	e := &s.spec
	style, batches := e.Styles[si], (len(e.People)+e.GlassesPerBatch-1)/e.GlassesPerBatch
	made := e.start() + time.Duration(si*e.Glasses+round)*e.slot()
	for bi := range batches {
		f := making{
			id:    tag(si, round*batches+bi, e.sipped(), "B"),
			style: si,
			pace:  math.Exp(e.BatchSD * sd.child(kindBatch, bi, si, round).NormFloat64()),
			made:  made + time.Duration(bi)*e.Wave,
		}
		s.Truth.addBatch(style.Name, f)
		for ti := bi * e.GlassesPerBatch; ti < min((bi+1)*e.GlassesPerBatch, len(e.People)); ti++ {
			who := e.People[ti]
			own := e.own(sd, ti, si, f.pace)
			s.Pours = append(s.Pours, Pour{tag(si, round*len(e.People)+ti, e.sipped(), ""), who.Name, si, f.id, f.made})
			s.Truth.addLimit(e, si, who.Name, s.Pours[len(s.Pours)-1], own)
			s.taste(sd.child(kindGlass, ti, si, round), who, len(s.Pours)-1, own)
		}
	}
}

// tag names the i-th batch or pour of a style: B3, or b-B3 for the second of several styles.
func tag(style, i, styles int, letter string) string {
	id := letter + strconv.Itoa(i+1)
	if styles > 1 {
		id = string(rune('a'+style%26)) + strings.Repeat("'", style/26) + "-" + id
	}
	return id
}

// limit is where one taster's limit for one glass comes from.
type limit struct {
	age   float64 // minutes, on a typical drink
	sense float64 // the taster notices the fall as if ages were this many times as long
	fault float64 // pace of the batch
}

// sipped is how many of the styles are sipped through; those of the tables follow.
func (e *Evening) sipped() int { return len(e.Styles) - len(e.Tables) }

// own draws where a taster's limit for a style lies; on every glass of it that is the same limit but for the batch's fault.
func (e *Evening) own(sd seed, taster, si int, fault float64) limit {
	style := e.Styles[si]
	z := math.Sqrt(e.Shared)*e.People[taster].Patience + math.Sqrt(1-e.Shared)*sd.child(kindStyle, taster, si, 0).NormFloat64()
	return limit{age: style.Median * math.Exp(style.LogSD*z), sense: math.Exp(-e.Dulled * style.LogSD * z), fault: fault}
}

// taste lets one person taste one glass through.
func (s *Session) taste(rng *rand.Rand, who Taster, pour int, own limit) {
	e := &s.spec
	style := e.Styles[s.Pours[pour].Style]
	law := replyLaw{own.age / own.fault, e.ReplySD * orDefault(who.Reply, 1), e.Slips}
	after, rejected := 0, false
	for k, planned := range e.Ages {
		age := e.actual(rng, k)
		no := rng.Float64() < law.reject(panel.Minutes(age))
		if again := rng.Float64() < who.RepeatNo; rejected && again {
			no = true
		}
		t := Taste{Pour: pour, Taster: who.Name, Mode: panel.SipThrough, Round: k + 1, Age: age, Planned: onGrid(planned)}
		s.record(rng, t, who, style, own, no)
		if rejected {
			after++
		}
		rejected = rejected || no
		if rejected && after >= e.RoundsAfter && !e.ToEnd {
			return
		}
	}
}

// record adds a taste with its verdict and scores.
func (s *Session) record(rng *rand.Rand, t Taste, who Taster, style Style, own limit, no bool) {
	e := &s.spec
	t.Scores = make([]panel.Score, len(e.Attributes))
	if !e.NoVerdicts {
		t.Verdict = panel.Accept
		if no {
			t.Verdict = panel.Reject
		}
	}
	for i, a := range e.Attributes {
		level := a.level(style, e.RoomC, panel.Minutes(t.Age)*own.fault*own.sense, a.Name == e.Overall)
		said := 5 + orDefault(who.Stretch, 1)*(level-5) + who.Offset + e.Noise*orDefault(who.Noise, 1)*rng.NormFloat64()
		t.Scores[i] = panel.Score{Value: a.onScale(said), Given: true}
	}
	s.Tastes = append(s.Tastes, t)
}

// level is the latent score in points of 0 to 10.
func (a Attribute) level(s Style, roomC, age float64, overall bool) float64 {
	if overall {
		return s.Quality(age, roomC)
	}
	fall := a.AirLoss*s.Air*(1-s.AirLeft(age)) + a.WarmLoss*(s.Temperature(age, roomC)-s.StartC)
	if s.GasGL > 0 {
		fall += a.GasLoss * (1 - s.GasLeft(age))
	}
	return a.Fresh - fall
}

// onScale maps points of 0 to 10 to the attribute's own scale, cut at its ends and rounded to its step.
func (a Attribute) onScale(points float64) float64 {
	u := min(max(points/10, 0), 1)
	var v float64
	switch a.Better {
	case panel.BetterLow:
		v = a.High - u*(a.High-a.Low)
	case panel.BetterMiddle: // away from the best towards the farther end
		far := a.High
		if a.Best-a.Low > a.High-a.Best {
			far = a.Low
		}
		v = a.Best + (1-u)*(far-a.Best)
	default:
		v = a.Low + u*(a.High-a.Low)
	}
	v = a.Low + a.Step*math.Round((v-a.Low)/a.Step)
	return min(max(math.Round(v*1e6)/1e6, a.Low), a.High) // 1e6: decimals as one writes them, 0.3 and not 0.30000000000000004
}

// actual is the age at which round k is really tasted, on the grid, never before the round ahead of it.
func (e *Evening) actual(rng *rand.Rand, k int) time.Duration {
	z := rng.NormFloat64()
	if e.Ages[k] == 0 {
		return 0 // the first sip as the drink is put down
	}
	gap := math.Inf(1)
	if e.Ages[0] > 0 {
		gap = e.Ages[0]
	}
	for i := 1; i < len(e.Ages); i++ {
		gap = min(gap, e.Ages[i]-e.Ages[i-1])
	}
	return onGrid(e.Ages[k] + min(max(e.Jitter*z, -gap/3), gap/3))
}

// slot is the time from one style's first making to the next one's: its waves, its tasting, five minutes for the table.
func (e *Evening) slot() time.Duration {
	waves := (len(e.People)*e.Glasses + e.GlassesPerBatch - 1) / e.GlassesPerBatch
	last := e.Ages[len(e.Ages)-1]
	return (time.Duration(waves)*e.Wave + panel.Age(last+6)).Truncate(time.Minute)
}

func (e *Evening) start() time.Duration {
	t, _ := time.Parse("15:04", e.Start) // checked before
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
}

func onGrid(minutes float64) time.Duration { return panel.Age(minutes).Round(Tick) }

func ftoa(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
