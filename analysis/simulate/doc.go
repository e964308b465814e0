// Package simulate invents tasting evenings, and bare replies, whose truth is known, so that estimators and readers can be
// held against it. No one tasted anything: whatever is made here must be marked as invented wherever it is shown.
//
// # The drink
//
// Age a is in minutes since the drink was finished, temperature in degrees Celsius, scores in points of a scale from 0
// (worst) to 10 (best) that is mapped to the user's own scale at the very end.
//
//	temperature   T(a) = room + (T0 - room) exp(-k a)             Newton's law, no ice in the glass
//	air left      A(a) = exp(-l a)                                share of the air that was shaken in, first order
//	CO2 left      G(a) = exp(-g a)                                share of what it held when topped, first order
//	water         W(a) = r a                                      what its ice gave off, share of the volume, zero order
//	loss          D(a) = u (1 - A(a)) + w (T(a) - T0) + v (1 - G(a)) + q W(a)
//	                                                              points; u when all air is gone, w per degree, v when all CO2 is gone
//	liking        Q(a) = fresh - 4 (D(a)/4)^p                     points; p > 1: a small loss is hardly noticed
//
// Foam is a layer that goes as the air goes. Every other attribute falls by fresh - D(a), with weights of its own. Q falls strictly with age, so for each level
// there is one age at which it is crossed. A batch has a fault f (log-normal about 1): everything in its glasses goes f times
// as fast, Q(f a), and both glasses of a shake share it.
//
// # The taster
//
// A taster perceives the quality P(a) = Q(h a), with a sense h of their own (h < 1 notices the fall late), and tolerates a drink
// down to some quality q. The own limit on the typical drink is the age t at which P(t) = q; on a glass of a batch with fault
// f it is t/f, by the same physics. What q is for the median taster (h = 1) is given (4 points), and the style's median limit
// m is computed from it as the crossing Q(m) = q; or m is given and q = Q(m). Over tasters, with z standard normal, sense and
// tolerance go together: h = exp(-d s z), q = Q(m exp((1-d) s z)), d the share Evening.Dulled. Then h t = m exp((1-d) s z), so
// that log t = log m + s z exactly: the limits are log-normal about the style's median because Q falls strictly, and both
// ways of saying it, crossing or law, agree to rounding. Offset and stretch are about how a taster uses the scale: perceived quality
// and tolerance both pass through them, so they move scores and never the limit.
//
//	score     centre + stretch (P(f a) - centre) + offset + noise z, cut to the scale, rounded to its step
//	verdict   P(reject at age a) = s + (1 - 2s) Phi((log(f a) - log t)/tau), s slips, tau reply noise; tau = 0: f a >= t
//
// Score noise and reply noise are independent. A taster may repeat an own "no" instead of judging anew (Taster.RepeatNo).
//
// # Side by side, choices, instruments, guests
//
// A Table makes pours so long before a flight that several ages stand on it at once, under blind codes, in an order of each
// taster's own; a pour serves a group of tasters and is a making of its own. The replies follow the same law and the same
// own limits. In a forced choice every cup gives a percept, the perceived quality with normal noise of sd ChoiceSD times the
// taster's Noise (Thurstone 1927, Psychol. Rev. 34, 273): paired, the lower percept is called the older; triangle, the two
// closest are taken as alike. A slip, chance 2 s, guesses.
//
// Instruments read a spare glass: the physics above plus normal noise, rounded to the display's step. A guest finishes in a
// log-normal time about the style's pace, unless their own limit comes before they have had most of it, when they leave it;
// a few leave for other reasons.
//
// # What it is not
//
// No shrinking of the glass by the sips, no tiring palate; an evening's drinks never get better before they get worse (a Study's may). What
// the ice gives off costs points and does not weaken the drink in EthanolG. Rates of warming and of air are our estimates from a heat balance and from the
// common remark that a strained sour turns clear in about ten minutes (no published source); weights and spreads are invented.
// The reply law is a probit with a guessing floor and ceiling, as in psychometric functions.
//
// Randomness comes from the generator passed in; every taster, glass and batch draws from a child stream of its own, so that
// one more taster changes no other's replies. The same seed gives the same bytes on one platform (between platforms the
// last bit of exp and log may differ before rounding to the scale's step).
package simulate
