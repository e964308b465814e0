package simulate

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"reflect"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Truth is what an invented evening was made from. Times are minutes, temperatures C, qualities points of 0 to 10.
type Truth struct {
	Invented string        `json:"invented"` // says that no one tasted anything
	Session  string        `json:"session"`
	RoomC    float64       `json:"room_c"`
	Noise    float64       `json:"score_noise_points"`
	ReplySD  float64       `json:"reply_log_sd"`
	Slips    float64       `json:"slips"`
	BatchSD  float64       `json:"batch_log_sd"`
	Styles   []StyleTruth  `json:"styles"`
	Tasters  []TasterTruth `json:"tasters"`
	Batches  []BatchTruth  `json:"batches"`
	Limits   []LimitTruth  `json:"limits"`
	Choices  []ChoiceTruth `json:"choices,omitempty"`
}

// StyleTruth is the physics of a style and what follows from it. The quantiles of limits are those of the law that the tasters
// were drawn from; PanelMedian is the median of the limits of those who came.
type StyleTruth struct {
	Style       string  `json:"style"`
	Serve       string  `json:"serve,omitempty"`
	StartC      float64 `json:"start_c"`
	WarmPerMin  float64 `json:"warming_per_min"`
	AirPerMin   float64 `json:"air_loss_per_min"`
	Air         float64 `json:"air_held"`
	AirLoss     float64 `json:"points_lost_with_all_air"`
	WarmLoss    float64 `json:"points_lost_per_degree"`
	GasGL       float64 `json:"co2_g_per_l,omitempty"`
	GasPerMin   float64 `json:"co2_loss_per_min,omitempty"`
	GasLoss     float64 `json:"points_lost_with_all_co2,omitempty"`
	MeltPerMin  float64 `json:"water_per_min,omitempty"`
	MeltLoss    float64 `json:"points_lost_if_doubled_by_water,omitempty"`
	FoamMM      float64 `json:"foam_mm,omitempty"`
	PaceMin     float64 `json:"guest_pace_median_min,omitempty"`
	PaceLogSD   float64 `json:"guest_pace_log_sd,omitempty"`
	Fresh       float64 `json:"fresh_points"`
	Bend        float64 `json:"bend"`
	Tolerance   float64 `json:"median_tolerance_points"`
	LogSD       float64 `json:"limit_log_sd"`
	TenthMin    float64 `json:"limit_tenth_min"`
	MedianMin   float64 `json:"limit_median_min"`
	PanelMedian float64 `json:"limit_median_of_these_tasters_min"`
	PrimeUntil  float64 `json:"latent_liking_7_until_min"` // latent overall quality crosses 7 points; 0: begins below or never does
}

// ChoiceTruth is what there was to notice in one pair of ages, for a taster of ordinary sense and noise and typical pours.
type ChoiceTruth struct {
	Style       string  `json:"style"`
	Trial       string  `json:"trial"`
	Test        string  `json:"test"`
	OlderMin    float64 `json:"older_min"`
	YoungerMin  float64 `json:"younger_min"`
	DPrime      float64 `json:"dprime"`       // difference of latent quality in standard deviations of one percept
	ChanceRight float64 `json:"chance_right"` // of a right answer, slips included
}

// TasterTruth are a taster's traits, resolved.
type TasterTruth struct {
	Taster   string  `json:"taster"`
	Habit    string  `json:"habit,omitempty"`
	Offset   float64 `json:"offset_points"`
	Stretch  float64 `json:"stretch"`
	Noise    float64 `json:"score_noise_points"`
	ReplySD  float64 `json:"reply_log_sd"`
	RepeatNo float64 `json:"repeats_no"`
}

// BatchTruth is a making and its fault.
type BatchTruth struct {
	Batch  string  `json:"batch"`
	Style  string  `json:"style"`
	MadeAt string  `json:"made_at"`
	Pace   float64 `json:"pace"` // everything goes this many times as fast
}

// LimitTruth is the own limit of one taster for one glass.
type LimitTruth struct {
	Taster    string  `json:"taster"`
	Style     string  `json:"style"`
	Serve     string  `json:"serve,omitempty"`
	Pour      string  `json:"pour"`
	Batch     string  `json:"batch"`
	Tolerance float64 `json:"tolerance_points"` // perceived quality at which the limit is reached
	Sense     float64 `json:"sense"`            // the taster perceives quality Q(sense x age)
	LimitMin  float64 `json:"limit_min"`        // on a typical drink
	GlassMin  float64 `json:"limit_this_glass_min"`
}

