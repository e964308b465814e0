package answer

import (
	"fmt"
	"slices"

	"lastsip/analysis/endpoint"
	"lastsip/analysis/panel"
)

// eachWords lists what went first in one or two units.
func (p *FirstPart) eachWords() string {
	var each []string
	for _, u := range p.Each {
		who := u.Taster
		if p.Unit == "pour" {
			who = u.Taster + ", glass " + u.Pour + ","
		}
		each = append(each, who+" "+u.words())
	}
	few := "Two tasters cannot speak for drinkers"
	if p.Unit == "pour" || p.Units == 1 {
		few = "One taster speaks for one person, and from three pours of their own up"
	}
	return fmt.Sprintf("%s; what went first: %s.", few, list(each))
}

func (u *FirstUnit) words() string {
	switch {
	case u.AgeMin.Empty():
		return fmt.Sprintf("nothing by %s%smin", Age(u.Until), nbsp)
	case len(u.Which) == 1:
		return fmt.Sprintf("%s by %s%smin", u.Which[0], Age(u.AgeMin.Float()), nbsp)
	}
	return fmt.Sprintf("%s together by %s%smin", list(u.Which), Age(u.AgeMin.Float()), nbsp)
}

// missingWords names who and what is not compared.
func (p *FirstPart) missingWords() []string {
	var out []string
	var kinds [][]string
	for _, m := range p.Missing {
		if !slices.ContainsFunc(kinds, func(k []string) bool { return slices.Equal(k, m.Attributes) }) {
			kinds = append(kinds, m.Attributes)
		}
	}
	for _, k := range kinds {
		var who []string
		for _, m := range p.Missing {
			if slices.Equal(m.Attributes, k) {
				who = append(who, m.Taster)
			}
		}
		out = append(out, fmt.Sprintf("Not compared: %s, without any score of %s.", tasters(who), list(k)))
	}
	for _, s := range p.Seldom {
		out = append(out, fmt.Sprintf("Not compared: %s, which %d of %s scored.", s.Name, s.Tasters, Count(s.Of, "taster")))
	}
	if len(p.NoLimit) > 0 {
		out = append(out, fmt.Sprintf("Not compared: %s, without a known scale and so without a limit; datapackage.json says it (attributes).", list(p.NoLimit)))
	}
	return out
}

// warn says where a first failure was not seen to happen, or stands on a score that is missing.
func (a *GoesFirst) warn() {
	for i := range a.Parts {
		p := &a.Parts[i]
		where := ""
		if len(a.Parts) > 1 {
			where = modeWords(p.Mode) + ": "
		}
		for _, x := range p.Attributes {
			name := x.Name
			if where == "" {
				name = upperFirst(x.Name)
			}
			at := func(list func(FirstUnit) []string) []string {
				var out []string
				for _, u := range p.Each {
					if slices.Contains(list(u), x.Name) && !slices.Contains(out, u.Taster) {
						out = append(out, u.Taster)
					}
				}
				return out
			}
			if who := at(func(u FirstUnit) []string { return u.AtOnce }); who != nil {
				a.Warnings = append(a.Warnings, fmt.Sprintf("%s%s was past its limit when %s first scored it, so when it failed was not seen.", where, name, tasters(who)))
			}
			if who := at(func(u FirstUnit) []string { return u.Unseen }); who != nil {
				a.Warnings = append(a.Warnings, fmt.Sprintf("%s%s was not scored by %s when another attribute failed; it may have failed with it, and counts as not failed.", where, name, tasters(who)))
			}
		}
	}
}

// whyNot says why nothing is compared.
func (in Input) whyNot(d endpoint.Drink) string {
	var limited, free []string
	overall := ""
	for k, a := range in.Panel.Attributes {
		scored := slices.ContainsFunc(in.tastesOf(d), func(t panel.Taste) bool { return t.Scores[k].Given })
		switch {
		case !scored:
		case a.Name == in.Panel.Settings.Overall:
			overall = a.Name
		case a.Ranged:
			limited = append(limited, a.Name)
		default:
			free = append(free, a.Name)
		}
	}
	switch {
	case len(limited) > 1:
		return fmt.Sprintf("%s were not scored by enough of the same tasters", list(limited))
	case len(limited) == 1:
		return fmt.Sprintf("only %s has a limit to fail at", limited[0])
	case len(free) > 0:
		return fmt.Sprintf("the scale of %s is not known, so nothing has a limit to fail at", list(free))
	case overall != "":
		return fmt.Sprintf("only %s was scored, which is the overall score", overall)
	}
	return "no attribute was scored"
}
