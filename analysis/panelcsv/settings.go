package panelcsv

import (
	"slices"
	"strings"

	"lastsip/analysis/dataerr"
	"lastsip/analysis/panel"
)

// Defaults of settings that the descriptor leaves out.
const (
	defaultUnclear = "either_side"
	defaultDrinkG  = 10 // grams of ethanol in a standard drink: common practice in many countries, not in all
	defaultSips    = "6 in sip-through, 12 side by side"
)

// Sips in mL by mode, where the descriptor gives none.
const (
	sipThroughML = 6
	sideBySideML = 12
)

// settings resolves every setting and records where it came from.
func (r *reader) settings() panel.Settings {
	d := r.desc
	if d == nil {
		d = &descriptor{}
	}
	s := panel.Settings{Unclear: defaultUnclear, StandardDrinkG: defaultDrinkG}
	take := func(name, value string, isDefault bool) {
		s.Taken = append(s.Taken, panel.Taken{Name: name, Value: value, Default: isDefault})
	}
	overall := r.overall(d)
	if overall != nil {
		s.Overall = overall.Name
	}
	take("overall", orNone(s.Overall), d.overall == nil)
	r.limits(d, overall, &s, take)
	for i := range r.attr {
		r.takeAttribute(&r.attr[i], take)
	}
	if d.primeDrop != nil {
		s.PrimeDrop = d.primeDrop.value
	}
	take("prime_drop", orNoneNumber(s.PrimeDrop), d.primeDrop == nil)
	if d.sameMargin != nil {
		s.SameMargin = d.sameMargin.value
	}
	take("same_margin", orNoneNumber(s.SameMargin), d.sameMargin == nil)
	if d.improvesFirst != nil {
		s.ImprovesFirst = d.improvesFirst.value
	}
	take("improves_first", map[bool]string{true: "true", false: "false"}[s.ImprovesFirst], d.improvesFirst == nil)
	if d.unclear != nil {
		s.Unclear = d.unclear.value
	}
	take("unclear", s.Unclear, d.unclear == nil)
	accept, reject := r.verdictLists()
	take("verdict words for accept", strings.Join(accept, ", "), d.accept == nil)
	take("verdict words for reject", strings.Join(reject, ", "), d.reject == nil)
	if d.sipML != nil {
		s.SipML = d.sipML.value
		take("sip_ml", ftoa(s.SipML), false)
	} else {
		take("sip_ml", defaultSips, true)
	}
	if d.drinkG != nil {
		s.StandardDrinkG = d.drinkG.value
	}
	take("standard_drink_g", ftoa(s.StandardDrinkG), d.drinkG == nil)
	if d.allergens != nil {
		s.Allergens = d.allergens.value
	}
	take("allergens", orNone(strings.Join(s.Allergens, ", ")), d.allergens == nil)
	return s
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

func orNoneNumber(x float64) string {
	if x == 0 {
		return "none"
	}
	return ftoa(x)
}

// overall finds the attribute that stands for liking: the descriptor's, else liking, else the only one; nil where there is none.
func (r *reader) overall(d *descriptor) *attribute {
	name := "liking"
	if d.overall != nil {
		name = d.overall.value
	}
	i := slices.IndexFunc(r.attr, func(a attribute) bool { return a.Name == name })
	if i < 0 && d.overall == nil { // a heading is a heading, with a capital or without
		i = slices.IndexFunc(r.attr, func(a attribute) bool { return strings.EqualFold(a.Name, name) })
	}
	switch {
	case i >= 0:
	case d.overall != nil:
		if r.notScored(name) {
			return nil // told already: the attribute has no column this evening
		}
		r.jsonFault(d.overall.line, "tasting.overall", name, dataerr.ErrUnknown, "name one of the attributes"+r.attributeNames())
		return nil
	case len(r.attr) == 1:
		i = 0
	default:
		return nil
	}
	a := &r.attr[i]
	if a.Better == panel.BetterMiddle {
		if d.overall == nil {
			return nil
		}
		r.jsonFault(d.overall.line, "tasting.overall", name, dataerr.ErrConflict, "the overall attribute is better high or better low, not in the middle")
		return nil
	}
	return a
}

// notScored tells whether the descriptor names an attribute whose column is not in tastes.csv.
func (r *reader) notScored(name string) bool {
	return r.desc != nil && slices.ContainsFunc(r.desc.attributes, func(s attributeSpec) bool { return s.name == name })
}

func (r *reader) attributeNames() string {
	var names []string
	for _, a := range r.attr {
		names = append(names, a.Name)
	}
	if names == nil {
		return ""
	}
	return ": " + strings.Join(names, ", ")
}

// limits resolves prime and reject limit of the overall attribute, whose own limit is the reject limit unless given.
func (r *reader) limits(d *descriptor, overall *attribute, s *panel.Settings, take func(string, string, bool)) {
	if overall == nil || !overall.Ranged {
		for _, l := range []struct {
			path string
			set  *setting[float64]
		}{{"tasting.prime_limit", d.primeLimit}, {"tasting.reject_limit", d.rejectLimit}} {
			if l.set != nil {
				r.find(dataerr.Cell{File: r.desc.file, Row: l.set.line, Column: l.path, Value: ftoa(l.set.value), Err: ErrNotAnalysed,
					Want: "it needs an overall attribute with a scale"})
			}
		}
		return
	}
	s.HasLimits = true
	s.PrimeLimit = share(&overall.Attribute, primeShare)
	s.RejectLimit = share(&overall.Attribute, rejectShare)
	before := len(r.faults)
	if d.primeLimit != nil {
		s.PrimeLimit = d.primeLimit.value
		r.onScale(overall, d.primeLimit, "tasting.prime_limit")
	}
	if d.rejectLimit != nil {
		s.RejectLimit = d.rejectLimit.value
		r.onScale(overall, d.rejectLimit, "tasting.reject_limit")
	}
	worse := s.PrimeLimit < s.RejectLimit
	if overall.Better == panel.BetterLow {
		worse = s.PrimeLimit > s.RejectLimit
	}
	switch {
	case !worse || len(r.faults) > before:
	case d.primeLimit != nil:
		r.jsonFault(d.primeLimit.line, "tasting.prime_limit", ftoa(s.PrimeLimit), dataerr.ErrOrder, "it is worse than the reject limit, which is "+ftoa(s.RejectLimit))
	default:
		r.jsonFault(d.rejectLimit.line, "tasting.reject_limit", ftoa(s.RejectLimit), dataerr.ErrOrder, "it is better than the prime limit, which is "+ftoa(s.PrimeLimit)+"; give both")
	}
	if !overall.limitsGiven {
		overall.Limit = s.RejectLimit
	}
	take("prime_limit", ftoa(s.PrimeLimit), d.primeLimit == nil)
	take("reject_limit", ftoa(s.RejectLimit), d.rejectLimit == nil)
}

// takeAttribute records what an attribute's scores are held against.
func (r *reader) takeAttribute(a *attribute, take func(string, string, bool)) {
	if !a.Ranged {
		take("scale of "+a.Name, "unknown ends", true)
		return
	}
	take("scale of "+a.Name, ftoa(a.Low)+" to "+ftoa(a.High), a.guessed)
	if a.Better == panel.BetterMiddle {
		take("best of "+a.Name, ftoa(a.Best), a.bestGuessed)
	}
	take("limit of "+a.Name, ftoa(a.Limit), !a.limitsGiven)
}

// verdictLists gives the words that are read as accept and reject: ours and the descriptor's, whose word wins.
func (r *reader) verdictLists() (accept, reject []string) {
	var ownAccept, ownReject []string
	if r.desc != nil {
		if r.desc.accept != nil {
			ownAccept = r.desc.accept.value
		}
		if r.desc.reject != nil {
			ownReject = r.desc.reject.value
		}
	}
	return wordList(ownAccept, ownReject, "accept", "yes"), wordList(ownReject, ownAccept, "reject", "no")
}

// wordList adds our words to the descriptor's, less those that the descriptor gives the other meaning.
func wordList(own, other []string, ours ...string) []string {
	out := slices.Clone(own)
	for _, w := range ours {
		same := func(s string) bool { return strings.EqualFold(s, w) }
		if !slices.ContainsFunc(own, same) && !slices.ContainsFunc(other, same) {
			out = append(out, w)
		}
	}
	return out
}
