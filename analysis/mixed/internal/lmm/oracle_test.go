package lmm

import (
	"gonum.org/v1/gonum/mat"
	"math"
)

// oracle evaluates a model by the dense n*n covariance H, without any of the kernel's algebra.
type oracle struct {
	x     *mat.Dense // n*p
	z     *mat.Dense // n*r, caller's order
	y     *mat.VecDense
	terms []Term
}

func newOracle(x [][]float64, y []float64, terms []Term) *oracle {
	n, r := len(y), 0
	for _, t := range terms {
		r += t.Levels * len(t.Columns)
	}
	o := &oracle{mat.NewDense(n, len(x), nil), mat.NewDense(n, r, nil), mat.NewVecDense(n, y), terms}
	for k, c := range x {
		o.x.SetCol(k, c)
	}
	at := 0
	for _, t := range terms {
		for c, col := range t.Columns {
			for i, l := range t.Level {
				v := 1.0
				if col != nil {
					v = col[i]
				}
				o.z.Set(i, at+l*len(t.Columns)+c, v)
			}
		}
		at += t.Levels * len(t.Columns)
	}
	return o
}

// lambda is the r*r matrix Lambda.
func (o *oracle) lambda(theta []float64) *mat.Dense {
	_, r := o.z.Dims()
	l := mat.NewDense(r, r, nil)
	at, k := 0, 0
	for _, t := range o.terms {
		q := len(t.Columns)
		for c := range q {
			for row := c; row < q; row++ {
				if t.Independent && row != c {
					continue
				}
				for j := range t.Levels {
					l.Set(at+j*q+row, at+j*q+c, theta[k])
				}
				k++
			}
		}
		at += t.Levels * q
	}
	return l
}

// dense is everything at theta.
type dense struct {
	deviance, r2       float64
	beta               *mat.VecDense
	inv, unscaled, zhx *mat.Dense // H^-1, (X'H^-1X)^-1, Z'H^-1X
	zhz, modeCov       *mat.Dense // Z'H^-1Z, Lambda M^-1 Lambda'
	zhr, modes         *mat.VecDense
}

func (o *oracle) at(theta []float64, reml bool) dense {
	n, p := o.x.Dims()
	l := o.lambda(theta)
	var zl, h mat.Dense
	zl.Mul(o.z, l)
	h.Mul(&zl, zl.T())
	for i := range n {
		h.Set(i, i, h.At(i, i)+1)
	}
	var d dense
	d.inv, d.unscaled = &mat.Dense{}, &mat.Dense{}
	if err := d.inv.Inverse(&h); err != nil {
		panic(err)
	}
	var hx, xhx, zh mat.Dense
	hx.Mul(d.inv, o.x)
	xhx.Mul(o.x.T(), &hx)
	if err := d.unscaled.Inverse(&xhx); err != nil {
		panic(err)
	}
	var xhy, resid, hr mat.VecDense
	xhy.MulVec(hx.T(), o.y)
	d.beta = &mat.VecDense{}
	d.beta.MulVec(d.unscaled, &xhy)
	resid.MulVec(o.x, d.beta)
	resid.SubVec(o.y, &resid)
	hr.MulVec(d.inv, &resid)
	d.r2 = mat.Dot(&resid, &hr)
	logH, _ := mat.LogDet(&h)
	nu := float64(n)
	d.deviance = logH
	if reml {
		logX, _ := mat.LogDet(&xhx)
		nu, d.deviance = float64(n-p), logH+logX
	}
	d.deviance += nu * (1 + math.Log(2*math.Pi*d.r2/nu))
	zh.Mul(o.z.T(), d.inv)
	d.zhx, d.zhz, d.zhr, d.modes, d.modeCov = &mat.Dense{}, &mat.Dense{}, &mat.VecDense{}, &mat.VecDense{}, &mat.Dense{}
	d.zhx.Mul(&zh, o.x)
	d.zhz.Mul(&zh, o.z)
	d.zhr.MulVec(&zh, &resid)
	var t, tzhzt mat.Dense
	t.Mul(l, l.T())
	d.modes.MulVec(&t, d.zhr)
	tzhzt.Mul(&t, d.zhz) // Lambda M^-1 Lambda' = T - T Z'H^-1Z T
	d.modeCov.Mul(&tzhzt, &t)
	d.modeCov.Sub(&t, d.modeCov)
	return d
}
