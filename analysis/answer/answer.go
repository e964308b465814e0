package answer

// Statuses of an answer or of a row of results.csv.
const (
	OK             = "ok"
	Never          = "never"
	Always         = "always"
	BeyondLastAge  = "beyond_last_age"
	BeforeFirstAge = "before_first_age"
	NotEnough      = "not_enough"
	NotConverged   = "not_converged"
	NotAsked       = "not_asked"
)

// Answer is what every question returns.
type Answer interface {
	Common() *Head // what every answer carries
}

// Head is what every answer carries.
type Head struct {
	Question  string // as in results.csv: "lifetime", "serve_by", "data" ...
	Title     string // what was asked of what: "sour, coupe"
	Style     string // empty for answers about the whole study
	Serve     string
	Status    string   // of the answer as a whole
	Sentences []string // the first answers the question, the others qualify it; plain text
	Method    string   // one or two sentences: what was computed
	Source    string   // where the method was published
	Settings  []Setting
	Counts    Counts
	Warnings  []string
	Rows      []Row
	Invented  bool    // the data are a demonstration
	Act       Num     // minutes: the act of this style, drawn through each of its figures; empty when there is none
	AxisEnd   float64 // minutes: right end of the age axis that all figures of a style share
}

// Common lets Head stand for every answer that embeds it.
func (h *Head) Common() *Head { return h }

// Setting is one setting that an answer used.
type Setting struct {
	Name, Value string
	Default     bool // our default, not the user's word
}

// Counts say how much data an answer rests on.
type Counts struct {
	Tasters, Batches, Pours, RowsUsed int  // Batches is 0 where unknown
	OwnBatch                          bool // batches are known and no two tasters shared one
	Evenings                          int
	LeftOut                           []LeftOut
}

// LeftOut counts rows that were not used, and why.
type LeftOut struct {
	Reason string
	Rows   int
}

// Row is one row of results.csv; the first ten fields are its key.
type Row struct {
	Question, Session, Style, Serve, Attribute, Taster string
	AgeMin                                             Num
	Statistic, Method, Variant                         string
	Value, Lower, Upper, Level                         Num
	Unit, Status                                       string
	Tasters                                            int
	Batches                                            int // 0: unknown, written empty
	Tastes                                             int
	Note                                               string
}

// Data says what a study holds.
type Data struct {
	Head
	Sessions []SessionFacts
	Findings []string // every warning of the reading, located
	Notes    []string // defaults taken, mode found, columns kept aside
}

// SessionFacts describe one evening.
type SessionFacts struct {
	Name, Title, Date string
	Tasters           []string // as the Study shows them: letters unless real names were asked for
	Drinks            []DrinkFacts
	Tastes            int
	Beside            []Fact // what else was recorded, and how much of it
}

// DrinkFacts describe one style and serve within one evening.
type DrinkFacts struct {
	Style, Serve, Mode     string
	Tasters, Pours, Tastes int
	Batches                int // 0: unknown
	Steps                  []Step
	Gaps                   []string // "taster C: nothing at 6 min"
}

// Step is an age step: ages that count as one level.
type Step struct {
	AgeMin float64 // mean actual age
	Tastes int
}

// Glass says what is in the glass.
type Glass struct {
	Head
	Text  []string // paragraphs about the style, Markdown of our own; empty: nothing is known beforehand
	Facts []Fact   // serve, volume, sips, batches, room ...
}

// Fact is a named fact to print in a list.
type Fact struct{ Name, Value string }

// Scores hold each attribute's raw scores over age, and their spread over tasters.
type Scores struct {
	Head
	Attributes []ScoreSeries
}

// ScoreSeries is one attribute over age.
type ScoreSeries struct {
	Name                string
	Overall             bool
	Ranged              bool
	Low, High           float64 // ends of the scale, points; when not Ranged the range of the data
	LowMeans, HighMeans string
	Better              string // "high", "low" or "middle"
	Prime, Limit        Num    // points: prime limit (overall only) and limit past which it has failed
	Points              []ScorePoint
	Steps               []ScoreStep
}

// ScorePoint is one taster's score.
type ScorePoint struct {
	Taster string
	AgeMin float64
	Score  float64
}

// ScoreStep summarises one age step over tasters (each taster's mean first).
type ScoreStep struct {
	AgeMin                  float64
	Tasters                 int
	Mean                    float64
	LowQuarter, HighQuarter float64 // type-7 quartiles over tasters: the spread of tasters, not the uncertainty of the mean
	Least, Most             float64
}

