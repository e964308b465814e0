package panelcsv_test

import (
	"fmt"
	"log"
	"testing/fstest"

	"lastsip/analysis/panel"
	"lastsip/analysis/panelcsv"
)

// Example reads a small evening as a spreadsheet with decimal commas writes it. From a disk: panelcsv.Read(os.DirFS(dir), name).
func Example() {
	folder := fstest.MapFS{"tastes.csv": {Data: []byte(
		"taster;pour;style;batch;age_min;verdict;liking\n" +
			"ann;1;sour;a;2,5;yes;8\n" +
			"ann;1;sour;a;6;no;3,5\n" +
			"bob;2;sour;a;2;yes;7,5\n" +
			"bob;2;sour;a;6,5;yes;55\n")}}
	session, err := panelcsv.Read(folder, "weeknight")
	if err != nil {
		log.Fatal(err)
	}
	for _, t := range session.Panel.Tastes {
		fmt.Println(t.Taster, session.Panel.Pours[t.Pour].Style, panel.Minutes(t.Age), t.Verdict)
	}
	for _, f := range session.Findings {
		fmt.Println(f)
	}
	// Output:
	// ann sour 2.5 accept
	// ann sour 6 reject
	// bob sour 2 accept
	// bob sour 6.5 accept
	// weeknight/datapackage.json: file is missing; our defaults are taken for scales, limits and rules; the settings list them
	// weeknight/tastes.csv, line 1, column liking: "scale of unknown ends" is our assumption; there are no limits until datapackage.json gives low and high
}
