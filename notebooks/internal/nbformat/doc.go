// Package nbformat reads and writes Jupyter notebooks of format 4.5 and sets their parameters.
//
// Decode joins multi-line strings; Encode splits them again, sorts keys and indents by one space, as Jupyter's own writer
// does, so that writing what was read gives the same bytes and a small change a small difference. Fields that this package
// does not know are kept. Encode enforces what the format asks: every code cell has outputs and an execution_count, even
// when empty, other cells have neither; every cell has an id. Errors name file and cell (counted from 1).
//
// A parameter is a line `const name = value` (or var) in the code cell tagged "parameters". Inject adds one cell tagged
// "injected-parameters" after it, with the same keyword and the type read from the cell; declarations of the same kind
// replace each other in a Go notebook. It does not run anything and knows no kernel.
//
// Source: the nbformat 4.5 JSON schema (Jupyter project, "The Notebook file format").
package nbformat
