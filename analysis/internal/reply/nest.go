package reply

import "math"

// cluster is a subject with several limits m_v = x_v'b + u + e_v: u ~ N(0, omega^2) is the subject's, e_v ~ N(0, kappa^2) each limit's.
type cluster struct {
	weight  float64
	members []member
}

// member says where a limit stands: in which group, at what number.
type member struct{ group, number int }

// nested holds clusters; its groups hold their limits by covariates.
type nested struct {
	law      Law
	groups   []*group
	clusters []cluster
}

// three are the spreads of a nested law, S^2 = omega^2 + kappa^2 + tau^2: omega = S cos(theta) cos(alpha), kappa = S cos(theta)
// sin(alpha), tau = S sin(theta). inner is that of one limit beside u: sqrt(kappa^2 + tau^2).
type three struct {
	s, omega, kappa, tau, inner float64
	tanT, cotT, tanA, cotA      float64
}

func newThree(lambda, theta, alpha float64) three {
	sp := newSpread(lambda, theta)
	q := newSpread(math.Log(sp.sigma), alpha)
	t := three{s: sp.s, omega: q.sigma, kappa: q.tau, tau: sp.tau}
	if t.kappa == 0 && t.tau > 0 {
		t.kappa = nothing * min(sp.sigma, t.tau)
	}
	t.inner = math.Hypot(t.kappa, t.tau)
	t.tanT, t.tanA = t.tau/sp.sigma, t.kappa/t.omega
	if t.tau > 0 {
		t.cotT = sp.sigma / t.tau
	}
	if t.kappa > 0 {
		t.cotA = t.omega / t.kappa
	}
	return t
}

// jet is a likelihood with its derivatives in the coefficients and in log omega, log kappa and log tau: n of them, the second
// ones by rows. edgeT and edgeA are derivatives in theta and alpha at 0 that the logs cannot tell.
type jet struct {
	l            float64
	d, dd        []float64
	edgeT, edgeA float64
}

func (j *jet) clear(n int) {
	if cap(j.d) < n {
		j.d, j.dd = make([]float64, n), make([]float64, n*n)
	}
	j.d, j.dd = j.d[:n], j.dd[:n*n]
	j.l, j.edgeT, j.edgeA = 0, 0, 0
	clear(j.d)
	clear(j.dd)
}

// addSpread adds a function of b and log R alone, R^2 a sum of squares of some of the three spreads whose shares in R^2 are c:
// value l and derivatives in the mean of a limit with covariates x (m, mm), in log R (s, ss) and in both (ms).
func (j *jet) addSpread(x []float64, c [3]float64, m, s, mm, ms, ss float64) {
	n, p := len(j.d), len(x)
	for i, a := range x {
		j.d[i] += a * m
		row := j.dd[i*n : i*n+n]
		for k, b := range x {
			row[k] += a * b * mm
		}
		for k, v := range c {
			row[p+k] += a * v * ms
			j.dd[(p+k)*n+i] += a * v * ms
		}
	}
	for i, a := range c {
		j.d[p+i] += a * s
		for k, b := range c {
			v := a * b * (ss - 2*s)
			if i == k {
				v += 2 * a * s
			}
			j.dd[(p+i)*n+p+k] += v
		}
	}
}

// addTo adds weight times the derivatives of log L in b, lambda, theta and alpha to g and h.
func (j *jet) addTo(t three, weight float64, g, h []float64) {
	n := len(j.d)
	p := n - 3
	jac := [3][3]float64{{1, -t.tanT, -t.tanA}, {1, -t.tanT, t.cotA}, {1, t.cotT, 0}}
	r := 1 / j.l
	first := make([]float64, 0, 16)
	for i := range p {
		first = append(first, j.d[i]*r)
	}
	for a := range 3 {
		v := 0.0
		for i := range 3 {
			v += jac[i][a] * j.d[p+i]
		}
		switch a {
		case 1:
			v += j.edgeT
		case 2:
			v += j.edgeA
		}
		first = append(first, v*r)
	}
	turned := func(row []float64, a int) float64 { // one index of a second derivative carried over
		return jac[0][a]*row[p] + jac[1][a]*row[p+1] + jac[2][a]*row[p+2]
	}
	for i := range n {
		g[i] += weight * first[i]
		for k := range n {
			var v float64
			switch {
			case i < p && k < p:
				v = j.dd[i*n+k]
			case i < p:
				v = turned(j.dd[i*n:i*n+n], k-p)
			case k < p:
				v = turned(j.dd[k*n:k*n+n], i-p)
			default:
				for q := range 3 {
					v += jac[q][i-p] * turned(j.dd[(p+q)*n:(p+q)*n+n], k-p)
				}
				v += j.bend(t, i-p, k-p)
			}
			h[i*n+k] += weight * (v*r - first[i]*first[k])
		}
	}
}

// bend is the part of a second derivative in theta or alpha that the curvature of the logs of the spreads makes.
func (j *jet) bend(t three, a, b int) float64 {
	if a != b || a == 0 {
		return 0
	}
	p := len(j.d) - 3
	o, k, n := j.d[p], j.d[p+1], j.d[p+2]
	if a == 1 {
		v := -(1 + t.tanT*t.tanT) * (o + k)
		if t.tau > 0 {
			v -= (1 + t.cotT*t.cotT) * n
		}
		return v
	}
	v := -(1 + t.tanA*t.tanA) * o
	if t.kappa > 0 {
		v -= (1 + t.cotA*t.cotA) * k
	}
	return v
}