func (t *Truth) begin(e Evening) {
	t.Invented = "No one tasted anything: these numbers were drawn by a computer."
	t.Session, t.RoomC, t.Noise, t.ReplySD, t.Slips, t.BatchSD = e.Name, e.RoomC, e.Noise, e.ReplySD, e.Slips, e.BatchSD
	for _, s := range e.Styles {
		law := distuv.LogNormal{Mu: math.Log(s.Median), Sigma: s.LogSD}
		tenth := s.Median // no spread: all limits are one
		if s.LogSD > 0 {
			tenth = law.Quantile(0.1)
		}
		prime, _ := s.AgeAt(7, e.RoomC)
		x := StyleTruth{Style: s.Name, Serve: s.Serve, StartC: s.StartC, WarmPerMin: s.WarmPerMin, AirPerMin: s.AirPerMin,
			Air: s.Air, AirLoss: s.AirLoss, WarmLoss: s.WarmLoss, Fresh: s.Fresh, Bend: s.Bend, Tolerance: s.Tolerance, LogSD: s.LogSD, TenthMin: tenth, MedianMin: s.Median, PrimeUntil: prime,
			GasGL: s.GasGL, GasPerMin: s.GasPerMin, GasLoss: s.GasLoss, MeltPerMin: s.MeltPerMin, MeltLoss: s.MeltLoss, FoamMM: s.FoamMM}
		if e.Guests > 0 {
			x.PaceMin, x.PaceLogSD = s.PaceMin, paceLogSD
		}
		t.Styles = append(t.Styles, x)
	}
	for _, p := range e.People {
		t.Tasters = append(t.Tasters, TasterTruth{p.Name, p.Habit, p.Offset, orDefault(p.Stretch, 1),
			e.Noise * orDefault(p.Noise, 1), e.ReplySD * orDefault(p.Reply, 1), p.RepeatNo})
	}
}

func (t *Truth) addBatch(style string, f making) {
	t.Batches = append(t.Batches, BatchTruth{f.id, style, clock(f.made), f.pace})
}

func (t *Truth) addLimit(e *Evening, style int, taster string, p Pour, own limit) {
	s := e.Styles[style]
	t.Limits = append(t.Limits, LimitTruth{taster, s.Name, s.Serve, p.ID, p.Batch, s.Quality(own.sense*own.age, e.RoomC), own.sense, own.age, own.age / own.fault})
}

// finish computes what needs all tasters. A taster's second glass repeats the same limit and counts once.
func (t *Truth) finish() {
	for i := range t.Styles {
		s := &t.Styles[i]
		var of []float64
		seen := map[string]bool{}
		for _, l := range t.Limits {
			if l.Style == s.Style && l.Serve == s.Serve && !seen[l.Taster] {
				seen[l.Taster] = true
				of = append(of, l.LimitMin)
			}
		}
		slices.Sort(of)
		n := len(of)
		s.PanelMedian = (of[(n-1)/2] + of[n/2]) / 2
	}
}

// JSON is the truth as an indented document, numbers to six decimals, so that platforms agree on the bytes.
func (t Truth) JSON() ([]byte, error) { return marshal(t.rounded()) }

// rounded is a copy with every number rounded to six decimals.
func (t Truth) rounded() Truth {
	t.Styles, t.Tasters = slices.Clone(t.Styles), slices.Clone(t.Tasters)
	t.Batches, t.Limits, t.Choices = slices.Clone(t.Batches), slices.Clone(t.Limits), slices.Clone(t.Choices)
	roundAll(reflect.ValueOf(&t).Elem())
	return t
}

// roundAll rounds every float within a value in place; by reflection, so that no field can be forgotten.
func roundAll(v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		v.SetFloat(math.Round(v.Float()*1e6) / 1e6)
	case reflect.Struct:
		for i := range v.NumField() {
			roundAll(v.Field(i))
		}
	case reflect.Slice:
		for i := range v.Len() {
			roundAll(v.Index(i))
		}
	}
}

