// Package typeface holds the letters that pictures are written with: DejaVu
// Sans and DejaVu Sans Bold, embedded, with ten letters of Noto Sans that make
// Cyrillic complete (U+0526 to U+052F). The licences are in DejaVu-LICENSE.txt
// and NotoSans-LICENSE.txt beside this file.
//
// A Face keeps the shapes it has drawn, and may be used by many goroutines at
// once.
package typeface

import (
	_ "embed" // the fonts
	"fmt"
	"sync"

	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
)

var (
	//go:embed DejaVuSans.ttf
	regularTTF []byte
	//go:embed DejaVuSans-Bold.ttf
	boldTTF []byte
	//go:embed NotoSans-Regular-extra.ttf
	regularExtraTTF []byte
	//go:embed NotoSans-Bold-extra.ttf
	boldExtraTTF []byte
)

// Weight is how heavy the letters are.
type Weight int

// The weights.
const (
	Regular Weight = iota
	Bold
)

// parsed gives the fonts of a weight, the first that has a letter being the
// one that draws it. They are part of the program, so a font that does not
// parse is a broken build.
var parsed = [...]func() []*sfnt.Font{
	Regular: sync.OnceValue(func() []*sfnt.Font { return mustParse(regularTTF, regularExtraTTF) }),
	Bold:    sync.OnceValue(func() []*sfnt.Font { return mustParse(boldTTF, boldExtraTTF) }),
}

func mustParse(files ...[]byte) []*sfnt.Font {
	fonts := make([]*sfnt.Font, len(files))
	for i, ttf := range files {
		f, err := opentype.Parse(ttf)
		if err != nil {
			panic(fmt.Sprintf("typeface: embedded font %d: %v", i, err))
		}
		fonts[i] = f
	}
	return fonts
}
