package scene

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A page shows every mark and every word of a scene, and nothing that could run.
func TestASVGHasAllOfAScene(t *testing.T) {
	for _, s := range []*Scene{ordered(leaning(), english).Scene, func() *Scene { d, _ := fitted(leaning(), english); return d.Scene }()} {
		w := SVG(s, 120, 90, "a <window>")
		var said []string
		marks := 0
		for d := xml.NewDecoder(strings.NewReader(string(w))); ; {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			switch token := token.(type) {
			case xml.StartElement:
				marks++
			case xml.CharData:
				if words := strings.TrimSpace(string(token)); words != "" {
					said = append(said, words)
				}
			}
		}
		require.Equal(t, append([]string{"a <window>"}, s.texts()...), said)
		require.NotRegexp(t, `style=|href|<script| on[a-z]+=`, string(w))
		require.GreaterOrEqual(t, marks, len(s.Shapes))
	}
}
