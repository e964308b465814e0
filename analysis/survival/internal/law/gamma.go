package law

// gamma is the row of the gamma law: the generalised gamma law at Q = sigma = k^-1/2, located at eta + log k.
func (s *Shape) gamma(o *Obs, eta float64, d *Deriv) {
	s.gg.row(o, eta+s.a, s.sigma, s.inv, d)
	d.chain(s.sigma)
}

// chain turns derivatives in (location, log sigma, Q) of the generalised gamma law into those in (eta, a), a = log k:
// location = eta + a, log sigma = -a/2, Q = exp(-a/2).
func (d *Deriv) chain(q float64) {
	q1, q2 := -q/2, q/4
	one := d.E - d.A/2 + d.Q*q1
	two := d.EE - d.EA + d.AA/4 + 2*q1*(d.EQ-d.AQ/2) + d.QQ*q1*q1 + d.Q*q2
	d.EA = d.EE - d.EA/2 + d.EQ*q1
	d.A, d.AA = one, two
	d.Q, d.EQ, d.AQ, d.QQ = 0, 0, 0, 0
}
