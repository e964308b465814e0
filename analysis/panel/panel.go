// Package panel says what a tasting is: tasters, pours, batches, tastes, verdicts, scores and the settings that give
// them meaning. It knows no file format and computes nothing about drinks.
//
// Ages are durations since the drink was finished (strained, topped or garnished), so that equal ages are exactly equal.
// A pour is one glass, known by (session, pour); in sip-through every taster has an own glass, known by (session, taster,
// pour). A batch is one making (one shake, one stir); pours of one batch share its faults.
package panel

import (
	"math"
	"time"
)

// Origin is the place in the user's files that a value came from; the zero value means invented in memory.
type Origin struct {
	File string
	Line int
}

// Verdict answers "would you go on drinking it?".
type Verdict uint8

// Verdicts; the zero value means that none was given.
const (
	NoVerdict Verdict = iota
	Accept
	Reject
)

func (v Verdict) String() string { return [...]string{"", "accept", "reject"}[v] }

// Why says why a taster stopped.
type Why uint8

// Reasons; all but WhyDrink end the observation without a rejection.
const (
	WhyNotSaid Why = iota
	WhyDrink       // the drink had died
	WhyFull
	WhyBored
	WhyLeft
)

func (w Why) String() string { return [...]string{"", "drink", "full", "bored", "left"}[w] }

// Mode is how the session was run; the two answer different questions.
type Mode uint8

// Modes.
const (
	SipThrough Mode = iota + 1 // one glass per taster, tasted again and again as it ages
	SideBySide                 // pours made at staggered times, several ages on the table at once
)

func (m Mode) String() string { return [...]string{"", "sip_through", "side_by_side"}[m] }

// Direction says which end of an attribute's scale is better.
type Direction uint8

// Directions; the zero value is the usual one.
const (
	BetterHigh Direction = iota
	BetterLow
	BetterMiddle // best at Attribute.Best
)

func (d Direction) String() string { return [...]string{"high", "low", "middle"}[d] }

// Attribute is one scored property of a drink.
type Attribute struct {
	Name      string
	Category  bool    // boxes to tick; false: a line scale
	Ranged    bool    // Low and High are known; without them there are no limits
	Low, High float64 // ends of the scale, points
	LowMeans  string
	HighMeans string
	Better    Direction
	Best      float64 // points; only for BetterMiddle
	Limit     float64 // points: the score past which the attribute has failed; for BetterMiddle the largest distance from Best; only when Ranged
}

// Score is one attribute's score in one taste.
type Score struct {
	Value float64 // points; meaningless unless Given
	Given bool
}

// AgeSource says where a taste's age came from.
type AgeSource uint8

// Age sources.
const (
	AgeStated  AgeSource = iota // column age_min
	AgeClock                    // clock times of making and tasting
	AgePlanned                  // the time was left empty on a planned sheet: the planned age stands in
)

// Pour is one glass, or every taster's glass of one pour when Taster is empty.
type Pour struct {
	Session, ID string
	Taster      string
	Style       string
	Serve       string        // may be empty
	Batch       string        // empty: unknown
	VolumeML    float64       // 0: unknown
	Made        time.Duration // since midnight before the session's evening; only when HasMade
	HasMade     bool
	Origin      Origin
}

// Taste is one taster tasting one pour once.
type Taste struct {
	Session    string
	Taster     string
	Pour       int // index into Panel.Pours
	Mode       Mode
	Age        time.Duration
	AgeFrom    AgeSource
	Planned    time.Duration // planned age; only when HasPlanned
	HasPlanned bool
	Flight     string
	Position   int // place in the taster's order, from 1; 0: unknown
	Verdict    Verdict
	Why        Why
	Aware      bool // this taster made or knew the drink
	Note       string
	Scores     []Score // one per Panel.Attributes, in that order
	Origin     Origin
}

