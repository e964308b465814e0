package panelcsv_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"lastsip/analysis/panelcsv"
)

// large writes an evening of 2,880 tastes: 24 tasters, 12 glasses each, ten tastes of a glass, three attributes. Seed fixed.
func large() files {
	rng := rand.New(rand.NewPCG(1, 1))
	var tastes, pours strings.Builder
	tastes.WriteString("taster,pour,planned_age_min,age_min,verdict,liking,bubbles,sourness,note\n")
	pours.WriteString("pour,taster,style,serve,batch,volume_ml,made_at\n")
	for taster := range 24 {
		for glass := range 12 {
			fmt.Fprintf(&pours, "%d,taster %c,style %d,coupe,%d,120,%02d:%02d:00\n", glass, 'A'+taster, glass%4, taster/2, 19+glass/4, 4*(glass%4))
			for look := range 10 {
				age := float64(2*look+1) + rng.Float64()/2
				fmt.Fprintf(&tastes, "taster %c,%d,%d,%.2f,%s,%.1f,%.1f,%.1f,\n", 'A'+taster, glass, 2*look+1, age,
					[]string{"yes", "no"}[rng.IntN(2)], 10*rng.Float64(), 10*rng.Float64(), 10*rng.Float64())
			}
		}
	}
	return files{"tastes.csv": tastes.String(), "pours.csv": pours.String(), "datapackage.json": tasting(`"start": "19:00", "attributes": [{"name": "liking", "low": 0, "high": 10},
		{"name": "bubbles", "low": 0, "high": 10}, {"name": "sourness", "low": 0, "high": 10, "better": "middle"}]`)}
}

func BenchmarkRead(b *testing.B) {
	b.Run("tastes=2880", func(b *testing.B) {
		fsys := large().fs()
		b.ReportAllocs()
		for b.Loop() {
			if _, err := panelcsv.Read(fsys, "eve"); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkFrame(b *testing.B) {
	b.Run("tastes=2880", func(b *testing.B) {
		f := read(b, large())
		b.ReportAllocs()
		for b.Loop() {
			if _, err := f.Frame(); err != nil {
				b.Fatal(err)
			}
		}
	})
}
