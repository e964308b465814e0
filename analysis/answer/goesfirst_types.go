package answer

// GoesFirst says which attribute fails before the others.
type GoesFirst struct {
	Head
	Parts []FirstPart // the one that the sentence rests on first; none: not asked
}

// FirstPart is what goes first in one mode.
type FirstPart struct {
	Mode       string // "sip_through" or "side_by_side"
	Unit       string // "taster", or "pour" where one taster made several
	Units      int    // each counts once
	Status     string
	Counts     Counts // of this mode; rows of the units
	Attributes []FirstAttribute
	Leads      []string // attributes that were first alone most often (then tied most often); several where counts are equal
	NotApart   []string // those whose limits reach into the leader's; empty where there are several leaders or none
	Nothing    int      // units in which nothing had failed when they were scored last
	Stopped    int      // of these, units that were not scored up to the last step
	Each       []FirstUnit
	Variants   []FirstVariant
	Missing    []FirstMissing // tasters who are not compared
	NoLimit    []string       // attributes without a known scale
	Seldom     []FirstSeldom  // attributes that too few tasters scored
}

// FirstAttribute is one attribute's part in failing first.
type FirstAttribute struct {
	Name     string
	Better   string // "high", "low" or "middle"
	Limit    Num    // points; of "middle" the largest distance from Best
	Best     Num    // points; empty unless "middle"
	With     []string
	Reversed int // units in which it failed and was within its limit again
	Steps    []FirstStep
}

// FirstStep counts units at one age step, cumulatively: what had failed by then.
type FirstStep struct {
	AgeMin       float64 // mean actual age of the step
	Alone        int     // this attribute had failed by then, before every other
	Tied         int     // it had failed by then, at one step with others and before the rest
	Other        int     // others had failed before it
	Nothing      int     // nothing had failed by then
	Stopped      int     // of these, units not scored so far
	Lower, Upper Num     // exact limits of the share that it was first; empty with fewer than three units
}

// FirstUnit is what failed first in one unit.
type FirstUnit struct {
	Taster, Session, Pour string
	AgeMin                Num      // age step at which the first failed; empty: nothing failed
	Which                 []string // the one that failed then, or several that are tied
	Until                 float64  // age of the last step up to which everything was scored
	AtOnce                []string // of Which, those past their limit when first scored
	Unseen                []string // not failed before, and not scored at that step
}

// FirstVariant is the same count under another rule or on fewer rows.
type FirstVariant struct {
	Name       string // "limit_up", "limit_down", "last_crossing", "without_aware"
	Units      int
	Counts     Counts
	Attributes []FirstAttribute
	Leads      []string
}

// FirstMissing is a taster who is not compared, and the attributes without a score.
type FirstMissing struct {
	Taster     string
	Attributes []string
}

// FirstSeldom is an attribute that is not compared, scored by Tasters of Of.
type FirstSeldom struct {
	Name        string
	Tasters, Of int
}
