package answer

// Lifetime is how long a drink stays good enough to go on with.
type Lifetime struct {
	Head
	Basis       string         // "verdict" or "score"
	Parts       []LifetimePart // the one that the sentence rests on first
	ModeRatio   *Quantile      // how many times as long, tasted again and again, as side by side; nil unless both modes are there
	ModeBoth    int            // own limits more than tasters in that estimate: 0 where nobody tasted in both modes
	CannotSay   []string       // what this panel leaves open, in sentences
	NextEvening []string       // what to taste next, in sentences
}

// LifetimePart is the lifetime in one mode.
type LifetimePart struct {
	Mode               string // "sip_through" or "side_by_side"
	Unit               string // "taster", or "pour" where one taster made several
	Units              int    // how many of these the exact limits count
	Method             string // "turnbull" or "isotonic"
	Status             string
	Counts             Counts    // of this mode
	Headline           *Headline // what the sentence and the act rest on; nil below three units
	Curve              Curve
	Shares             []Share
	Quantiles          []Quantile // without a family: 0.5, 0.25, 0.1 as far as the panel allows
	Sensitivity        Sensitivity
	Band               []BandPoint // bootstrap band of the curve without a family, from 15 tasters; nil where not resampled
	BandHalf           *Quantile   // likewise of its median
	Readings           []Reading   // sip-through only; the one in force first
	Intervals          []Interval  // one per glass (side by side: per unit)
	Whole              []Interval  // what the act rests on: one per glass in sip-through, one per taster side by side
	Replying           int         // tasters with a reply
	Glasses            int         // glasses with a reply; side by side: tasters
	Unclear            int         // glasses whose replies reversed
	UnclearBy          []string    // whose
	Early              int         // rejections before a first acceptance
	EarlyBy            []string    // whose
	NeverTook          []string    // tasters who never accepted, and stay in
	RejectedFresh      []string    // tasters who rejected it fresh and tasted no older one: they have no interval
	AgeIsBatch         bool        // side by side: every age step was poured from one batch of its own
	WithoutNever       *Quantile   // the headline's half without those who never accepted, where there are any and others remain
	WithoutNeverTenth  *Quantile   // likewise the age of one in ten, where the headline has it
	WithoutNeverExact  *Quantile   // likewise the median without a family
	WithoutNeverCounts Counts      // what they rest on
}

// Headline is an estimate that assumes log-normal own limits: of every reply about them, or where replies after the first no
// are missing, of the intervals up to that no.
type Headline struct {
	Method         string // "replies", or "lognormal" on first_no intervals
	Early          bool   // it is the latter: tends to be early
	Status         string
	Quantiles      []Quantile // 0.5; 0.25 from six units, 0.1 from eight tasters
	Shares         []ModelShare
	LogMedian      Num     // log minutes; empty where half is not reached, or is a range of ages
	LogSD          Num     // of own limits between drinkers like these, log: widened by sqrt(n/(n-1))
	ReplySD        Num     // log-sd of a reply about the own limit; empty when early
	TasterSD       Num     // log-sds of tasters and of a taster's glasses, where a taster had several; else empty
	GlassSD        Num     // together they make up the spread of limits before it is widened
	Slips          float64 // share of replies that are slips, fixed
	LogLik         float64
	Units, Replies int      // own limits and replies that it rests on
	LeftOut        int      // replies left out: rejections before a first acceptance, where improves_first was said
	Below          []string // tasters whose own interval lies below the one-in-ten estimate
	Batches        Groups
	Evenings       Groups
}

// Quantile finds a quantile that was answered.
func (h *Headline) Quantile(p float64) (Quantile, bool) {
	if h == nil {
		return Quantile{}, false
	}
	for _, q := range h.Quantiles {
		if q.P == p {
			return q, true
		}
	}
	return Quantile{}, false
}

// ModelShare is the share of drinkers like these who would go on at an age, as the headline has it.
type ModelShare struct {
	AgeMin              float64
	Share, Lower, Upper float64
	Level               float64
	OfReplies           float64 // share of replies that say yes: wavering and slips included
}

// BandPoint is a bootstrap band at one age step: fractions.
type BandPoint struct{ AgeMin, Lower, Upper float64 }

// Groups are the estimates of half by batch or by evening, and the limits that follow from their differences.
type Groups struct {
	Each []Group
	Half *Quantile // t interval on the logs of the groups' halves; nil where there are too few, or one is open
}

// Group is the half of one batch or evening.
type Group struct {
	Name            string
	Tasters         int
	Batches, Tastes int // Batches is 0 where unknown
	Half            Quantile
}

// Sensitivity says how far the half and the one in ten move with our choices.
type Sensitivity struct {
	Rows               []Choice
	From, To           Num      // smallest and largest half under any of the choices, of those that are closed
	TenthFrom, TenthTo Num      // likewise of one in ten
	Open               int      // choices under which the half is open or not told
	Unfit              []string // families that the data rule out, which do not count
}

// Choice is the answer under another choice: the slips assumed, the reading, the family, the modes together.
type Choice struct {
	Words           string // "log-logistic lifetimes"
	Method, Variant string // as in results.csv
	Note            string // what its limits are
	Status          string
	Half, Tenth     Quantile
	LogLik, AIC     Num
	MeanTo          Num // mean of limits cut at the last age tasted, minutes
	Distance, P     Num // greatest distance from the curve without a family, and its bootstrap p-value; empty where not resampled
}

// Curve is the estimate without a family: masses on sets (L, R], L = R a point.
type Curve struct {
	Sets             []Set
	LogLik           float64
	Gap              float64 // optimality gap max_j d_j - N
	Rows             int
	MeanFrom, MeanTo Num     // mean of limits cut at Horizon, minutes: mass at the left, at the right ends of its sets
	Horizon          float64 // the last age tasted
}

// Set is one set of the curve with its mass.
type Set struct {
	L, R Num
	Mass float64
}

// Share is the share of tasters who would still go on at an age step.
type Share struct {
	AgeMin                 float64 // mean actual age of the step
	EstLo, EstHi           float64 // of the curve; equal where data leave nothing open
	Lower, Upper           float64
	Level                  float64
	Going, Possible, Units int // certainly going on, possibly going on, of how many
	No                     int // units with a rejection at this step, those before a first acceptance too
}

// Quantile is the age by which a share of tasters has reached their limit.
type Quantile struct {
	P            float64
	From, To     Num // equal where the curve leaves nothing open
	Lower, Upper Num // Lower 0: open; Upper open: later than the last age
	Level        float64
	Beyond       bool // not reached when last seen: From is the last age at which those still going on were seen
	Before       bool // reached by the first age past 0 at which anyone replied
	Status       string
}

// Reading is the median under one reading of wavering replies.
type Reading struct {
	Name   string // "either_side", "first_no", "last_yes"
	Median Quantile
}

// Interval is one taster's (or pour's) own interval.
type Interval struct {
	Taster, Session, Pour string
	L, R                  Num
	Counted               bool // the exact limits count it: each taster once
}
