// Package endpoint turns a panel into what estimators take: replies, rejection times as intervals, status rows and score
// tables. Every row keeps the place in the user's files that it came from. Ages become minutes here, once.
//
// A rejection is the verdict "reject" where any row of the style has a verdict, else an overall score past the reject
// limit (at the limit it is none); the two are never mixed.
//
// Sip-through replies go back and forth. A Reading says how they become one interval (L, R] (after Hough et al. 2003,
// J. Food Sci. 68, 359, who compare such readings). With replies from the first acceptance on, earlier rejections counted
// apart:
//
//	EitherSide  from the last acceptance before the first rejection to the first rejection after the last acceptance
//	FirstNo     from the last acceptance before the first rejection to that rejection
//	LastYes     from the last acceptance to the next rejection
//
// R is +Inf where no rejection follows. A taster who never accepted and rejected at a positive age has (0, that age]; one
// who only ever rejected at age 0 has no interval. Several replies at one age (side by side, or one age step) count as one
// look: an acceptance and a rejection together are both.
//
// For the question which attribute fails first (HistoriesOf, Histories.First) each attribute has a limit of its own and fails at
// the first age step with a score past it; attributes that fail at one step are tied.
package endpoint
