package scene

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"hash/fnv"
	"maps"
	"regexp"
	"slices"
	"strconv"

	"codeberg.org/go-pdf/fpdf"

	"sillbot/internal/typeface"
)

// The library knows how to cut a font down to the letters that are used. So at
// the end it makes a document of nothing else, and its objects of each font are
// taken over. Two things in them are not as they should be:
//
//   - What the letters mean is given in one range, <0000> <FFFF> <0000>. ISO
//     32000-1, 9.10.3, lets a range run over the last byte only, and readers that
//     keep to it take every letter beyond Latin for another. So the table is
//     written anew, letter by letter.
//   - A font has the name of the whole. ISO 32000-1, 9.6.4, has the name of a
//     subset begin with six capitals and a plus, so that nobody takes it for the
//     whole font or for another subset.

// errFonts is a document that is not as its library writes it.
var errFonts = errors.New("scene: the fonts are not as their library writes them")

// untagged is how the library writes the beginning of a font's name. The
// family's name leaves room for the tag.
const untagged = "/utf8xy+"

// perFont is how many objects the library writes for a font, one after
// another: the font, its letters' widths, their meanings, what they are
// counted by, its measures, which letter is which outline, and the outlines.
const (
	perFont  = 7
	meansAt  = 2 // the meanings among them
	fontHead = "<</Type /Font\n/Subtype /Type0\n"
)

// fonts writes every font with the letters that were set, and gives them by
// the names that pages have for them.
func (d *Document) fonts() (string, error) {
	files := slices.SortedFunc(maps.Keys(d.pen.letters), func(a, b file) int {
		return cmp.Or(cmp.Compare(a.weight, b.weight), cmp.Compare(a.n, b.n))
	})
	names := ""
	for _, f := range files {
		letters := slices.Sorted(maps.Keys(d.pen.letters[f]))
		objects, number, err := subset(f, letters)
		if err != nil {
			return "", err
		}
		moved := len(d.objects) + 1 - number
		names += fmt.Sprintf("/%s %d 0 R", f.name(), len(d.objects)+1)
		for i, object := range objects {
			if i == meansAt {
				d.stream("", meanings(letters))
				continue
			}
			d.object(renumbered(object, moved, subsetTag(letters)))
		}
	}
	return names, nil
}

// subset is a font cut down to some letters, as the library's objects, and the
// number of the first.
func subset(f file, letters []rune) (objects [][]byte, number int, err error) {
	doc := fpdf.New("P", "mm", "A4", "")
	doc.SetCatalogSort(true)
	family := untagged[len("/utf8"):] + "letters" + f.name()
	doc.AddUTF8FontFromBytes(family, "", typeface.Files(f.weight)[f.n])
	doc.AddPage()
	doc.SetFont(family, "", 10)
	doc.Text(0, 0, string(letters))
	var out bytes.Buffer
	if err := doc.Output(&out); err != nil {
		return nil, 0, fmt.Errorf("scene: %w", err)
	}
	return fontObjects(out.Bytes())
}

// fontObjects are the objects of the one font of a document.
func fontObjects(rest []byte) (objects [][]byte, number int, err error) {
	for len(objects) < perFont {
		m := objectForm.FindSubmatchIndex(rest)
		if m == nil {
			return nil, 0, errFonts
		}
		n, _ := strconv.Atoi(string(rest[m[2]:m[3]]))
		body, after, ok := bytes.Cut(rest[m[1]:], []byte("\nendobj\n"))
		switch {
		case !ok:
			return nil, 0, errFonts
		case len(objects) > 0 && n != number+len(objects):
			return nil, 0, errFonts
		case len(objects) > 0:
			objects = append(objects, body)
		case bytes.HasPrefix(body, []byte(fontHead)):
			objects, number = append(objects, body), n
		}
		rest = after
	}
	return objects, number, nil
}

// objectForm is the line before an object.
var objectForm = regexp.MustCompile(`(?:^|\n)(\d+) 0 obj\n`)

var reference = regexp.MustCompile(`(\d+) 0 R`)

// renumbered is an object with other numbers for those that it leans on, and
// the tag in its name. What is packed in it stays.
func renumbered(object []byte, moved int, tag []byte) string {
	head, packed := object, []byte(nil)
	if at := bytes.Index(object, []byte("stream\n")); at >= 0 {
		head, packed = object[:at], object[at:]
	}
	head = bytes.ReplaceAll(head, []byte(untagged), tag)
	head = reference.ReplaceAllFunc(head, func(ref []byte) []byte {
		n, _ := strconv.Atoi(string(bytes.TrimSuffix(ref, []byte(" 0 R"))))
		return fmt.Appendf(nil, "%d 0 R", n+moved)
	})
	return string(head) + string(packed)
}

// subsetTag is six capitals that go with the letters of a subset, and a plus.
func subsetTag(letters []rune) []byte {
	h := fnv.New64a()
	for _, r := range letters {
		fmt.Fprintf(h, "%04X", r)
	}
	out := []byte("/AAAAAA+")
	for n, i := h.Sum64(), 1; i <= 6; i++ {
		out[i] += byte(n % 26)
		n /= 26
	}
	return out
}

// meanings is the table of what each letter's code means, in blocks of no more
// than 100, as the format asks.
func meanings(letters []rune) []byte {
	var out bytes.Buffer
	out.WriteString("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n" +
		"/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n" +
		"/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n" +
		"1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n")
	for block := range slices.Chunk(letters, 100) {
		fmt.Fprintf(&out, "%d beginbfchar\n", len(block))
		for _, r := range block {
			fmt.Fprintf(&out, "<%04X> <%04X>\n", r, r)
		}
		out.WriteString("endbfchar\n")
	}
	out.WriteString("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n")
	return out.Bytes()
}
