// Package analysis opens tasting sessions and answers questions about them, one call per question.
//
// A session is a folder of plain files (tastes.csv, pours.csv, datapackage.json). A Study holds one or more of them:
//
//	study, err := analysis.Open("my-evening")
//	life, err := study.Lifetime("sour")   // how long is it good enough to go on with?
//	act, err := study.ServeBy("sour")     // until when should it have been drunk?
//	best, err := study.PrimeWindow("sour") // when is it at its best?
//	ages, err := study.AgeDifferences("sour") // from which age on is it surely not as good as fresh?
//	first, err := study.GoesFirst("sour") // which attribute fails first?
//	data, err := study.Data()             // what is in the folders, and what is odd about them
//
// An answer carries its sentences, numbers, rows for results.csv, method, source, settings, counts and warnings (package
// answer); package report turns it into text, package figure into a drawing.
//
// The house, from the ground up; imports go down only:
//
//	dataerr                       errors that name file, line, column, value and remedy
//	internal/binomial             exact limits of a share, ranks of a quantile
//	internal/likelihood           Newton's method, profile limits, the small-panel cut
//	internal/reply                likelihood of replies about a random limit
//	internal/resample             child streams of a seed, whole subjects drawn again
//	safefile                      files written whole or not at all
//	panel                         taster, batch, pour, taste, verdict, score
//	multiplicity                  p-values for several comparisons
//	survival                      lifetimes: the reply model, curves without a family, families, tests; numbers in, results out
//	mixed                         mixed models: tasters with levels and slopes of their own, contrasts, bends
//	panelcsv                      session folders to panels; the only package that knows gota
//	endpoint                      panels to estimator input, every row with its place
//	simulate                      invented evenings with their truth
//	answer                        one type per question: numbers, sentences, rows, warnings
//	analysis                      this package: Study
//	figure, report                answers to drawings and to text
package analysis
