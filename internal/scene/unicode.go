package scene

import (
	"bytes"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
)

// The PDF library tells readers what the letters of a font mean in one range,
// <0000> <FFFF> <0000>. ISO 32000-1, 9.10.3, lets a range run over the last
// byte only, and readers that keep to it take every letter beyond Latin for
// another. So the table is put in again, letter by letter, and the places in
// the cross-reference table behind it are moved on.

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

// readable puts the table and the tag into every font of a PDF.
func readable(raw []byte, letters []rune) ([]byte, error) {
	raw = bytes.ReplaceAll(raw, []byte(untagged), subsetTag(letters)) // as long as before
	table := meanings(letters)
	var out bytes.Buffer
	var moves []move
	at := 0
	for {
		i := bytes.Index(raw[at:], oneRange)
		if i < 0 {
			break
		}
		i += at
		head := bytes.LastIndex(raw[:i], []byte("<</Length "))
		start := bytes.LastIndex(raw[:i], []byte("stream\n")) + len("stream\n")
		end := bytes.Index(raw[i:], tableEnd)
		if head < at || start <= head || end < 0 {
			return nil, errTable
		}
		end += i
		out.Write(raw[at:head])
		length := end - start - len(oneRange) + len(table)
		fmt.Fprintf(&out, "<</Length %d>>\nstream\n", length)
		out.Write(raw[start:i])
		out.Write(table)
		out.Write(raw[i+len(oneRange) : end])
		at = end
		moves = append(moves, move{end, out.Len() - end})
	}
	out.Write(raw[at:])
	return moved(out.Bytes(), moves)
}

// move says by how much everything from a place of the library's PDF has moved
// on.
type move struct{ from, by int }

func shifted(at int, moves []move) int {
	by := 0
	for _, m := range moves {
		if at >= m.from {
			by = m.by
		}
	}
	return at + by
}

// moved writes the cross-reference table and where it starts again.
func moved(raw []byte, moves []move) ([]byte, error) {
	const entry = 20 // bytes, as the format has it
	i := bytes.LastIndex(raw, []byte("startxref\n"))
	if i < 0 {
		return nil, errTable
	}
	digits, rest, _ := bytes.Cut(raw[i+len("startxref\n"):], []byte("\n"))
	old, err := strconv.Atoi(string(digits))
	if err != nil {
		return nil, errTable
	}
	start := shifted(old, moves)
	var objects int
	if start >= i {
		return nil, errTable
	}
	if _, err := fmt.Sscanf(string(raw[start:min(start+40, i)]), "xref\n0 %d\n", &objects); err != nil {
		return nil, errTable
	}
	first := start + len(fmt.Sprintf("xref\n0 %d\n", objects))
	if first+objects*entry > i {
		return nil, errTable
	}
	for n := 1; n < objects; n++ {
		place := raw[first+n*entry:][:10]
		at, err := strconv.Atoi(string(place))
		if err != nil {
			return nil, errTable
		}
		copy(place, fmt.Sprintf("%010d", shifted(at, moves)))
	}
	out := slices.Clone(raw[:i])
	return append(fmt.Appendf(out, "startxref\n%d\n", start), rest...), nil
}
