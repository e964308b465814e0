package page

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
)

// errNotOurs is an SVG that may not stand in the page.
var errNotOurs = errors.New("not a figure of ours")

const svgSpace = "http://www.w3.org/2000/svg"

// allowed lists every element with its attributes, and what the values may be. There is no id, class, href, event, script,
// image or style sheet among them, and no value can hold a url(...).
var allowed = func() map[string]map[string]*regexp.Regexp {
	number := regexp.MustCompile(`^-?[0-9.]+(e-?[0-9]+)?$`)
	anyText := regexp.MustCompile(`^`)
	styles := regexp.MustCompile(`^[A-Za-z0-9#.,:;% -]*$`)
	transform := regexp.MustCompile(`^((translate|scale|rotate)\([-0-9., e]*\) ?)*$`)
	return map[string]map[string]*regexp.Regexp{
		"svg": {"data-lastsip": regexp.MustCompile(`^figure$`), "role": regexp.MustCompile(`^img$`), "aria-label": anyText,
			"viewBox": regexp.MustCompile(`^[-0-9. ]+$`), "width": number, "height": number, "font-family": regexp.MustCompile(`^[A-Za-z, -]*$`)},
		"title": {},
		"g":     {"transform": transform, "style": styles},
		"path":  {"d": regexp.MustCompile(`^[MLHVCSQTAZmlhvcsqtaz0-9eE., \n-]*$`), "style": styles},
		"text":  {"x": number, "y": number, "transform": transform, "style": styles},
	}
}()

// figure checks an SVG and writes it anew from its parsed tokens, so that an HTML parser sees what the check saw.
func figure(svg string) (string, error) {
	if svg == "" {
		return "", errNotOurs
	}
	dec := xml.NewDecoder(strings.NewReader(svg))
	var out strings.Builder
	depth, roots := 0, 0
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return "", fmt.Errorf("%w: %w", errNotOurs, err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			if (token.Name.Local == "svg") != (depth == 0) {
				return "", fmt.Errorf("%w: <%s> at depth %d", errNotOurs, token.Name.Local, depth)
			}
			if depth == 0 {
				roots++
			}
			if err := open(&out, token); err != nil {
				return "", err
			}
			depth++
		case xml.EndElement:
			out.WriteString("</" + token.Name.Local + ">")
			depth--
		case xml.CharData:
			if text := string(token); depth > 0 {
				out.WriteString(escape(text))
			} else if strings.TrimSpace(text) != "" {
				return "", fmt.Errorf("%w: text outside its root", errNotOurs)
			}
		default: // comments, instructions, document types
			return "", fmt.Errorf("%w: %T", errNotOurs, token)
		}
	}
	if roots != 1 {
		return "", fmt.Errorf("%w: %d roots", errNotOurs, roots)
	}
	return out.String(), nil
}

// open writes a start tag whose attributes are all allowed.
func open(out *strings.Builder, el xml.StartElement) error {
	attributes, ok := allowed[el.Name.Local]
	if !ok || el.Name.Space != svgSpace {
		return fmt.Errorf("%w: element %s %s", errNotOurs, el.Name.Space, el.Name.Local)
	}
	out.WriteString("<" + el.Name.Local)
	marked := false
	var seen []string
	for _, a := range el.Attr {
		name := a.Name.Local
		if name == "xmlns" && a.Name.Space == "" && el.Name.Local == "svg" {
			continue // HTML knows it
		}
		value, ok := attributes[name]
		if !ok || a.Name.Space != "" || slices.Contains(seen, name) || !value.MatchString(a.Value) {
			return fmt.Errorf("%w: attribute %s of %s", errNotOurs, name, el.Name.Local)
		}
		seen = append(seen, name)
		marked = marked || name == "data-lastsip"
		out.WriteString(" " + name + `="` + escape(a.Value) + `"`)
	}
	if el.Name.Local == "svg" && !marked {
		return fmt.Errorf("%w: not marked", errNotOurs)
	}
	out.WriteString(">")
	return nil
}
