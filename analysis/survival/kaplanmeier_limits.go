package survival

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"lastsip/analysis/dataerr"
)

// LimitScale is the scale on which the limits of a share p are symmetric, by the delta method with the standard error
// se(p); z is the normal point.
type LimitScale int

const (
	LogLogLimits LimitScale = iota // log(-log p): p^exp(+-z se/(p log p)); stays within 0 and 1, best kept with few rows [T4]
	LogLimits                      // log p: p exp(+-z se/p), at most 1
	PlainLimits                    // p itself: p +- z se, cut at 0 and 1
	LogitLimits                    // log(p/(1-p)) +- z se/(p (1-p))
)

var limitScaleNames = [...]string{"log-log", "log", "plain", "logit"}

// String is the scale's name: "log-log", "log", "plain" or "logit".
func (s LimitScale) String() string {
	if s < 0 || int(s) >= len(limitScaleNames) {
		return "LimitScale(" + strconv.Itoa(int(s)) + ")"
	}
	return limitScaleNames[s]
}

func (s LimitScale) check() error {
	if s >= 0 && int(s) < len(limitScaleNames) {
		return nil
	}
	return &dataerr.Cell{Column: "Scale", Value: strconv.Itoa(int(s)), Err: dataerr.ErrUnknown,
		Want: "give LogLogLimits, LogLimits, PlainLimits or LogitLimits"}
}

// Share is an estimated probability with its standard error and pointwise limits, all fractions. Limited says whether the
// scale has limits there: none has where the estimate of S is 0 (SE is NaN then, Greenwood's formula has no value), and
// log-log and logit have none where it is 1 (or, for an incidence, 0). Lower and Upper are then the open ends 0 and 1.
type Share struct {
	Value, SE, Lower, Upper float64
	Limited                 bool
}

// newShare gives p with standard error p rel and limits on a scale. rel is +Inf where p = 0.
func newShare(p, rel float64, scale LimitScale, z float64) Share {
	share := Share{Value: p, SE: p * rel, Lower: 0, Upper: 1}
	if p <= 0 || p >= 1 && (scale == LogLogLimits || scale == LogitLimits) {
		return share
	}
	share.Limited = true
	half := z * rel
	switch scale {
	case LogLogLimits:
		l := math.Log(p)
		e := math.Exp(-half / l)
		share.Lower, share.Upper = math.Exp(l*e), math.Exp(l/e)
	case LogLimits:
		e := math.Exp(half)
		share.Lower, share.Upper = p/e, min(p*e, 1)
	case PlainLimits:
		share.Lower, share.Upper = max(p-p*half, 0), min(p+p*half, 1)
	case LogitLimits:
		e := math.Exp(half / (1 - p))
		share.Lower, share.Upper = p/(p+(1-p)*e), p/(p+(1-p)/e)
	}
	return share
}

// normalPoint is z with P(|Z| <= z) = level.
func normalPoint(level float64) float64 { return -distuv.UnitNormal.Quantile((1 - level) / 2) }
