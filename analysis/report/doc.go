// Package report turns answers into text: Markdown for notebooks, plain text for a terminal, results.csv, cautions and the
// methods paragraph. It computes nothing: every number comes from an answer.
//
// What a user's file holds (names, notes) is escaped here for Markdown, and guarded in CSV against spreadsheets that would
// run a cell as a formula.
package report
