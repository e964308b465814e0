package simulate

import "lastsip/analysis/panel"

// The shape of datapackage.json: Frictionless Data Package with our keys under tasting.
type descriptor struct {
	Name      string     `json:"name"`
	Title     string     `json:"title,omitempty"`
	Resources []resource `json:"resources"`
	Tasting   tasting    `json:"tasting"`
}

type resource struct {
	Name    string  `json:"name"`
	Path    string  `json:"path"`
	Format  string  `json:"format"`
	Dialect dialect `json:"dialect"`
	Schema  schema  `json:"schema"`
}

type dialect struct {
	Delimiter string `json:"delimiter"`
}

type schema struct {
	Fields []field `json:"fields"`
}

type field struct {
	Name        string `json:"name"`
	Type        string `json:"type"`
	DecimalChar string `json:"decimalChar,omitempty"`
}

type tasting struct {
	Invented       bool                `json:"invented"`
	Date           string              `json:"date"`
	Start          string              `json:"start"`
	Attributes     []attribute         `json:"attributes"`
	Overall        string              `json:"overall"`
	Verdicts       map[string][]string `json:"verdicts,omitempty"`
	RoomC          float64             `json:"room_c"`
	SipML          float64             `json:"sip_ml,omitempty"`
	StandardDrinkG float64             `json:"standard_drink_g"`
	Allergens      []string            `json:"allergens"`
}

type attribute struct {
	Name      string   `json:"name"`
	Scale     string   `json:"scale"`
	Low       float64  `json:"low"`
	High      float64  `json:"high"`
	LowMeans  string   `json:"low_means,omitempty"`
	HighMeans string   `json:"high_means,omitempty"`
	Better    string   `json:"better"`
	Best      *float64 `json:"best,omitempty"`
}

func (s *Session) descriptor(f Format, tables []table) descriptor {
	e := &s.spec
	d := descriptor{Name: e.Name, Title: e.Title, Tasting: tasting{Invented: true, Date: e.Date, Start: e.Start, Overall: e.Overall,
		RoomC: e.RoomC, SipML: e.sipML(), StandardDrinkG: e.StandardDrinkG, Allergens: append([]string{}, e.Allergens...)}}
	if !e.NoVerdicts && (f.Accept != "accept" || f.Reject != "reject") {
		d.Tasting.Verdicts = map[string][]string{"accept": {f.Accept}, "reject": {f.Reject}}
	}
	for _, a := range e.Attributes {
		out := attribute{Name: a.Name, Scale: "line", Low: a.Low, High: a.High, LowMeans: a.LowMeans, HighMeans: a.HighMeans, Better: a.Better.String()}
		if a.Category {
			out.Scale = "category"
		}
		if a.Better == panel.BetterMiddle {
			out.Best = &a.Best
		}
		d.Tasting.Attributes = append(d.Tasting.Attributes, out)
	}
	for _, t := range tables {
		r := resource{Name: t.name, Path: t.name + ".csv", Format: "csv", Dialect: dialect{string(f.Separator)}}
		for _, c := range t.columns {
			x := field{Name: c.name, Type: c.kind}
			if c.kind == "number" && f.DecimalComma {
				x.DecimalChar = ","
			}
			r.Schema.Fields = append(r.Schema.Fields, x)
		}
		d.Resources = append(d.Resources, r)
	}
	return d
}