// Reading is one instrument reading about one glass.
type Reading struct {
	Session  string
	Pour     int // index into Panel.Pours
	Age      time.Duration
	Quantity string // "temperature", "brix", "abv", "foam", "haze", "co2", "mass", or another that is kept as written
	Value    float64
	Unit     string // "C", "%", "mm", "NTU", "g/L", "g" ...
	Origin   Origin
}

// Choice is one forced choice or preference between two pours.
type Choice struct {
	Session, Taster, Trial string
	Test                   string // "paired", "3-afc", "triangle", "duo-trio", "tetrad" (A is the older) or "preference"
	PourA, PourB           int    // indices into Panel.Pours
	AgeA, AgeB             time.Duration
	Answer                 string // "right" or "wrong"; for a preference "a", "b" or "tie"
	Position               int    // place in the taster's order, from 1; 0: unknown
	Origin                 Origin
}

// Place is one pour's place in one taster's ranking.
type Place struct {
	Session, Taster, Trial string
	Pour                   int     // index into Panel.Pours
	Rank                   float64 // 1 is best; ties share the mean of their places
	Age                    time.Duration
	HasAge                 bool
	Origin                 Origin
}

// Code is what a blind code stands for.
type Code struct {
	Code, Pour          string
	Style, Serve, Batch string        // may be empty
	Planned             time.Duration // planned age at which it is served; only when HasPlanned
	HasPlanned          bool
	Origin              Origin
}

// Pace is how one guest drank one drink.
type Pace struct {
	Session, Style, Serve string
	Minutes               float64 // to finish, or until it was left
	Finished              bool
	Why                   Why // of an unfinished glass
	VolumeML              float64
	FirstSip              time.Duration // age at the first sip
	HasFirstSip           bool
	Origin                Origin
}

// Settings give the scores and verdicts of a panel their meaning. Every value has been resolved; Taken tells whether it
// came from the descriptor or is our default.
type Settings struct {
	Overall        string  // attribute that stands for liking; empty: none, score answers are not asked
	PrimeLimit     float64 // points; only when HasLimits
	RejectLimit    float64 // points; only when HasLimits
	HasLimits      bool
	PrimeDrop      float64 // points below the fresh mean; 0: not used
	SameMargin     float64 // points; 0: not given, sameness is not asked
	ImprovesFirst  bool    // stated beforehand: rejections before a taster's first acceptance are left out
	Unclear        string  // reading of wavering replies: "either_side", "first_no" or "last_yes"
	SipML          float64 // 0: 6 in sip-through, 12 side by side
	StandardDrinkG float64
	Allergens      []string
	Taken          []Taken
}

// Taken records one setting as used.
type Taken struct {
	Name, Value string
	Default     bool   // our default, not the descriptor's word
	Session     string // empty: all sessions
}

// Session is one evening.
type Session struct {
	Name, Title string
	Date        string // as written, YYYY-MM-DD; empty: unknown
	Start       string // as written, HH:MM; empty: unknown
	RoomC       float64
	HasRoomC    bool
	Invented    bool   // a demonstration: no one tasted anything
	Dir         string // where it was read from, for messages only
}

// Panel is everything that was read, cleaned of nothing: what cannot be used is not in it and is counted in LeftOut.
type Panel struct {
	Sessions   []Session
	Attributes []Attribute
	Settings   Settings
	Pours      []Pour
	Tastes     []Taste
	Readings   []Reading
	Choices    []Choice
	Places     []Place
	Paces      []Pace
	Blind      bool // pours are known by code only and no key was given: ages and styles are not known
	LeftOut    []LeftOut
}

// LeftOut counts rows or cells that were read and not used, and why.
type LeftOut struct {
	Session, Reason string
	Rows            int
}

// Minutes turns an age into minutes.
func Minutes(d time.Duration) float64 { return float64(d) / float64(time.Minute) }

// Age turns minutes into an age, rounded to the nanosecond so that 2.1 and 2.10 are the same age.
func Age(minutes float64) time.Duration {
	return time.Duration(math.Round(minutes * float64(time.Minute)))
}
