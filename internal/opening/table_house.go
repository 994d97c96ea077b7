package opening

import (
	"strings"

	"sillbot/internal/safety"
)

// house are the fields of the whole house besides its nation and the day. They are
// said at any time, and never asked by themselves: what nobody said is taken on the
// safe side.
func house() []Field {
	const marks = OnRequest | Skips
	yesNo := [][]string{{"yes", "no"}}
	row := func(key Key, file, group string, rows [][]string, put func(*Known, *Opening)) Field {
		return Field{Key: key, File: file, Scope: House, Marks: marks, Group: group, Rows: rows, put: put}
	}
	rows := []Field{
		row("kind", "flat", "kind", [][]string{{"house", "flat"}}, func(k *Known, o *Opening) { o.Flat = k.Value("kind") == "flat" }),
		row("higher", "higher_risk", "answer", yesNo, nil),
		row("built", "from_2000", "built", [][]string{{"before1992"}, {"1992"}, {"2000"}}, withAge),
		row("protected", "heritage", "answer", yesNo, nil),
		row("few", "few_windows", "answer", yesNo, nil),
		row("fans", "mvhr", "fans", [][]string{{"none"}, {"extract"}, {"mvhr"}}, func(k *Known, o *Opening) {
			o.MVHR, o.Extract = k.Value("fans") == "mvhr", k.Value("fans") == "extract"
		}),
		row("flue", "open_flue", "answer", yesNo, nil),
		row("certifies", "certifies", "certifies", [][]string{{"installer"}, {"notice"}, {"unknown"}}, func(k *Known, o *Opening) {
			if code := k.Value("certifies"); code == string(safety.ByInstaller) || code == string(safety.ByNotice) {
				o.Certifies = safety.Way(code)
			}
		}),
	}
	rows[0].Voids = []Key{"higher"}
	rows[len(rows)-1].Marks |= Optional
	return rows
}

// wall are what is seen of the wall over the opening besides what carries it, and what
// a qualified person said of it. Something new that is seen takes that back.
func wall() []Field {
	yesNo := [][]string{{"yes", "no"}}
	return []Field{
		{Key: "cracks", File: "cracks", Marks: OnRequest, Group: "answer", Rows: yesNo, Voids: []Key{"cleared"}},
		{Key: "bowed", File: "bowed", Marks: OnRequest, Group: "answer", Rows: yesNo, Voids: []Key{"cleared"}},
		{Key: "cleared", Kind: Words, Marks: OnRequest | OnOrder, put: func(k *Known, o *Opening) { o.Cleared = ReadCleared(k.Value("cleared")) }},
	}
}

// withAge writes what the age of the house says; of one that nobody told neither.
func withAge(k *Known, o *Opening) {
	age := k.Value("built")
	o.From1992, o.From2000 = age == "1992" || age == "2000", age == "2000"
}

// clearedBetween stands between the parts of what a qualified person said, as it is stored.
const clearedBetween = "; "

// Stored is what a qualified person said as a value of the field cleared: what, who,
// in what capacity and when; "" where one of them is missing.
func (c *Cleared) Stored() string {
	if c == nil {
		return ""
	}
	parts := []string{c.Words, c.Who, c.Capacity, c.Day}
	for i, part := range parts {
		parts[i] = strings.TrimSpace(strings.ReplaceAll(part, ";", ","))
		if parts[i] == "" {
			return ""
		}
	}
	return strings.Join(parts, clearedBetween)
}

// ReadCleared reads what Stored wrote; nil for anything else.
func ReadCleared(value string) *Cleared {
	parts := strings.Split(value, clearedBetween)
	if len(parts) != 4 {
		return nil
	}
	c := &Cleared{Words: parts[0], Who: parts[1], Capacity: parts[2], Day: parts[3]}
	if c.Stored() != value {
		return nil
	}
	return c
}
