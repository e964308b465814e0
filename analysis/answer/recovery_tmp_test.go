package answer_test

import (
	"fmt"
	"os"
	"strconv"
	"testing"
	"time"
)

func TestTmp(t *testing.T) {
	p, _ := strconv.Atoi(os.Getenv("P"))
	for _, w := range recoveryWorlds() {
		if os.Getenv("G") != "" && w.group != os.Getenv("G") {
			continue
		}
		for _, n := range recoveryTasters {
			t0 := time.Now()
			for _, l := range w.of(n).run(20261125, p) {
				fmt.Print(l.String())
			}
			fmt.Println(w.name, n, time.Since(t0)/time.Duration(p))
		}
	}
}
func TestTmpPair(t *testing.T) {
	p, _ := strconv.Atoi(os.Getenv("P"))
	for _, w := range comparisonWorlds() {
		for _, n := range recoveryTasters {
			t0 := time.Now()
			for _, l := range w.of(n).run(20261125, p) {
				fmt.Print(l.String())
			}
			fmt.Println(w.name, n, time.Since(t0)/time.Duration(p))
		}
	}
}
