package resample

import (
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls f once for every i from 0 to n-1, with the child stream i of seed, on as many goroutines as cores (0 means
// GOMAXPROCS), and returns when all are done. f may be called by several goroutines at once and in any order: let it write
// only to places of its own i, so that the result depends on neither. rng is good until f returns. A panic of f is raised
// again in the caller.
func Each(n int, seed uint64, cores int, f func(i int, rng *rand.Rand)) {
	EachWith(n, seed, cores, func() struct{} { return struct{}{} }, func(i int, rng *rand.Rand, _ struct{}) { f(i, rng) })
}

// EachWith is Each with work space: every goroutine makes its own once, and f gets it as the last call left it.
func EachWith[S any](n int, seed uint64, cores int, space func() S, f func(i int, rng *rand.Rand, s S)) {
	if cores <= 0 {
		cores = runtime.GOMAXPROCS(0)
	}
	var next atomic.Int64
	work := func() {
		s := space()
		var pcg rand.PCG
		rng := rand.New(&pcg)
		for {
			i := int(next.Add(1)) - 1
			if i >= n {
				return
			}
			pcg.Seed(words(seed, uint64(i)))
			f(i, rng, s)
		}
	}
	if cores = min(cores, n); cores <= 1 {
		work()
		return
	}
	var all sync.WaitGroup
	var first sync.Once
	var fault any
	for range cores {
		all.Add(1)
		go func() {
			defer all.Done()
			defer func() {
				if r := recover(); r != nil {
					first.Do(func() { fault = r })
					next.Store(int64(n)) // the others need not go on
				}
			}()
			work()
		}()
	}
	all.Wait()
	if fault != nil {
		panic(fault)
	}
}
