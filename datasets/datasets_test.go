package datasets_test

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"lastsip/datasets"
)

func TestOpen(t *testing.T) {
	require.Equal(t, []string{"sour-evening", "stirred-evening"}, datasets.Names())
	for _, name := range datasets.Names() {
		fsys, err := datasets.Open(name)
		require.NoError(t, err)
		for _, file := range []string{"tastes.csv", "pours.csv", "datapackage.json", "truth.json"} {
			b, err := fs.ReadFile(fsys, file)
			require.NoError(t, err)
			require.NotEmpty(t, b, file)
		}
	}
	for _, name := range []string{"", "styles", "..", "sour-evening/..", "Sour-evening"} {
		_, err := datasets.Open(name)
		require.ErrorContains(t, err, "sour-evening, stirred-evening", "the error lists those there are")
	}
}

func TestNamesIsACopy(t *testing.T) {
	datasets.Names()[0] = "changed"
	require.Equal(t, "sour-evening", datasets.Names()[0])
}

func TestStyleText(t *testing.T) {
	want := []string{"crushed ice", "egg-white sour", "highball", "on the rock", "sour", "spritz", "stirred"}
	require.Equal(t, want, datasets.Styles())
	for _, style := range want {
		text, ok := datasets.StyleText(style)
		require.True(t, ok, style)
		require.Equal(t, style == "egg-white sour", strings.Contains(text, "Allergen: egg"), "raw egg is warned of where it is: %s", style)
		require.False(t, strings.HasPrefix(text, "# "))
		for _, part := range []string{"**In the glass.**", "**What fails, and how.**", "**What to watch.**"} {
			require.Contains(t, text, part, style)
		}
		checkMarks(t, style, text)
	}
	upper, ok := datasets.StyleText(" Egg-White   Sour ")
	require.True(t, ok, "capitals and spaces do not matter")
	plain, _ := datasets.StyleText("egg-white sour")
	require.Equal(t, plain, upper)
	for _, style := range []string{"", "fizz", "../README", "sour.md", "egg-white_sour"} {
		text, ok := datasets.StyleText(style)
		require.False(t, ok, style)
		require.Empty(t, text)
	}
}

var mark = regexp.MustCompile(`\[[^\]]*\]`)

// checkMarks wants every sentence about what is in the glass, and what fails and how, to carry where it is known from.
func checkMarks(t *testing.T, style, text string) {
	facts, _, _ := strings.Cut(text, "**What to watch.**")
	for _, m := range mark.FindAllString(facts, -1) {
		require.Regexp(t, `^\[(common practice|our estimate|from memory|[A-Z][-a-zA-Z]+ et al\. \d{4},)`, m, style)
	}
	facts = strings.NewReplacer("**In the glass.** ", "", "**What fails, and how.** ", "", "\n\n", " ").Replace(mark.ReplaceAllString(facts, "§"))
	for sentence := range strings.SplitSeq(strings.TrimSpace(facts), ". ") {
		require.True(t, strings.HasSuffix(strings.TrimSuffix(sentence, "."), "§"), "%s: no source for %q", style, sentence)
	}
}
