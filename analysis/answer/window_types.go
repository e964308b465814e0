package answer

// PrimeWindow is when a drink is at its best: the ages at which an average taster's expected overall score is at or above the
// prime limit.
type PrimeWindow struct {
	Head
	Attribute  string // the overall attribute
	Unit       string // "taster", or "pour" where one taster made several
	Units      int
	Drop       Num          // points lost since fresh that the variant one_point is about; empty: not asked
	Better     string       // "high" or "low": which way the limit is met
	Ranged     bool         // the scale has stated ends
	Low, High  float64      // ends of the scale, points; when not Ranged the range of the data
	Limit      Num          // prime limit, points
	DropStated bool         // the drop was stated beforehand (prime_drop): the act rests on it
	Shape      string       // "spline", or "joined": one mean per age step, joined by lines
	Knots      []float64    // minutes: interior knots of the spline
	Fresh      CurvePoint   // the curve at the youngest age step
	Main       Window       // at the limit, by the mixed model
	Variants   []Variant    // the same at other limits, by other methods, of other rows
	Curve      []CurvePoint // every tenth of a minute or so from the first to the last age tasted
	Lines      []TasterLine // each taster's own expected curve, shrunk towards the panel's
	Points     []ScorePoint // raw
	Steps      []ScoreStep  // raw means per age step, over tasters
	Spread     []Component  // how far tasters, evenings, batches and repeats lie apart
	Singular   []string     // terms at the edge of what they can be, in words; kept
	Fixed      []string     // "evening", "batch", "mode": told apart as they were, so that the curve is the mean over these
	Residuals  []Residual
	DF         string // "Kenward-Roger" or "Satterthwaite"
	Onset      *Onset // bend in the decline; nil: not asked or not enough
	NextAges   [2]Num // the ages whose limits would gain most from more tastes: from the lower to the upper limit of the end
}

// CurvePoint is the expected score of an average taster at one age, with pointwise limits.
type CurvePoint struct {
	AgeMin             float64
	Mean, Lower, Upper float64
}

// TasterLine is one taster's own expected curve, at the same ages as the curve.
type TasterLine struct {
	Taster string
	Means  []float64
}

// Variant is the window under another choice.
type Variant struct {
	Words           string // "limit one point up"
	Method, Variant string // as in results.csv
	Window          Window
	Tasters, Tastes int
	Note            string
}

// Component is one standard deviation of the model.
type Component struct {
	Name string // "tasters, at age 0", "tasters, per minute", "evenings", "batches", "repeats"
	SD   float64
	Unit string // "points" or "points per minute"
	Edge bool   // at zero
}

// Residual is one row of the residual checks.
type Residual struct {
	Taster           string
	AgeMin           float64
	Fitted, Residual float64 // points; what is left after the taster's own curve
}

// Onset is the bend in the decline: two straight lines that meet, within the taster model.
type Onset struct {
	Why         string // why there is none
	Status      string
	At          Num     // minutes
	Set         []Span  // ages that the data do not rule out
	AtEdge      bool    // it lies at an end of the ages searched
	Open        bool    // so does the set
	Cut         float64 // 2 (l_max - l) up to which an age is in the set
	SlopeBefore float64 // points per minute
	SlopeAfter  float64
	F           Num // largest F over the ages tried, against no bend
	P           Num // by parametric bootstrap; empty where not resampled
	Draws       int
}

// AgeDifferences compares every age step with the youngest: how much lower the expected score is, how sure that is, and up to
// which age the drink is shown to be the same as fresh.
type AgeDifferences struct {
	Head
	Attribute  string
	Better     string
	Best       Num     // points; empty unless Better is "middle": scores are then distances from it
	Decimals   int     // of points, in words and tables
	Unit       string  // "taster", or "pour" of one taster
	Units      int     // how many of them
	FreshAge   float64 // minutes: mean actual age of the youngest step
	Margin     Num     // same_margin, points; empty: not stated
	Level      float64 // of the limits, of all steps together
	Steps      []AgeDifference
	Own        []ScorePoint // each unit's own mean at a step less that at the youngest step: raw
	SameUpTo   Num          // minutes; empty: none shown, or not asked
	SameStatus string       // OK, Never (not shown even at the first step), BeyondLastAge (same up to the last age), NotAsked, NotEnough
	FirstSure  Num          // the first age step that is surely not as good; empty: none
	DF         string
	Singular   []string  // variances at zero, in words; held there
	Blind      *AgeBlind // without the tastes of those who made or knew the drink; nil: there are none, or too little is left
	Unsaid     string    // why nothing is answered
}

// AgeBlind is the same comparison on fewer rows; fields as in AgeDifferences.
type AgeBlind struct {
	Counts     Counts
	Status     string
	FreshAge   float64
	Steps      []AgeDifference
	FirstSure  Num
	SameUpTo   Num
	SameStatus string
}

// AgeDifference is one age step against the youngest, which comes first: its differences are 0.
type AgeDifference struct {
	AgeMin             float64
	Tastes, Tasters    int
	Mean               float64 // expected score at this age
	Difference, SE, DF float64 // points; this age less the youngest
	Lower, Upper       float64 // limits for all steps together (max-t)
	P, PAdjusted       Num     // empty: too few tasters for a p-value
	Lower90, Upper90   Num     // plain 90 % interval, for sameness; empty: not asked
	Same               bool    // inside the margin, and so is every younger step
}
