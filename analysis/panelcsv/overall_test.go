package panelcsv_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The overall score is found under its heading with a capital or without; an exact match goes first.
func TestOverallHeading(t *testing.T) {
	for heading, want := range map[string]string{"Liking,aroma": "Liking", "LIKING,liking": "liking", "aroma,body": ""} {
		f := read(t, files{"tastes.csv": "taster,pour,style,age_min," + heading + "\na,1,sour,2,8,7\na,1,sour,4,3,6\n"})
		require.Equal(t, want, f.Panel.Settings.Overall, heading)
	}
}
