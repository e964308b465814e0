package survival

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ScoreTest asks whether k groups of rows have the same distribution, without a family. Every row gets a score on the
// NPMLE of all rows together, positive where it ended earlier than expected (RowScores); a group's statistic is the sum of
// its scores (of rows, or of means over a subject's rows) less what is expected when labels are dealt at random. What may be exchanged is the question to settle first:
//
//	Test       labels among all rows: one row a subject
//	Within     labels of one subject's groups: every subject (or most) has rows in several groups
//	Between    whole subjects: every subject has rows in one group only
//	Clustered  nothing is exchanged: large-sample law, variance from the sums of whole subjects; for 30 subjects or more
//
// The first three hold their level exactly for any number of rows, provided that rows whose labels are exchanged were looked
// at on the same schedule: with another schedule the intervals tell the groups apart even where the lifetimes are alike.
// Clustered is for that case too. Labels are any numbers. The zero value works.
type ScoreTest struct {
	Scores   ScoreKind
	MaxExact int    // all relabellings are tried when there are no more than this; 0 means 20,000, negative never, at most 1e8
	Draws    int    // random relabellings otherwise; 0 means 10,000, at most 1e8
	Seed     uint64 // of the random relabellings; any number
}

// ScoreKind names the scores. For exact and right-censored times they become those of the log-rank and of the
// Wilcoxon-Mann-Whitney test.
type ScoreKind int

// The scores of a row (L, R] with S(L) - S(R) = P its probability; S just before L where L = R.
const (
	SunScores         ScoreKind = iota // log-rank, Sun (1996): (S(R) H(R) - S(L) H(L)) / P, H the sum of mass / S over the sets passed
	FinkelsteinScores                  // log-rank, Finkelstein (1986), grouped proportional hazards: (S(L) log S(L) - S(R) log S(R)) / P
	WilcoxonScores                     // proportional odds, Fay (1996): S(L) + S(R) - 1
)

func (k ScoreKind) String() string {
	switch k {
	case SunScores:
		return "sun"
	case FinkelsteinScores:
		return "finkelstein"
	case WilcoxonScores:
		return "wilcoxon"
	}
	return "unknown"
}

// Defaults and bounds of ScoreTest.
const (
	defaultExact = 20_000
	defaultDraws = 10_000
	mostDraws    = 100_000_000
)

// Test exchanges labels among all rows, taken as independent: group[i] is the label of row i. Errors are joined
// *dataerr.Cell: those of NPMLE, as many labels as rows, at least two groups. No argument is kept or changed.
func (spec ScoreTest) Test(rows []Interval, group []int) (*ScoreResult, error) {
	s, err := spec.prepare(rows, group, nil, false)
	if err != nil {
		return nil, err
	}
	p := newRelabelling(len(s.groups))
	p.block(s.score, s.label)
	return s.permuted(p, len(rows)), nil
}

// Within exchanges the labels of a subject's groups: all its rows of one group change places with all its rows of another,
// as rows of one subject and group have more in common than the subject. Each such set counts by its mean score. A subject
// with rows in one group only takes part in the NPMLE and in nothing else. subject[i] is the label of the subject of row i.
// Exact where a subject has the same number of rows in each of its groups, nearly so otherwise. Errors as Test; and at
// least one subject has rows in two groups.
func (spec ScoreTest) Within(rows []Interval, group, subject []int) (*ScoreResult, error) {
	s, err := spec.prepare(rows, group, subject, true)
	if err == nil {
		err = s.checkWithin()
	}
	if err != nil {
		return nil, err
	}
	k := len(s.groups)
	p := newRelabelling(k)
	sums, counts := make([]float64, k), make([]float64, k)
	var values []float64
	var labels []int32
	for c := range s.subjects.Len() {
		clear(sums)
		clear(counts)
		for _, i := range s.subjects.Rows(c) {
			sums[s.label[i]] += s.score[i]
			counts[s.label[i]]++
		}
		values, labels = values[:0], labels[:0]
		for g, n := range counts {
			if n > 0 {
				values, labels = append(values, sums[g]/n), append(labels, int32(g))
			}
		}
		p.block(values, labels)
	}
	r := s.permuted(p, p.mixed)
	r.TiedUnits = p.tied
	return r, nil
}