// Rejections hold every reply of every glass.
type Rejections struct {
	Head
	Basis    string // "verdict" or "score"
	Both     int    // rows with verdict and overall score
	Disagree int    // of these, how many say different things
	Parts    []RejectionPart
}

// RejectionPart is one mode.
type RejectionPart struct {
	Mode    string
	Glasses []GlassReplies // sip-through: one per glass; side by side: one per taster
}

// GlassReplies are the replies about one glass (sip-through) or of one taster (side by side), in order of age.
type GlassReplies struct {
	Taster, Session, Pour string
	Replies               []Reply
	L, R                  Num  // default reading; both empty when there is no interval
	Reversed              bool // accepted again after a rejection
	Never                 bool // never accepted
}

// Reply is one reply.
type Reply struct {
	AgeMin float64
	Reject bool
}

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

// ServeBy is the act: how long after making the drink should have been drunk.
type ServeBy struct {
	Head
	Basis         string // "one_in_ten", or "smallest_l": the last age at which every taster would go on
	Kicker        string // what was tasted, how, when and by how many, in one line
	SmallestL     Num
	Tasters       []string // whose interval begins there
	HandOverAfter Num      // minutes; empty: at once
	Ribbon        Ribbon
}

// Ribbon holds what the age ribbon of one style needs besides the act.
type Ribbon struct {
	Label             string   // of the row: "sour, coupe"
	Window            *Window  // when an average taster scores it at its best; nil: not asked
	Tenth             Quantile // age by which one in ten have reached their limit
	HasTenth          bool
	Half              Quantile // age by which half have reached their limit
	HasHalf           bool
	Noticed           Num     // told from a fresh one, side by side; empty: not asked
	FirstAge, LastAge float64 // minutes: the ages between which the drink was tasted
	Unit              string  // "taster" or "pour"
	Units             int
	Intervals         []Interval // one per taster (or pour), for panels of five and fewer; empty for larger ones
	Words             string     // stands beside the row where numbers cannot: "taster A only"
}

// Window is the set of ages at which an average taster scores a drink at its best.
type Window struct {
	Status               string // OK, Never, Always, BeyondLastAge
	From, To             Num    // estimate
	FromLower, FromUpper Num    // limits of where it begins
	ToLower, ToUpper     Num    // limits of where it ends
	AtLeastUntil         Num    // empty: not shown by this panel
	Limit                float64
	Highest, HighestAt   float64 // of the curve, for Never
	Others               []Span  // further runs above the limit
}

// Span is a run of ages, minutes.
type Span struct{ From, To float64 }

// Differences tell which drinks keep longer than which others.
type Differences struct {
	Head
	Pairs []Pair
}

// Pair compares the lifetimes of two drinks.
type Pair struct {
	A, B        string // titles; A keeps the longer
	Mode        string // in which both were tasted
	Status      string
	Why         string   // why it is not answered
	Ratio       Quantile // A's half over B's: From, To, Lower, Upper, Level
	BatchesA    int      // of either; 0: unknown
	BatchesB    int
	OwnBatch    bool // each taster had own batches of both
	Both        int  // tasters of both
	Tasters     int  // of either
	P, PAdj     Num  // likelihood ratio of the paired reply model; after Holm over all pairs
	ScoreP      Num  // of the score test for intervals
	ScoreAdj    Num
	SmallestP   Num    // that the score test can reach with these tasters
	ScoreMethod string // "within tasters", "between tasters", "clustered"; empty: none
	WilcoxonP   Num    // of the score test of Wilcoxon kind
	Draws       int    // relabellings drawn; 0: all of them, or none
	Rows        int    // replies used
	Evenings    bool   // the two were tasted on different evenings
}

// Compare sets styles side by side, the latest act first.
type Compare struct {
	Head
	Styles []CompareStyle
}

// CompareStyle is one row of a Compare.
type CompareStyle struct {
	Act    Num
	Basis  string
	Ribbon Ribbon
}

// Readings hold instrument readings over age.
type Readings struct {
	Head
	Series []ReadingSeries
}

// ReadingSeries is one quantity over age.
type ReadingSeries struct {
	Quantity, Unit string
	Points         []ReadingPoint
}

// ReadingPoint is one reading.
type ReadingPoint struct {
	Session, Pour string
	AgeMin, Value float64
}

// Provenance says what a report was made from.
type Provenance struct {
	Head
	Files    []InputFile
	Versions []Fact
}

// InputFile is one file of a session as it was read.
type InputFile struct {
	Session, File string
	SHA256        string // hexadecimal
	Bytes         int
}
