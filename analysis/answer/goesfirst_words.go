package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// say writes the sentences.
func (a *GoesFirst) say() {
	p := &a.Parts[0]
	a.Sentences = append(a.Sentences, p.headWords())
	for _, s := range []string{p.notApartWords(), p.nothingWords(), p.limitWords(), p.reversedWords(), p.awareWords()} {
		if s != "" {
			a.Sentences = append(a.Sentences, s)
		}
	}
	a.Sentences = append(a.Sentences, p.missingWords()...)
	for i := range a.Parts[1:] {
		other := &a.Parts[i+1]
		a.Sentences = append(a.Sentences, modeWords(other.Mode)+": "+lowerFirst(other.headWords()))
	}
}

// headWords is the sentence that answers.
func (p *FirstPart) headWords() string {
	if p.Units == 0 {
		return "Nobody scored every attribute that is compared: what goes first is not answered."
	}
	if p.Units < 3 {
		return p.eachWords()
	}
	switch len(p.Leads) {
	case 0:
		return p.noneWords()
	case 1:
	default:
		return p.equalWords()
	}
	lead := &p.Attributes[p.index(p.Leads[0])]
	s := lead.Settled()
	if s.Alone == 0 {
		return fmt.Sprintf("Nothing goes first on its own: by %s%smin %s had failed at one age step with %s for %d of %s %s.", Age(s.AgeMin), nbsp, lead.Name, list(lead.With), s.Tied, p.units(), p.shareWords(s))
	}
	how := "goes first"
	if len(p.NotApart) > 0 {
		how = "went first most often"
	}
	text := fmt.Sprintf("%s %s: by %s%smin it had failed before anything else for %d of %s", upperFirst(lead.Name), how, Age(s.AgeMin), nbsp, s.Alone, p.units())
	if s.Tied > 0 {
		text += fmt.Sprintf(", and together with %s for %d more", list(lead.With), s.Tied)
	}
	return text + " " + p.shareWords(s) + "."
}

// units counts what the shares count.
func (p *FirstPart) units() string {
	if p.Unit == "pour" && len(p.Each) > 0 {
		return fmt.Sprintf("%s of taster %s", Count(p.Units, "pour"), p.Each[0].Taster)
	}
	return Count(p.Units, p.Unit)
}

// shareWords gives the share with its limits in brackets; of a small panel the limits alone, as it has counts for a share.
func (p *FirstPart) shareWords(s *FirstStep) string {
	heading, _ := batchWords(p.Counts)
	if p.Unit == "pour" {
		heading = "for this taster"
	}
	text := fmt.Sprintf("%s limits %s", percent(Level), rangeWords(s.Lower.Float(), s.Upper.Float()))
	if p.Units > 5 {
		n := float64(p.Units)
		text = rangeWords(float64(s.Alone)/n, float64(s.Alone+s.Tied)/n) + ", " + text
	}
	if heading != "" {
		text += ", " + heading
	}
	return "(" + text + ")"
}

// rangeWords prints two shares in whole percent, once when both print alike.
func rangeWords(lo, hi float64) string {
	a, b := math.Round(100*lo), math.Round(100*hi)
	if a == b {
		return fmt.Sprintf("%.0f%s%%", a, nbsp)
	}
	return fmt.Sprintf("%.0f to %.0f%s%%", a, b, nbsp)
}

// noneWords says that nothing failed.
func (p *FirstPart) noneWords() string {
	last := p.last(0)
	if p.Stopped == 0 {
		return fmt.Sprintf("Nothing has failed by %s%smin: every attribute kept within its limit for all %s.", Age(last.AgeMin), nbsp, p.units())
	}
	return fmt.Sprintf("Nothing has failed: every attribute kept within its limit for as long as each of the %s was followed, to %s%smin at the latest.", p.units(), Age(last.AgeMin), nbsp)
}

// equalWords says that several attributes came first equally often.
func (p *FirstPart) equalWords() string {
	var each []string
	var s *FirstStep // of the one that was settled last
	for _, name := range p.Leads {
		x := p.Attributes[p.index(name)].Settled()
		each = append(each, fmt.Sprintf("%s by %s%smin", name, Age(x.AgeMin), nbsp))
		if s == nil || x.AgeMin > s.AgeMin {
			s = x
		}
	}
	how := fmt.Sprintf("each had failed before anything else for %d of %s", s.Alone, p.units())
	switch {
	case s.Alone == 0:
		how = fmt.Sprintf("none failed before the others, each failed at one age step with others for %d of %s", s.Tied, p.units())
	case s.Tied > 0:
		how += fmt.Sprintf(" and at one age step with others for %d more", s.Tied)
	}
	return fmt.Sprintf("%s cannot be told apart as the first to go: %s, %s %s.", upperFirst(list(p.Leads)), how, list(each), p.shareWords(s))
}

