package panelcsv

import (
	"math"
	"strconv"
	"strings"
	"time"

	"lastsip/analysis/dataerr"
)

// wantNumber is the advice for anything that is no number.
const wantNumber = "write a number such as 4.5"

// number reads a decimal number: digits, a sign, a point or a comma as decimal mark, an exponent. In a comma-separated file
// a cell can only hold a comma when it is quoted, so that the comma needs no further rule. "NaN", "inf", hexadecimal
// digits, underscores and thousands separators are refused; want then says what would be right.
func number(s string) (x float64, err error, want string) {
	switch strings.TrimLeft(strings.ToLower(s), "+-") {
	case "nan", "inf", "infinity":
		return 0, dataerr.ErrNumber, "leave the cell empty where there is no number"
	}
	marks, commas, gaps := 0, 0, 0
	for _, c := range s {
		switch {
		case c >= '0' && c <= '9', c == '+', c == '-', c == 'e', c == 'E':
		case c == '.':
			marks++
		case c == ',':
			marks++
			commas++
		case c == '\'' || c == ' ' || c == '\u00a0' || c == '\u202f' || c == '’':
			gaps++
		default:
			return 0, dataerr.ErrNumber, wantNumber
		}
	}
	if marks > 1 || gaps > 0 {
		return 0, dataerr.ErrNumber, "write it without thousands separators, such as 1234.5"
	}
	if commas == 1 {
		s = strings.Replace(s, ",", ".", 1)
	}
	x, parseErr := strconv.ParseFloat(s, 64)
	switch {
	case parseErr != nil && math.IsInf(x, 0):
		return 0, dataerr.ErrRange, "write a number that a computer can hold"
	case parseErr != nil:
		return 0, dataerr.ErrNumber, wantNumber
	case math.Abs(x) > largest:
		return 0, dataerr.ErrRange, "write a number between -1e9 and 1e9"
	}
	return x, nil, ""
}

// largest bounds every number of a tasting, so that sums and means of them stay numbers.
const largest = 1e9

// clock is a time of day.
type clock struct {
	at      time.Duration // since midnight, less than 24 h
	given   bool
	seconds bool // written with seconds; without them there is half a minute of doubt
	text    string
}

// wantClock is the advice for anything that is no time of day.
const wantClock = "write a time of day such as 21:04:30 or 21:04"

// parseClock reads HH:MM:SS or HH:MM of the 24-hour clock.
func parseClock(s string) (clock, bool) {
	parts := strings.Split(s, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return clock{}, false
	}
	at := time.Duration(0)
	for i, p := range parts {
		if len(p) > 2 || len(p) == 0 || i > 0 && len(p) != 2 {
			return clock{}, false
		}
		n := 0
		for _, c := range []byte(p) {
			if c < '0' || c > '9' {
				return clock{}, false
			}
			n = 10*n + int(c-'0')
		}
		switch i {
		case 0:
			if n > 23 {
				return clock{}, false
			}
			at += time.Duration(n) * time.Hour
		case 1, 2:
			if n > 59 {
				return clock{}, false
			}
			at += time.Duration(n) * [...]time.Duration{0, time.Minute, time.Second}[i]
		}
	}
	return clock{at: at, given: true, seconds: len(parts) == 3, text: s}, true
}

// doubt is how far the true time may lie from the written one beyond what was meant.
func (c clock) doubt() time.Duration {
	if c.seconds {
		return 0
	}
	return 30 * time.Second
}
