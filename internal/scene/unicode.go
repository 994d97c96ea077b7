package scene

import (
	"bytes"
	"errors"
	"fmt"
	"hash/fnv"
	"regexp"
	"slices"
	"strconv"
)

// The PDF library tells readers what the letters of a font mean in one range,
// <0000> <FFFF> <0000>. ISO 32000-1, 9.10.3, lets a range run over the last
// byte only, and readers that keep to it take every letter beyond Latin for
// another. So the table is given again, letter by letter.

// The library also names a font as if it were whole. ISO 32000-1, 9.6.4, has
// the name of a subset begin with six capitals and a plus, so that nobody
// takes it for the whole font or for another subset. The family's name leaves
// room for them.

// untagged is how the library writes the beginning of a font's name.
const untagged = "/utf8xy+"

// subsetTag is six capitals that go with the letters of a subset.
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

// oneRange is the library's range; the table ends with tableEnd.
var (
	oneRange = []byte("1 beginbfrange\n<0000> <FFFF> <0000>\nendbfrange\n")
	tableEnd = []byte("\nendstream")
	errTable = errors.New("scene: the PDF is not as its library writes it")
)

// meanings is the table of what each letter's code means, in blocks of no more
// than 100, as the format asks.
func meanings(letters []rune) []byte {
	var out bytes.Buffer
	for block := range slices.Chunk(letters, 100) {
		fmt.Fprintf(&out, "%d beginbfchar\n", len(block))
		for _, r := range block {
			fmt.Fprintf(&out, "<%04X> <%04X>\n", r, r)
		}
		out.WriteString("endbfchar\n")
	}
	return out.Bytes()
}

// readable puts the tag into the name of every font of a PDF, and the tables
// behind the file as an update, ISO 32000-1, 7.5.6: what comes later counts.
func readable(raw []byte, letters []rune) ([]byte, error) {
	raw = bytes.ReplaceAll(raw, []byte(untagged), subsetTag(letters)) // as long as before
	trailer, start, ok := bytes.Cut(raw[max(0, bytes.LastIndex(raw, []byte("\ntrailer\n"))):], []byte(">>\nstartxref\n"))
	before, err := strconv.Atoi(string(bytes.TrimSuffix(start, []byte("\n%%EOF\n"))))
	if !ok || err != nil {
		return nil, errTable
	}
	out, table, index := slices.Clone(raw), meanings(letters), ""
	for from := 0; ; {
		head, rest, ok := bytes.Cut(raw[from:], oneRange)
		if !ok {
			break
		}
		rest, after, ok := bytes.Cut(rest, tableEnd)
		object, number := lastObject(head)
		if !ok || object == nil {
			return nil, errTable
		}
		index += fmt.Sprintf("%d 1\n%010d 00000 n \n", number, len(out))
		text := slices.Concat(object, table, rest)
		out = fmt.Appendf(out, "%d 0 obj\n<</Length %d>>\nstream\n%s\nendstream\nendobj\n", number, len(text), text)
		from = len(raw) - len(after)
	}
	return fmt.Appendf(out, "xref\n%s%s/Prev %d\n>>\nstartxref\n%d\n%%%%EOF\n", index, bytes.TrimPrefix(trailer, []byte("\n")), before, len(out)), nil
}

// lastObject is what there is of the stream that a piece of a PDF ends in, and
// its object's number.
func lastObject(raw []byte) (stream []byte, number int) {
	m := streamHead.FindAllSubmatchIndex(raw, -1)
	if m == nil {
		return nil, 0
	}
	last := m[len(m)-1]
	number, _ = strconv.Atoi(string(raw[last[2]:last[3]]))
	return raw[last[1]:], number
}

var streamHead = regexp.MustCompile(`(?:^|\n)(\d+) 0 obj\n<</Length \d+>>\nstream\n`)
