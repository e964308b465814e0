package survival_test

import (
	"encoding/json"
	"strings"
	"testing"

	"lastsip/analysis/survival"
)

type lifetimeEntry struct {
	ID, Call, Library, Version, Source string
	Data                               []string
	Values                             struct {
		Coef            map[string]number
		Scale           json.RawMessage
		ShapeParameters map[string]number `json:"shape_parameters"`
		Vcov            struct {
			Rows []string
			X    [][]number
		}
		SE        []number
		LogLik    number
		Null      number `json:"loglik_null"`
		AIC       number
		N         int
		Quantiles []struct {
			P       float64
			X       []number
			Log     number   `json:"log_quantile"`
			SELog   number   `json:"se_log"`
			Log2    []number `json:"delta_log"`
			Natural []number `json:"delta_natural"`
			Profile []number
		}
		Nested map[string]number
	}
	Tolerance struct {
		Rel, Abs float64
		Note     string
	}
}

func (e lifetimeEntry) source() string {
	return e.ID + ": " + e.Library + " " + e.Version + ", " + e.Call + "; " + e.Source
}

// lifetimeData gives the rows and covariates of an entry, by its id and call.
func lifetimeData(t *testing.T, e lifetimeEntry) (spec survival.Parametric, rows []survival.Interval, x [][]float64) {
	t.Helper()
	for f := survival.Exponential; f <= survival.GeneralizedGamma; f++ {
		if strings.HasSuffix(e.ID, "_"+f.String()) {
			spec.Family = f
		}
	}
	switch {
	case strings.HasPrefix(e.ID, "gamma_"):
		spec.Family = survival.Gamma
	case strings.HasPrefix(e.ID, "gengamma_"):
		spec.Family = survival.GeneralizedGamma
	}
	is := func(b bool) float64 {
		if b {
			return 1
		}
		return 0
	}
	for _, row := range readCSV(t, e.Data[0]+".csv") {
		var c []float64
		switch e.Data[0] {
		case "gehan":
			c = []float64{is(row["treat"] == "control")}
		case "bcos":
			c = []float64{is(row["treatment"] == "RadChem")}
		case "sim_panel_ic":
			if !strings.HasSuffix(e.ID, "_plain") {
				c = []float64{is(row["style"] == "fizzy"), is(row["style"] == "shaken"), is(row["style"] == "stirred")}
			}
			chill := parse(t, row["chill"])
			switch {
			case strings.Contains(e.ID, "_strata_"):
				spec.Strata = append(spec.Strata, int(chill))
			case strings.Contains(e.ID, "_cluster_"):
				spec.Cluster = append(spec.Cluster, int(parse(t, row["taster"])))
			case c != nil:
				c = append(c, chill)
			}
		case "lung":
			clustered := strings.Contains(e.ID, "_cluster_")
			if row["ph_ecog"] == "NA" || row["ph_ecog"] == "" || clustered && (row["inst"] == "NA" || row["inst"] == "") {
				continue
			}
			age, sex, ecog := parse(t, row["age"]), parse(t, row["sex"]), parse(t, row["ph_ecog"])
			switch {
			case strings.Contains(e.ID, "_strata_"):
				c = []float64{age, ecog}
				spec.Strata = append(spec.Strata, int(sex))
			case clustered:
				c = []float64{age, sex}
				spec.Cluster = append(spec.Cluster, int(parse(t, row["inst"])))
			default:
				c = []float64{age, sex, ecog}
			}
		}
		o := survival.Interval{R: inf}
		if _, ok := row["left"]; ok {
			o = survival.Interval{L: parse(t, row["left"]), R: parse(t, row["right"])}
		} else {
			o.L = parse(t, row["time"])
			if row["event"] == "1" {
				o.R = o.L
			}
		}
		rows = append(rows, o)
		if c != nil {
			x = append(x, c)
		}
	}
	return spec, rows, x
}