// CSV is the truth in long form, one number a row, to six decimals: about, style, taster, pour, batch, quantity, value, unit.
func (t Truth) CSV() ([]byte, error) {
	t = t.rounded()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	put := func(about, style, taster, pour, batch, quantity string, v float64, unit string) {
		_ = w.Write([]string{about, style, taster, pour, batch, quantity, ftoa(v), unit}) // errors come out at Flush
	}
	_ = w.Write([]string{"about", "style", "taster", "pour", "batch", "quantity", "value", "unit"})
	put("session", "", "", "", "", "room", t.RoomC, "C")
	put("session", "", "", "", "", "score_noise", t.Noise, "points")
	put("session", "", "", "", "", "reply_log_sd", t.ReplySD, "1")
	put("session", "", "", "", "", "slips", t.Slips, "1")
	put("session", "", "", "", "", "batch_log_sd", t.BatchSD, "1")
	for _, s := range t.Styles {
		s.put(put)
	}
	for _, p := range t.Tasters {
		put("taster", "", p.Taster, "", "", "offset", p.Offset, "points")
		put("taster", "", p.Taster, "", "", "stretch", p.Stretch, "1")
		put("taster", "", p.Taster, "", "", "score_noise", p.Noise, "points")
		put("taster", "", p.Taster, "", "", "reply_log_sd", p.ReplySD, "1")
		put("taster", "", p.Taster, "", "", "repeats_no", p.RepeatNo, "1")
	}
	for _, f := range t.Batches {
		put("batch", f.Style, "", "", f.Batch, "pace", f.Pace, "1")
	}
	for _, l := range t.Limits {
		put("limit", l.Style, l.Taster, l.Pour, l.Batch, "tolerance", l.Tolerance, "points")
		put("limit", l.Style, l.Taster, l.Pour, l.Batch, "sense", l.Sense, "1")
		put("limit", l.Style, l.Taster, l.Pour, l.Batch, "limit", l.LimitMin, "min")
		put("limit", l.Style, l.Taster, l.Pour, l.Batch, "limit_this_glass", l.GlassMin, "min")
	}
	for _, c := range t.Choices {
		put("choice", c.Style, "", c.Trial, "", c.Test+" older", c.OlderMin, "min")
		put("choice", c.Style, "", c.Trial, "", c.Test+" younger", c.YoungerMin, "min")
		put("choice", c.Style, "", c.Trial, "", c.Test+" dprime", c.DPrime, "1")
		put("choice", c.Style, "", c.Trial, "", c.Test+" chance_right", c.ChanceRight, "1")
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// put writes a style's numbers; those of a kind of drink only where it has them.
func (s *StyleTruth) put(put func(about, style, taster, pour, batch, quantity string, v float64, unit string)) {
	put("style", s.Style, "", "", "", "start", s.StartC, "C")
	put("style", s.Style, "", "", "", "warming", s.WarmPerMin, "1/min")
	put("style", s.Style, "", "", "", "air_loss", s.AirPerMin, "1/min")
	put("style", s.Style, "", "", "", "air_held", s.Air, "1")
	put("style", s.Style, "", "", "", "lost_with_all_air", s.AirLoss, "points")
	put("style", s.Style, "", "", "", "lost_per_degree", s.WarmLoss, "points/C")
	for _, x := range []struct {
		name string
		v    float64
		unit string
	}{{"co2", s.GasGL, "g/L"}, {"co2_loss", s.GasPerMin, "1/min"}, {"lost_with_all_co2", s.GasLoss, "points"}, {"water", s.MeltPerMin, "1/min"},
		{"lost_if_doubled_by_water", s.MeltLoss, "points"}, {"foam", s.FoamMM, "mm"}, {"guest_pace_median", s.PaceMin, "min"}, {"guest_pace_log_sd", s.PaceLogSD, "1"}} {
		if x.v != 0 {
			put("style", s.Style, "", "", "", x.name, x.v, x.unit)
		}
	}
	put("style", s.Style, "", "", "", "fresh", s.Fresh, "points")
	put("style", s.Style, "", "", "", "bend", s.Bend, "1")
	put("style", s.Style, "", "", "", "median_tolerance", s.Tolerance, "points")
	put("style", s.Style, "", "", "", "limit_log_sd", s.LogSD, "1")
	put("style", s.Style, "", "", "", "limit_tenth", s.TenthMin, "min")
	put("style", s.Style, "", "", "", "limit_median", s.MedianMin, "min")
	put("style", s.Style, "", "", "", "limit_median_of_these_tasters", s.PanelMedian, "min")
	put("style", s.Style, "", "", "", "latent_liking_7_until", s.PrimeUntil, "min")
}

func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(v)
	return b.Bytes(), err
}
