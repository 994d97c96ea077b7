package hear

import (
	"slices"
	"strconv"
	"strings"
)

// mostSpoken is how many words figures in a row have.
const mostSpoken = 24

// spoken takes a figure in words that begins with atom i: twelve oh four, twelve
// hundred and four, one two zero four. 0 when there is none, or when the words
// are rather a choice, such as two lights.
func (l *lexer) spoken(i int) int {
	list, end := l.counts(i)
	whole := list
	if point := l.point(end); point > end { // one point two oh four
		if decimals, after := l.counts(point); len(decimals) > 0 {
			list, end = append(slices.Clone(list), decimals...), after
		}
	}
	if len(list) == 0 || len(list) == 1 && list[0] < 20 && !l.measured(l.half(end)) {
		return 0
	}
	if _, longer := l.phraseAt(i); longer > end {
		return 0
	}
	if l.ctx.Open == "glass" {
		return l.spokenGlass(i, end, list)
	}
	text := figureOf(whole)
	if several := figuresOf(list); several != "" {
		text = several
	}
	if text == "" {
		return 0
	}
	if len(list) > len(whole) {
		text += "." + decimalsOf(list[len(whole):])
	}
	if half := l.half(end); half > end {
		text, end = text+" ½", half
	}
	if end < len(l.atoms) {
		if unit := l.unit(l.atoms[end]); unit != "" && !l.placeAt(end) {
			text, end = text+" "+unit, end+1
			if unit == "ft" {
				text, end = l.inches(text, end)
			}
		}
	}
	return l.add(token{kind: lengths, text: text}, i, end)
}

// counts are the number words from atom i on, and where they end.
func (l *lexer) counts(i int) (list []int, end int) {
	end = i
	for j := i; j < len(l.atoms) && len(list) < mostSpoken; j++ {
		if a := l.atoms[j]; a.kind == mark && a.text == "-" && a.glued && j > i { // fifty-three
			continue
		}
		if l.atoms[j].kind != word {
			break
		}
		means := l.alone(l.atoms[j])
		code := means.codeOf("count")
		if code == "" {
			if j > i && means.marker("joins") && list[len(list)-1] >= 100 {
				continue
			}
			break
		}
		n, err := strconv.Atoi(code)
		if err != nil {
			break
		}
		list, end = append(list, n), j+1
	}
	return list, end
}

// point is where the decimals begin after a point that is said at atom j; j for
// none.
func (l *lexer) point(j int) int {
	if j > 0 && j < len(l.atoms) && l.alone(l.atoms[j]).marker("point") {
		return j + 1
	}
	return j
}

// decimalsOf are digits behind a point: two oh four, two one, twenty five.
func decimalsOf(list []int) string {
	if digits := digitsOf(list); digits != "" {
		return digits
	}
	return figureOf(list)
}

// inches adds the inches that are said after feet.
func (l *lexer) inches(text string, j int) (string, int) {
	list, end := l.counts(j)
	if len(list) == 0 || end >= len(l.atoms) || l.unit(l.atoms[end]) != "in" {
		return text, j
	}
	return text + " " + figureOf(list) + " in", end + 1
}

// half is where "and a half" ends that begins with atom j; j for none.
func (l *lexer) half(j int) int {
	means, end := l.phraseAt(j)
	if end > j && (token{means: means}).marker("half") {
		return end
	}
	return j
}

// measured says whether a unit begins with atom j that is no other word too.
func (l *lexer) measured(j int) bool {
	return j < len(l.atoms) && slices.Contains([]string{"mm", "ft"}, l.unit(l.atoms[j]))
}

// placeAt says whether a place begins with atom j, such as in the middle.
func (l *lexer) placeAt(j int) bool {
	means, end := l.phraseAt(j)
	return end > j+1 && (token{means: means}).has("pos")
}

// spokenGlass takes four twenty four as 4-20-4.
func (l *lexer) spokenGlass(i, end int, list []int) int {
	var parts []string
	for _, n := range list {
		parts = append(parts, strconv.Itoa(n))
	}
	code, ok := glassCode(strings.Join(parts, "-"))
	if !ok || len(parts) < 3 {
		return 0
	}
	return l.add(token{kind: glass, code: code}, i, end)
}

// figuresOf are figures said one behind another that begin with the same word:
// twelve oh four twelve oh two, ten fifty ten fifty two. "" where the words are no
// such row, or are one figure.
func figuresOf(list []int) string {
	var all []string
	for from := 0; from < len(list); {
		to := from + 1
		for to < len(list) && (list[to] != list[0] || to == from+1) {
			to++
		}
		figure := figureOf(list[from:to])
		if list[from] != list[0] || len(figure) != 4 {
			return ""
		}
		all, from = append(all, figure), to
	}
	if len(all) < 2 {
		return ""
	}
	return strings.Join(all, " ")
}

// figureOf is the figure that number words say; "" for none. Words that stand
// beside each other without a hundred between are put beside each other, two
// digits each: twelve oh four.
func figureOf(list []int) string {
	if digit := singles(list); digit != "" {
		return digit
	}
	total, part := 0, 0
	pairs := ""
	flush := func() {
		if pairs == "" {
			pairs = strconv.Itoa(part)
			return
		}
		if part < 10 {
			pairs += "0"
		}
		pairs += strconv.Itoa(part)
	}
	begun, zero := false, false
	for _, n := range list {
		switch {
		case n == 1000:
			total, part = (total+max(part, 1))*1000, 0
			begun = false
		case n == 100:
			part = max(part, 1) * 100
			begun = false
		case begun && !(part%100 >= 20 && part%10 == 0 && n < 10 && n > 0) && !(zero && n < 10):
			flush()
			part, zero = n, n == 0
		default:
			part += n
			begun, zero = true, n == 0
		}
	}
	if pairs != "" {
		if total > 0 {
			return ""
		}
		flush()
		return pairs
	}
	return strconv.Itoa(total + part)
}

// singles is three digits or more said one by one.
func singles(list []int) string {
	if len(list) < 3 {
		return ""
	}
	return digitsOf(list)
}

// digitsOf are numbers of one digit each, beside each other; "" for others.
func digitsOf(list []int) string {
	var b strings.Builder
	for _, n := range list {
		if n > 9 {
			return ""
		}
		b.WriteString(strconv.Itoa(n))
	}
	return b.String()
}