// notApartWords names those that cannot be told apart from the leader.
func (p *FirstPart) notApartWords() string {
	if len(p.NotApart) == 0 {
		return ""
	}
	var each []string // of those that were first for someone
	for _, name := range p.NotApart {
		s := p.last(p.index(name))
		text := fmt.Sprintf("%s: first alone for %d of %d", name, s.Alone, p.Units)
		if s.Tied > 0 {
			text += fmt.Sprintf(", tied for %d", s.Tied)
		}
		if s.Alone+s.Tied > 0 {
			each = append(each, text)
		}
	}
	if each == nil {
		return fmt.Sprintf("That it goes first is not shown: so few %ss leave room for others.", p.Unit)
	}
	return fmt.Sprintf("That it goes first is not shown: the limits leave room for others (%s).", strings.Join(each, "; "))
}

// nothingWords counts those for whom nothing had failed.
func (p *FirstPart) nothingWords() string {
	if p.Nothing == 0 || p.Nothing == p.Units || p.Units < 3 {
		return ""
	}
	by := fmt.Sprintf("%s%smin", Age(p.last(0).AgeMin), nbsp)
	who := Count(p.Nothing, p.Unit)
	switch p.Stopped {
	case 0:
		return fmt.Sprintf("Nothing has failed by %s for %s.", by, who)
	case p.Nothing:
		return fmt.Sprintf("Nothing had failed for %s up to their last score, which came before %s.", who, by)
	}
	return fmt.Sprintf("Nothing had failed for %s up to their last score, which for %d of them came before %s.", who, p.Stopped, by)
}

// limitWords says whether limits moved by a point change the answer.
func (p *FirstPart) limitWords() string {
	if p.Units < 3 {
		return ""
	}
	up, down := p.variant("limit_up"), p.variant("limit_down")
	sameUp, sameDown := slices.Equal(up.Leads, p.Leads), slices.Equal(down.Leads, p.Leads)
	switch {
	case sameUp && sameDown:
		return "Moving every limit by one point, either way, does not change this."
	case sameUp:
		return "With every limit one point stricter this stays so; one point laxer, " + down.leadWords() + "."
	case sameDown:
		return "With every limit one point laxer this stays so; one point stricter, " + up.leadWords() + "."
	}
	return fmt.Sprintf("With every limit one point stricter, %s; one point laxer, %s.", up.leadWords(), down.leadWords())
}

func (p *FirstPart) variant(name string) *FirstVariant {
	i := slices.IndexFunc(p.Variants, func(v FirstVariant) bool { return v.Name == name })
	if i < 0 {
		return nil
	}
	return &p.Variants[i]
}

// leadWords says what would go first in a variant.
func (v *FirstVariant) leadWords() string {
	if len(v.Leads) == 0 {
		return "nothing would have failed"
	}
	i := slices.IndexFunc(v.Attributes, func(a FirstAttribute) bool { return a.Name == v.Leads[0] })
	s := v.Attributes[i].Settled()
	switch {
	case s.Alone == 0:
		return "nothing would go first on its own"
	case len(v.Leads) > 1:
		return fmt.Sprintf("%s would go first equally often (each alone for %d of %d)", list(v.Leads), s.Alone, v.Units)
	}
	text := fmt.Sprintf("%s would go first most often (alone for %d of %d", v.Leads[0], s.Alone, v.Units)
	if s.Tied > 0 {
		text += fmt.Sprintf(", tied for %d", s.Tied)
	}
	return text + ")"
}

// reversedWords counts scores that came back within their limit.
func (p *FirstPart) reversedWords() string {
	var each []string
	for _, a := range p.Attributes {
		if a.Reversed > 0 {
			each = append(each, fmt.Sprintf("%s for %s", a.Name, Count(a.Reversed, p.Unit)))
		}
	}
	if each == nil || p.Units < 3 {
		return ""
	}
	good := p.variant("last_crossing")
	text := "Some scores failed and came back within the limit (" + list(each) + "); counting only what failed for good, "
	if slices.Equal(good.Leads, p.Leads) {
		return text + "the answer is the same."
	}
	return text + good.leadWords() + "."
}

// awareWords says what remains without those who knew the drink.
func (p *FirstPart) awareWords() string {
	v := p.variant("without_aware")
	switch {
	case v == nil || v.Units < 3 || p.Units < 3:
		return ""
	case slices.Equal(v.Leads, p.Leads):
		return "Without the tastes by those who made or knew the drink the answer is the same."
	}
	return "Without the tastes by those who made or knew the drink " + v.leadWords() + "."
}
