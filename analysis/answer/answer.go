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
	Below                bool    // met at or below the limit: a score that is better low
	Highest, HighestAt   float64 // of the curve, for Never; the lowest where Below
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
	Act           Num
	Basis         string
	HandOverAfter Num // minutes; empty: at once
	Ribbon        Ribbon
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
