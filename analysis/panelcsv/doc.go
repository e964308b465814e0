// Package panelcsv reads a session folder, plain files that any spreadsheet writes, into a panel.Panel.
//
// # Files
//
// tastes.csv (required) has one row per taster tasting one pour once: taster, pour, and age_min or tasted_at; style, serve,
// batch and made_at unless pours.csv has them; session, mode, flight, position, planned_age_min, verdict, why, aware, note
// and one column per attribute where wanted. pours.csv has one row per glass: pour, style; taster (without it the row
// describes every taster's glass of that pour), session, batch, serve, volume_ml, made_at; without a session column it holds
// for every session of the folder. datapackage.json follows the open Data Package standard; our properties stand under one
// key, tasting. Its resources may give tastes.csv and pours.csv another name inside the folder.
//
// # Form
//
// Read leniently: byte-order mark, LF, CRLF or CR, comma, semicolon or tab (recognised from the header), decimal point or
// comma, quoted cells, blank lines, any column order, upper and lower case in file names and in columns of ours (attributes
// as named). An empty cell is a missing value. A number has no thousands separators; NaN and infinity are refused. In a
// comma-separated file a decimal comma must be quoted; a row with more cells than the header is refused there even when the
// last ones are empty, as it may be a number cut in two. Refused with advice: workbooks, UTF-16, files over 64 MB.
//
// # Meaning
//
// Ages are minutes since the drink was finished. age_min wins; where both times are given too, they must agree within half
// a minute (and half a minute more for each time without seconds). Otherwise the age is tasted_at less made_at. A time more than
// 12 h before the start belongs to the next day, likewise a taste more than 12 h before its making; a taste less than that
// before its making is an error. Without a start, the earliest time that leaves no gap over 12 h starts the evening. Without
// a time the planned age stands in, flagged (panel.AgePlanned) and counted. A row with no score, verdict or why is a line of
// the sheet that was not used: left out and counted.
//
// Without a mode, a taster who tastes no pour twice in a session means side by side, else sip-through. In sip-through every
// glass is a panel.Pour with its taster; side by side the tasters share one, unless pours.csv gives the taster's own.
//
// Without a descriptor, or where it has no attributes, an extra column that is at least half filled with numbers is an
// attribute (a few cells of it that are no numbers are errors); others are kept and not analysed. Ends of a scale that are
// not given are read from the scores: whole numbers from 1 to 9 mean 1 to 9, else values from 0 to 10 mean 0 to 10, else
// the ends stay unknown and there are no limits. Limits that are not given are our own convention: prime low + 0.7 (high - low),
// reject and every attribute low + 0.4 (high - low), mirrored where low is better, 60 % of the larger side from the best
// where the middle is. Settings.Taken says for each setting whether it is the descriptor's word or our default.
//
// # Faults
//
// All faults are told at once, each a *dataerr.Cell with file, line, column, value and what would be right; Findings are
// the doubts that stay beside the results. Nothing is changed or guessed silently, and no file is written.
//
// Not done here: wide tables, single files, code keys, rounds, readings, choices, rankings and paces (such files are noted
// and left alone).
package panelcsv