// Between exchanges whole subjects, each of which counts by the mean score of its rows. Errors as Test; and no subject has
// rows in two groups.
func (spec ScoreTest) Between(rows []Interval, group, subject []int) (*ScoreResult, error) {
	s, err := spec.prepare(rows, group, subject, true)
	if err == nil {
		err = s.checkBetween()
	}
	if err != nil {
		return nil, err
	}
	values, labels := make([]float64, s.subjects.Len()), make([]int32, s.subjects.Len())
	for c := range values {
		own := s.subjects.Rows(c)
		for _, i := range own {
			values[c] += s.score[i] / float64(len(own))
		}
		labels[c] = s.label[own[0]]
	}
	p := newRelabelling(len(s.groups))
	p.block(values, labels)
	return s.permuted(p, len(values)), nil
}

// Clustered refers the statistic to its large-sample law. Subject s adds u_s = sum over its rows of (indicator of the
// group - share of the group) (score - mean score); the variance is m/(m-1) sum_s u_s u_s', m the number of subjects, a
// generalized score test (Boos 1992). Subjects may have rows in one group or in several. Where schedules differ between groups
// it is somewhat cautious. Errors as Test; and every group has rows of at least two subjects.
func (spec ScoreTest) Clustered(rows []Interval, group, subject []int) (*ScoreResult, error) {
	s, err := spec.prepare(rows, group, subject, true)
	if err == nil {
		err = s.checkClustered()
	}
	if err != nil {
		return nil, err
	}
	k, mean, n := len(s.groups), s.mean(), float64(len(rows))
	u, sum, cov := make([]float64, k), make([]float64, k), make([]float64, k*k)
	m := s.subjects.Len()
	for c := range m {
		clear(u)
		for _, i := range s.subjects.Rows(c) {
			v := s.score[i] - mean
			for g := range u {
				u[g] -= float64(s.rows[g]) / n * v
			}
			u[s.label[i]] += v
		}
		for g, a := range u {
			sum[g] += a
			for h, b := range u {
				cov[g*k+h] += a * b * float64(m) / float64(m-1)
			}
		}
	}
	r := s.result(sum, cov, m)
	r.Method, r.P = Asymptotic, r.PAsymptotic
	return r, nil
}

// permuted turns a relabelling of units into a result.
func (s *scored) permuted(p *relabelling, units int) *ScoreResult {
	r := s.result(p.sums, p.cov, units)
	if r.Tied {
		r.Method, r.Relabellings, r.SmallestP = Exact, 1, 1
		return r
	}
	p.root = r.root
	r.Relabellings = p.number()
	if r.Relabellings <= float64(s.spec.MaxExact) {
		e := p.enumerate(r.ChiSquare)
		r.Method, r.P, r.SmallestP = Exact, float64(e.extreme)/float64(e.all), float64(e.atMost)/float64(e.all)
		return r
	}
	n := s.spec.Draws
	r.Method, r.Draws = ByDraws, n
	r.P = float64(1+p.draw(r.ChiSquare, n, s.spec.Seed)) / float64(1+n)
	r.PError = math.Sqrt(r.P * (1 - r.P) / float64(n))
	r.SmallestP = 1 / float64(1+n)
	if len(s.groups) == 2 {
		r.SmallestP = max(r.SmallestP, p.smallest())
	}
	return r
}

// result fills in everything but the method: sum and cov are the groups' statistics and their covariance.
func (s *scored) result(sum, cov []float64, units int) *ScoreResult {
	r := &ScoreResult{Scores: s.spec.Scores, Units: units, P: 1, PAsymptotic: 1,
		groups: s.groups, rows: s.rows, score: sum, cov: cov, warnings: s.warnings}
	k := len(s.groups)
	r.root = inverseRoot(cov, k)
	r.DF = len(r.root)
	r.Tied = r.DF == 0
	if r.Tied {
		clear(r.score)
		clear(r.cov)
		r.warnings = append(r.warnings, &TiedError{})
		return r
	}
	r.ChiSquare = quadratic(r.root, sum)
	r.PAsymptotic = distuv.ChiSquared{K: float64(r.DF)}.Survival(r.ChiSquare)
	if k == 2 {
		r.Z = math.Copysign(math.Sqrt(r.ChiSquare), sum[1])
	}
	if r.DF < k-1 {
		r.warnings = append(r.warnings, &UnlinkedError{DF: r.DF, Groups: k})
	}
	return r
}
