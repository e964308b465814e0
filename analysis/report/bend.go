package report

import (
	"strings"

	"lastsip/analysis/answer"
)

// Bend tells in Markdown whether the decline of the scores has a bend.
func Bend(a *answer.PrimeWindow) string {
	if a.Status == answer.NotAsked || a.Status == answer.NotEnough {
		return ""
	}
	return Escape(strings.Join(a.Onset.Sentences(), " ")) + "\n\n"
}
