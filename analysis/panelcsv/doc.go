// Package panelcsv reads a session folder, plain files that any spreadsheet writes, into a panel.Panel.
//
// # Files
//
// tastes.csv (required) has one row per taster tasting one pour once: taster, pour, and age_min or tasted_at; style, serve,
// batch and made_at unless pours.csv has them; session, mode, flight, position, planned_age_min, verdict, why, aware, note
// and one column per attribute where wanted. pours.csv has one row per glass: pour, style; taster (without it the row
// describes every taster's glass of that pour), session, batch, serve, volume_ml, made_at; without a session column it holds
// for every session of the folder. datapackage.json follows the open Data Package standard; our properties stand under one
// key, tasting. Its resources may give the files another name inside the folder.
//
// Beside them, where wanted: rounds.csv (round, called_at; session), the times for tastes that name a round; readings.csv
// (pour, age_min, quantity, value, unit; session, taster); choices.csv (taster, trial, test, pour_a, pour_b, answer, ages
// age_a_min and age_b_min or tasted_at; session, position); rankings.csv (taster, trial, pour, rank; session, age_min);
// paces.csv (style, minutes, finished; serve, volume_ml, age_at_first_sip_min, why, session); key.csv (code, pour; style,
// serve, batch, planned_age_min), the code key. A folder of these without tastes.csv is a session too. ReadFile reads one
// file of tastes as a session.
//
// A wide table of tastes (a row is a glass, headings such as 4, 4 min, 2,5, 4 liking or 4 verdict are ages) is recognised
// where there is no column of ages, times or rounds; Long gives its long form. Under a heading that is an age alone stand
// verdicts where every such cell of the table is a verdict word, else the overall score.
//
// # Form
//
// Read leniently: byte-order mark, LF, CRLF or CR, comma, semicolon or tab (recognised from the header), decimal point or
// comma, quoted cells, blank lines, any column order, upper and lower case in file names and in columns of ours (attributes
// as named). An empty cell is a missing value. A number has no thousands separators; NaN and infinity are refused. In a
// comma-separated file a decimal comma must be quoted; a row with more cells than the header is refused there even when the
// last ones are empty, as it may be a number cut in two. UTF-16 is read where it begins with a byte-order mark. Refused with
// advice: workbooks, other encodings, files over 64 MB.
//
// # Meaning
//
// Ages are minutes since the drink was finished. age_min wins; where both times are given too, they must agree within half
// a minute (and half a minute more for each time without seconds). Otherwise the age is tasted_at less made_at. A time more than
// 12 h before the start belongs to the next day, likewise a taste more than 12 h before its making; a taste less than that
// before its making is an error. Without a start, the earliest time that leaves no gap over 12 h starts the evening. Without
// a time the planned age stands in, flagged (panel.AgePlanned) and counted. A row with no score, verdict or why is a line of
// the sheet that was not used: left out and counted, and so is the row of a taster called example, which shows how a sheet
// is filled in. A sheet without any taste is a panel without tastes, and a finding. A round gives its time to rows without
// one of their own.
//
// Where key.csv is there, a pour may be named by its code everywhere; what the key says about style, serve, batch and
// planned age holds like the word of pours.csv. Where plan.json names a code key (code_key) that is not there, the session
// is blind: glasses without a style are left out and counted, and Panel.Blind is set. Without such a plan a glass without a
// style is a fault.
//
// Quantities of readings that we know have one unit each: temperature C, brix, abv %, foam mm, haze NTU, co2 g/L, mass g;
// others are kept as written. A reading names no taster: a pour with one glass is that glass, a pour of which every taster
// has an own glass gets one more. Pour A of a forced choice is the older. Ties in a ranking are brought to the mean of their
// places, whether they are written so (1, 2.5, 2.5), as the first place (1, 2, 2, 4), the last (1, 3, 3) or without gaps (1,
// 2, 2, 3). Equal rows of paces.csv are two guests; elsewhere an exact copy of a row is used once.
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
// the doubts that stay beside the results. Nothing is changed or guessed silently. Folder keeps the bytes of every file read:
// WriteTo and WriteFolder write into a new or empty folder, whole or not at all.
//
// Not done here: what plan.json says beyond the name of the code key.
package panelcsv
