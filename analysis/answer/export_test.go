package answer

import "lastsip/analysis/endpoint"

// ExactPart is what is told without a family of a drink that was tasted in one mode, and the act that its smallest L gives.
func ExactPart(in Input, d endpoint.Drink) (part LifetimePart, act float64, err error) {
	r, err := endpoint.RepliesOf(in.Panel, d, endpoint.Modes(in.Panel, d)[0])
	if err != nil {
		return part, 0, err
	}
	m, part := in.part(r)
	if err := m.withoutFamily(&part); err != nil {
		return part, 0, err
	}
	return part, floorHalf(smallestL(part.Whole, nil, nil).Float()), nil
}
