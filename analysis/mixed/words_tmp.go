package mixed

import "strconv"

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
