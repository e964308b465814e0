package page

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every ink that carries text has a contrast of at least 4.5 on the paper and on the sheet behind code, light, dark and in
// print (WCAG 2.2, success criterion 1.4.3).
func TestContrast(t *testing.T) {
	require.InDelta(t, 21, contrast(t, "#000000", "#ffffff"), 1e-9, "black on white is 21, by the definition in WCAG 2.2")
	require.InDelta(t, 4.54, contrast(t, "#767676", "#fff"), .005, "#767676 is known as the lightest grey that passes on white: 4.54")
	light := variables(style[:strings.Index(style, "@media")])
	dark := merge(light, variables(between(t, "@media (prefers-color-scheme: dark) {\n  :root")))
	print := merge(light, variables(between(t, "@media print {")))
	for name, v := range map[string]map[string]string{"light": light, "dark": dark, "print": print} {
		for _, ink := range []string{"ink", "mute", "link", "keyword", "string", "number"} {
			for _, ground := range []string{"paper", "sheet"} {
				require.GreaterOrEqual(t, contrast(t, v[ink], v[ground]), 4.5, "%s: %s on %s", name, ink, ground)
			}
		}
	}
	require.NotEqual(t, light["paper"], dark["paper"])
}

var variable = regexp.MustCompile(`--([a-z]+): (#[0-9a-f]+);`)

func variables(css string) map[string]string {
	out := map[string]string{}
	for _, m := range variable.FindAllStringSubmatch(css, -1) {
		out[m[1]] = m[2]
	}
	return out
}

// between gives the part of the style sheet from a marker to the next closing brace at the start of a line.
func between(t *testing.T, marker string) string {
	_, after, ok := strings.Cut(style, marker)
	require.True(t, ok, marker)
	part, _, ok := strings.Cut(after, "\n}")
	require.True(t, ok)
	return part
}

func merge(base, over map[string]string) map[string]string {
	out := map[string]string{}
	for k, v := range base {
		out[k] = v
	}
	for k, v := range over {
		out[k] = v
	}
	return out
}

func contrast(t *testing.T, a, b string) float64 {
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + .05) / (min(la, lb) + .05)
}

func luminance(t *testing.T, hex string) float64 {
	hex = strings.TrimPrefix(hex, "#")
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	v, err := strconv.ParseUint(hex, 16, 32)
	require.NoError(t, err)
	channel := func(v uint64) float64 {
		x := float64(v&0xff) / 255
		if x <= .04045 {
			return x / 12.92
		}
		return math.Pow((x+.055)/1.055, 2.4)
	}
	return .2126*channel(v>>16) + .7152*channel(v>>8) + .0722*channel(v)
}

func TestHighlight(t *testing.T) {
	require.Equal(t, `<span class="k">const</span> style = <span class="s">&#34;so&lt;ur&#34;</span> <span class="c">// which</span>`, highlight(`const style = "so<ur" // which`))
	require.Equal(t, `x := <span class="n">3.5</span>`, highlight("x := 3.5"))
	plain := regexp.MustCompile(`<span class="[a-z]">|</span>`)
	for _, source := range []string{
		"%%\nstudy := x\n!*go version\n", "`raw\r\nlines` + \"more\"", "/* open", "\"open\nnext", "'", "\x00 ünïcode ‘’", "// last", "a\r\nb // c\r\n", "",
	} {
		want := escape(strings.ReplaceAll(source, "\r", ""))
		require.Equal(t, want, plain.ReplaceAllString(highlight(source), ""), "no character is lost: %q", source)
	}
}
