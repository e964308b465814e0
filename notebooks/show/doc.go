// Package show puts answers on screen from a notebook cell.
//
//	study := show.Study()
//	life := study.MustLifetime("sour")
//	show.Say(life)    // in sentences
//	show.Figure(life) // drawn
//	show.Table(life)  // in numbers
//
// Each call sends one display bundle with every form a front end may want, then waits until the kernel has it: gonbui loses
// or reorders what is still on its way when the cell's program ends. Outside a kernel the same calls print plain text.
//
// Besides the forms that front ends know, bundles carry two of ours: RowsType, the rows of results.csv, which a run
// collects, and NarrowType, the figure at phone width, which the page takes.
//
// Figures of answers are drawn by another program, so that cells do not link a plotting library, which is most of a cell's
// time: it is named by the environment variable LASTSIP_DRAW, is called as `PROGRAM draw` (`PROGRAM draw residuals` for a second figure of one answer), takes the answer as JSON
// (answer.Encode) on its standard input and writes a Picture as JSON. Where there is none, the numbers are shown instead.
//
// A failure here (an answer that is missing, a program that cannot draw) ends the cell with a plain message and exit
// status 1, as the Must functions of analysis do.
package show
