// Package answer holds one type per question that a session can answer: its numbers, its sentences (and how many decimals
// they show), its rows for results.csv and its warnings.
//
// An answer is plain data: it survives a JSON round trip unchanged, so that a figure can be drawn, and a table printed, by
// another program than the one that computed it (Encode, Decode). Whatever joins two estimators is computed here. Nothing
// here draws or opens a file.
//
// Every number is at full precision; only sentences round, by the rules of Minutes.
package answer
