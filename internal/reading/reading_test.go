package reading

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var window = MM(300, 6000)

func mms(ls []Length) []string {
	var out []string
	for _, l := range ls {
		out = append(out, l.MM.String())
	}
	return out
}

func TestNextTakesWhatPeopleType(t *testing.T) {
	for _, c := range []struct {
		text, mm, unit, rest string
	}{
		{"1204", "1204", "", ""},
		{"1204mm", "1204", "mm", ""},
		{"1204 mm", "1204", "mm", ""},
		{"1204MM", "1204", "mm", ""},
		{"1204 millimetres", "1204", "mm", ""},
		{"120.4 cm", "1204", "cm", ""},
		{"120,4 cm", "1204", "cm", ""},
		{"120.4000 cm", "1204", "cm", ""},
		{"1.204 m", "1204", "m", ""},
		{"1,204 m", "1204", "m", ""},
		{".9 m", "900", "m", ""},
		{"1,204", "1204", "", ""},
		{"1,204 mm", "1204", "mm", ""},
		{"1,204.5", "1204.5", "", ""},
		{"1204.5", "1204.5", "", ""},
		{"1204,5", "1204.5", "", ""},
		{"1204,50", "1204.5", "", ""},
		{"1204 1/2 mm", "1204.5", "mm", ""},
		// An inch is 25.4 mm exactly (international yard and pound agreement,
		// from memory): 47.375 × 25.4.
		{`47 3/8"`, "1203.325", "in", ""},
		{`47-3/8"`, "1203.325", "in", ""},
		{`47 3⁄8"`, "1203.325", "in", ""},
		{`47⅜″`, "1203.325", "in", ""},
		{`47 ⅜ inches`, "1203.325", "in", ""},
		{`47.375"`, "1203.325", "in", ""},
		{"47 3/8 in", "1203.325", "in", ""},
		{"47 3/8''", "1203.325", "in", ""},
		{`3' 11 3/8"`, "1203.325", "ft", ""},
		{`3'11 3/8"`, "1203.325", "ft", ""},
		{`3′ 11 3/8`, "1203.325", "ft", ""},
		{"3’ 11⅜”", "1203.325", "ft", ""},
		{`3'11"`, "1193.8", "ft", ""},
		{`3'11''`, "1193.8", "ft", ""},
		{`3'-11"`, "1193.8", "ft", ""},
		{`3' 11.5"`, "1206.5", "ft", ""},
		{"3ft 11in", "1193.8", "ft", ""},
		{`3' 3/8"`, "923.925", "ft", ""},
		{"4'", "1219.2", "ft", ""},
		{"3.5 ft", "1066.8", "ft", ""},
		{"47''", "1193.8", "in", ""},
		{"1204 1202", "1204", "", "1202"},
		{"4' 1202", "1219.2", "ft", "1202"},
		{"3' 400", "914.4", "ft", "400"},
		{"1204\n1202", "1204", "", "1202"},
		{"1204. ", "1204", "", ""},
		{"1204 x 1050", "1204", "", "x 1050"},
		{"1204/1202", "1204", "", "/1202"},
		{"1204 middle", "1204", "", "middle"},
		{" , ; 1204", "1204", "", ""},
		{"- 1204", "1204", "", ""},
		{"• 1204", "1204", "", ""},
		{"=+1204", "1204", "", ""},
		{"x 1050", "1050", "", ""},
		{"1204w", "1204", "", "w"},
		{"1 m 2 off", "1000", "m", "2 off"},
		{"3' 1 cm", "914.4", "ft", "1 cm"},
		{"1204,1202", "1204", "", "1202"},
		{"1204.1202", "1204", "", "1202"},
		{"850,900", "850", "", "900"},
	} {
		l, rest, err := Next(c.text, window)
		require.NoError(t, err, c.text)
		require.True(t, l.Clear(), "%q asks %v", c.text, l.Others)
		require.Equal(t, c.mm, l.MM.String(), c.text)
		require.Equal(t, c.unit, l.Unit, c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
}

func TestNextAsksInsteadOfGuessing(t *testing.T) {
	for _, c := range []struct {
		text   string
		others string // value unit, …
		typed  string
		rest   string
	}{
		{"120.4", "1204 cm", "120.4", ""},
		{"120,4", "1204 cm", "120,4", ""},
		{"1.204", "1204 m", "1.204", ""},
		{"1.2", "1200 m", "1.2", ""},
		{"47", "470 cm, 1193.8 in", "47", ""},
		{"47.5", "475 cm, 1206.5 in", "47.5", ""},
		{"4", "4000 m", "4", ""},
		{"47 3/8", "1203.325 in", "47 3/8", ""},
		{"1204 1/2", "1204.5 mm", "1204 1/2", ""},
		// A comma that may part two readings or mark the decimals.
		{"400,120 cm", "400 mm, 4001.2 cm", "400,120 cm", ""},
		{"1.204,5", "1204 m, 1204.5 mm", "1.204,5", ""},
		{"1.204 mm", "1204 mm", "1.204 mm", ""},
		{"1m20", "1200 m", "1m20", ""},
		{"1m204 1202", "1204 m", "1m204", "1202"},
		{"1 m 204 mm", "1204 m, 1000 m", "1 m 204 mm", ""},
		{"1 204", "1000 m, 1204 mm", "1 204", ""},
		{"1 204 mm 1202", "1000 m, 1204 mm", "1 204 mm", "1202"},
		{"1\u00a0204", "1000 m, 1204 mm", "1\u00a0204", ""},
		{"1 m 20 cm", "1200 m, 1000 m", "1 m 20 cm", ""},
		{`3' 14"`, "1270 ft", `3' 14"`, ""},
		{"120.4 120.2", "1204 cm", "120.4", "120.2"},
	} {
		l, rest, err := Next(c.text, window)
		require.NoError(t, err, c.text)
		var got []string
		for i, o := range l.Others {
			got = append(got, o.String()+" "+l.OtherUnits[i])
		}
		require.Equal(t, c.others, strings.Join(got, ", "), c.text)
		require.Equal(t, c.typed, l.Text, c.text)
		require.Equal(t, c.rest, rest, c.text)
		require.True(t, l.MM.IsZero(), c.text)
	}
}

func TestNextInOtherRanges(t *testing.T) {
	sill := Range{Least: decimal.NewFromInt(-50), Most: decimal.NewFromInt(50)}
	l, _, err := Next("-12", sill)
	require.NoError(t, err)
	require.Equal(t, "-12", l.MM.String())
	require.Equal(t, "-12", l.Text)
	l, _, err = Next("−1/2\"", sill)
	require.NoError(t, err)
	require.Equal(t, "-12.7", l.MM.String())

	floor := MM(0, 3000)
	l, _, err = Next("0", floor)
	require.NoError(t, err)
	require.True(t, l.Clear())
	l, _, err = Next("0.8", floor)
	require.NoError(t, err)
	require.Equal(t, []string{"m", "mm"}, l.OtherUnits, "0.8 is more likely metres, and is asked about")

	l, rest, err := Next("1204,50 870", floor)
	require.NoError(t, err)
	require.Equal(t, "[1204 1204.5]", fmt.Sprint(l.Others))
	require.Equal(t, []string{"50 870", "870"}, l.OtherRests, "what follows depends on what was meant")
	require.Equal(t, "870", rest)

	l, _, err = Next("3' 11", MM(5, 3000))
	require.NoError(t, err)
	require.Equal(t, "[1193.8 914.4]", fmt.Sprint(l.Others), "11 may be the next reading")
	require.Equal(t, []string{"", "11"}, l.OtherRests)

	pane := MM(1, 60)
	ls, rest := All("4/16/4", pane)
	require.Equal(t, []string{"4", "16", "4"}, mms(ls))
	require.Empty(t, rest)
	ls, _ = All("4,16,4", pane)
	require.Equal(t, []string{"4", "16", "4"}, mms(ls))
	l, _, err = Next("6.4", pane)
	require.NoError(t, err)
	require.Equal(t, "6.4", l.MM.String())
}

func TestNextRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		kind error
		mm   string
	}{
		{"", ErrNoNumber, ""},
		{"   \n", ErrNoNumber, ""},
		{"dunno", ErrNoNumber, ""},
		{"x", ErrNoNumber, ""},
		{"12o4", ErrNoNumber, ""},
		{"1e3", ErrNoNumber, ""},
		{"１２０４", ErrOtherDigits, ""},
		{"١٢٠٤", ErrOtherDigits, ""},
		{"-1204", ErrNegative, ""},
		{"−1204", ErrNegative, ""},
		{"0", ErrOutOfRange, "0"},
		{"7000", ErrOutOfRange, "7000"},
		{"1204 cm", ErrOutOfRange, "12040"},
		{"20'", ErrOutOfRange, "6096"},
		{"1234567890123", ErrOutOfRange, "0"},
		{strings.Repeat("9", 4096), ErrOutOfRange, "0"},
	} {
		l, rest, err := Next(c.text, window)
		require.ErrorIs(t, err, c.kind, c.text)
		require.Equal(t, c.text, rest)
		require.Equal(t, Length{}, l)
		if c.kind == ErrOutOfRange {
			var re *RangeError
			require.ErrorAs(t, err, &re)
			require.Equal(t, c.mm, re.MM.String())
			require.Equal(t, window, re.Want)
			require.Contains(t, err.Error(), c.mm)
		}
	}
	_, _, err := Next("１２０４", window)
	require.ErrorIs(t, err, ErrNoNumber)
}

func TestAllTakesSeveral(t *testing.T) {
	for _, text := range []string{
		"1204 1202 1203",
		"1204, 1202, 1203",
		"1204,1202,1203",
		"1,204 1,202 1,203",
		"1,204,1,202,1,203",
		"1204.1202.1203",
		"1204;1202;1203",
		"1204/1202/1203",
		"1204-1202-1203",
		"1204mm-1202mm-1203mm",
		"1204\n1202\n1203\n",
		"- 1204\n- 1202\n- 1203",
		"1204x1202x1203",
		"120.4cm 120.2cm 1.203m",
		"1204mm,1202mm,1203mm",
		"1204. 1202. 1203.",
		"1204,0 1202,0 1203,0",
	} {
		ls, rest := All(text, window)
		require.Equal(t, []string{"1204", "1202", "1203"}, mms(ls), text)
		require.Empty(t, rest, text)
	}
	ls, rest := All("850,900,870", window)
	require.Equal(t, []string{"850", "900", "870"}, mms(ls))
	require.Empty(t, rest)
	ls, rest = All("1204,5,1202,5", window)
	require.Equal(t, []string{"1204.5", "1202.5"}, mms(ls))
	require.Empty(t, rest)
	ls, rest = All("1204 120.4 1203", window)
	require.Equal(t, []string{"1204"}, mms(ls))
	require.Equal(t, "120.4 1203", rest, "the rest begins with what has to be asked about")
}

func TestSizeLine(t *testing.T) {
	for _, text := range []string{
		"1204 1202 1203 x 1050 1052 1051",
		"1204 1202 1203 X 1050 1052 1051",
		"1204,1202,1203×1050,1052,1051",
		"1204 1202 1203x1050 1052 1051",
		"1204, 1202, 1203 mm x 1050, 1052, 1051 mm",
		"1204mm 1202mm 1203mmx1050mm 1052mm 1051mm",
		"1204/1202/1203 by 1050/1052/1051",
		"1204 1202 1203 * 1050 1052 1051\n",
	} {
		ws, hs, ok := SizeLine(text, window)
		require.True(t, ok, text)
		require.Equal(t, "1204 1202 1203 1050 1052 1051",
			strings.Join([]string{ws[0].String(), ws[1].String(), ws[2].String(), hs[0].String(), hs[1].String(), hs[2].String()}, " "), text)
	}
	for _, text := range []string{
		"", "x", "1204 1202 1203", "1204 x 1050", "1204 1202 1203 x 1050 1052",
		"1204 1202 1203 x 1050 1052 1051 1050", "1204 1202 1203 x 1050 1052 1051 ok",
		"1204 1202 120.3 x 1050 1052 1051", "1204 1202 12030 x 1050 1052 1051",
		"1204 x 1202 x 1203 x 1050 x 1052 x 1051", "max 1204 1202 1203",
	} {
		_, _, ok := SizeLine(text, window)
		require.False(t, ok, text)
	}
}

func TestSlips(t *testing.T) {
	d := func(vs ...int64) []decimal.Decimal {
		var out []decimal.Decimal
		for _, v := range vs {
			out = append(out, decimal.NewFromInt(v))
		}
		return out
	}
	for _, c := range []struct {
		mm      string
		fellows []decimal.Decimal
		undone  string // "" when no swap is suspected
		far     bool
	}{
		{"1240", d(1204, 1202), "1204", true},
		{"2104", d(1204, 1202), "1204", true},
		{"1024", d(1204, 1202), "1204", true},
		{"1240.5", d(1204, 1202), "1204.5", true},
		{"1212", d(1221), "1221", false},
		{"1206", d(1204, 1202), "", false},
		{"1214", d(1204, 1202), "", false},
		{"1204", d(1304, 1202), "", false},
		{"1304", d(1204, 1202), "", true},
		{"1229", d(1204), "", false},
		{"1230", d(1204), "1203", true},
		{"1231", d(1204), "", true},
		{"3055", d(3000), "", false},
		{"3061", d(3000), "", true},
		{"1204", nil, "", false},
		{"5", d(1204), "", true},
	} {
		mm := decimal.RequireFromString(c.mm)
		undone, ok := Swapped(mm, c.fellows)
		require.Equal(t, c.undone != "", ok, c.mm)
		if ok {
			require.Equal(t, c.undone, undone.String(), c.mm)
		}
		require.Equal(t, c.far, Outlier(mm, c.fellows), c.mm)
	}
}

func TestSwappedUndoesEverySwap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		right := rapid.Int64Range(300, 6000).Draw(t, "right")
		digits := []byte(decimal.NewFromInt(right).String())
		i := rapid.IntRange(0, len(digits)-2).Draw(t, "place")
		digits[i], digits[i+1] = digits[i+1], digits[i]
		if digits[0] == '0' {
			t.Skip("nobody types a length with a nought in front")
		}
		typed := decimal.RequireFromString(string(digits))
		fellow := decimal.NewFromInt(right)
		undone, ok := Swapped(typed, []decimal.Decimal{fellow})
		if typed.Equal(fellow) {
			require.False(t, ok)
			return
		}
		require.True(t, ok)
		require.True(t, undone.Equal(fellow), "%s among %s gave %s", typed, fellow, undone)
	})
}

func TestCount(t *testing.T) {
	for _, c := range []struct {
		text, rest string
		n          int
	}{
		{"3", "", 3}, {"0", "", 0}, {"007", "", 7}, {"99", "", 99}, {"three", "", 3}, {"Twelve lights", "lights", 12},
		{"none", "", 0}, {"2nd floor", "floor", 2}, {"1st", "", 1}, {" 2, 3", "3", 2}, {"2x", "x", 2}, {"- 2", "", 2},
		{"two.", "", 2}, {"no", "", 0},
	} {
		n, rest, err := Count(c.text)
		require.NoError(t, err, c.text)
		require.Equal(t, c.n, n, c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
	for _, c := range []struct {
		text string
		kind error
	}{
		{"", ErrNoNumber}, {"many", ErrNoNumber}, {"oneself", ErrNoNumber}, {"２", ErrOtherDigits}, {"-2", ErrNegative},
		{"2.5", ErrNotWhole}, {"2 1/2", ErrNotWhole}, {"1/2", ErrNotWhole}, {"100", ErrOutOfRange}, {"2o3", ErrNoNumber},
		{strings.Repeat("z", 4096), ErrNoNumber}, {strings.Repeat("7", 4096), ErrOutOfRange},
	} {
		_, rest, err := Count(c.text)
		require.ErrorIs(t, err, c.kind, c.text)
		require.Equal(t, c.text, rest)
	}
}

func TestNextTakesMoreOfWhatPeopleType(t *testing.T) {
	for _, c := range []struct {
		text, mm, unit, rest string
	}{
		{". 1204", "1204", "", ""}, {"X 1204", "1204", "", ""}, {"+ 1204", "1204", "", ""},
		{"1,204,1202", "1204", "", "1202"}, {"0,900 m", "900", "m", ""}, {"1204,500", "1204", "", "500"},
		{"1204,500 mm", "1204", "", "500 mm"}, {"120,400 cm", "1204", "cm", ""}, {"1,204.5555", "1204", "", "5555"},
		{"1204.5,1202", "1204.5", "", "1202"}, {"1204.5.1202", "1204.5", "", "1202"}, {"1204.1202.1203", "1204", "", "1202.1203"},
		{"1204,1202,1203,1204,1205,1206,1207,1208,1209", "1204", "", "1202,1203,1204,1205,1206,1207,1208,1209"},
		{"1 m 1204", "1000", "m", "1204"}, {"1m1204", "1000", "m", "1204"}, {"1 m 20", "1000", "m", "20"},
		{"1 m 1204 mm", "1000", "m", "1204 mm"}, {"1 m mm", "1000", "m", "mm"},
		{"3' 1234", "914.4", "ft", "1234"}, {"3' 12", "914.4", "ft", "12"}, {"3'", "914.4", "ft", ""}, {"3' x", "914.4", "ft", "x"},
		{"3' 11.", "1193.8", "ft", ""}, {"3' 11.x", "1193.8", "ft", "x"}, {"3' -11", "1193.8", "ft", ""}, {"3' 11 1/2", "1206.5", "ft", ""},
		{"3' 11x", "1193.8", "ft", "x"}, {"1204_1202", "1204", "", "_1202"}, {"1204x1050", "1204", "", "x1050"},
		{"1204MMX1050", "1204", "mm", "X1050"}, {"1204 mmx", "1204", "mm", "x"}, {"1204 milx12", "1204", "mm", "x12"},
		{"1204 millimetresss", "1204", "", "millimetresss"}, {"½ m", "500", "m", ""}, {"1204;1202", "1204", "", "1202"},
		{"1204 - 1202", "1204", "", "- 1202"}, {"1204-12", "1204", "", "-12"}, {"1204-120", "1204", "", "120"},
		{"1204 \n mm", "1204", "", "mm"}, {"1204\nmm", "1204", "", "mm"}, {"1204 \r cm", "1204", "", "cm"},
		{"1204 204", "1204", "", "204"}, {"850.900", "850.9", "", ""}, {"300,300,300", "300", "", "300,300"},
		{"3' 11.123456789\"", "1196.935802", "ft", ""},
		{"1204+120", "1204", "", "+120"}, {"1204, .5", "1204", "", ".5"}, {"-x1204", "1204", "", ""}, {"3' 1234\"", "914.4", "ft", "1234\""},
		{"47 3∕8 in", "1203.325", "in", ""},
	} {
		l, rest, err := Next(c.text, window)
		require.NoError(t, err, c.text)
		require.True(t, l.Clear(), "%q asks %v", c.text, l.Others)
		got := l.MM.Round(6)
		require.True(t, decimal.RequireFromString(c.mm).Equal(got), "%q gave %s", c.text, got)
		require.Equal(t, c.unit, l.Unit, c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
}

func TestNextAsksWithWhatFollowsEach(t *testing.T) {
	floor, both, pane := MM(0, 3000), MM(-50, 50), MM(1, 60)
	for _, c := range []struct {
		text   string
		want   Range
		others string // value unit "what follows", …
	}{
		{"01,204", window, `1000 m "204"`}, {"1,204,500", window, `1000 m "204,500"`}, {"1.204.500", window, `1204 m "500"`},
		{`3' 12"`, window, `1219.2 ft ""`}, {"12x", window, `304.8 in "x"`}, {"- .5", window, `500 m ""`},
		{"1 204 cm", window, `1000 m "204 cm"`}, {"1 2045", window, `1000 m "2045"`}, {"1 204 5", window, `1000 m "204 5", 1204 mm "5"`},
		{"01 204", window, `1000 m "204"`}, {"12 204", window, `304.8 in "204"`}, {"1 204,5", window, `1000 m "204,5"`},
		{"850.900.870", window, `850 mm "900.870", 850.9 mm "870"`},
		// The millimetres are kept, whichever is meant.
		{"1 m 204 mm", window, `1204 m "", 1000 m "204 mm"`}, {"2 m 999 mm", MM(300, 2500), `2000 m "999 mm"`},
		{"47 0/8 in", window, `470 cm "0/8 in", 1193.8 in "0/8 in"`}, {`47 8/8"`, window, `470 cm "8/8\"", 1193.8 in "8/8\""`},
		{`47 3/100"`, window, `470 cm "3/100\"", 1193.8 in "3/100\""`}, {"47 100/8", window, `470 cm "100/8", 1193.8 in "100/8"`},
		{"47 3/064", window, `470 cm "3/064", 1193.8 in "3/064"`}, {"47 003/8", window, `470 cm "003/8", 1193.8 in "003/8"`},
		{`3' 123"`, window, `4038.6 ft ""`},
		{`47 3/7"`, window, `470 cm "3/7\"", 1193.8 in "3/7\""`}, {"47 3/8/4", window, `470 cm "3/8/4", 1193.8 in "3/8/4"`},
		{"2.5", floor, `2500 m "", 2.5 mm ""`}, {"1.2.3", floor, `1 mm "2.3", 1.2 mm "3"`}, {"5,5", floor, `5 mm "5", 5.5 mm ""`},
		{"1,200", floor, `1 mm "200", 1200 mm ""`}, {"2,5 cm", floor, `2 mm "5 cm", 25 cm ""`},
		{"-1,5", both, `-1 mm "5", -1.5 mm ""`}, {"6,4", pane, `6 mm "4", 6.4 mm ""`},
	} {
		l, _, err := Next(c.text, c.want)
		require.NoError(t, err, c.text)
		var got []string
		for i, o := range l.Others {
			got = append(got, fmt.Sprintf("%s %s %q", o, l.OtherUnits[i], l.OtherRests[i]))
		}
		require.Equal(t, c.others, strings.Join(got, ", "), c.text)
	}
}

func TestNextSettlesInItsRange(t *testing.T) {
	for _, c := range []struct {
		text string
		want Range
		mm   string
		rest string
	}{
		{"9.9", MM(0, 3000), "9.9", ""}, {"10.5", MM(0, 20000), "10.5", ""}, {"3' 12", MM(0, 3000), "914.4", "12"},
		{"400,500", MM(0, 3000), "400", "500"}, {"-0.4", MM(-50, 50), "-0.4", ""}, {"- 12", MM(-50, 50), "-12", ""}, {"–12", MM(-50, 50), "-12", ""},
		{`-7/8"`, MM(-50, 50), "-22.225", ""}, {"+12", MM(-50, 50), "12", ""}, {"5", MM(-50, 50), "5", ""},
		{"4/16", MM(1, 60), "4", "/16"}, {"- 1/2 in", MM(1, 60), "12.7", ""}, {"- 4", MM(0, 60), "4", ""},
	} {
		l, rest, err := Next(c.text, c.want)
		require.NoError(t, err, c.text)
		require.True(t, l.Clear(), "%q asks %v", c.text, l.Others)
		require.Equal(t, c.mm, l.MM.String(), c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
}

func TestNextRefusesMore(t *testing.T) {
	for _, c := range []struct {
		text string
		want Range
		kind error
		mm   string // with ErrOutOfRange
	}{
		{".x", window, ErrNoNumber, ""}, {".", window, ErrNoNumber, ""}, {"Xmas 1204", window, ErrNoNumber, ""}, {"-x", window, ErrNoNumber, ""},
		{"-.x", window, ErrNoNumber, ""}, {"-.", window, ErrNoNumber, ""},
		{"-x", MM(-50, 50), ErrNoNumber, ""}, {"-", MM(-50, 50), ErrNoNumber, ""},
		{"²", window, ErrOtherDigits, ""}, {"٢", window, ErrOtherDigits, ""},
		{"-½", window, ErrNegative, ""}, {"-.5", window, ErrNegative, ""}, {"-3/8", window, ErrNegative, ""}, {"-4", MM(0, 60), ErrNegative, ""},
		{"0,900", window, ErrOutOfRange, "0"}, {"12,045", window, ErrOutOfRange, "12045"}, {"10 m 20 mm", window, ErrOutOfRange, "10000"},
		{"4/16 in", window, ErrOutOfRange, "6.35"}, {"½", window, ErrOutOfRange, "12.7"}, {"1204 m m", window, ErrOutOfRange, "1204000"},
		{"7 204", window, ErrOutOfRange, "7"}, {"123456789", window, ErrOutOfRange, "123456789"}, {"1234567890", window, ErrOutOfRange, "0"},
		{"1.1234567890", window, ErrOutOfRange, "0"}, {"9m20", window, ErrOutOfRange, "9200"},
		{"-60", MM(-50, 300), ErrOutOfRange, "-60"}, {"60", MM(-300, 50), ErrOutOfRange, "60"},
	} {
		_, rest, err := Next(c.text, c.want)
		require.ErrorIs(t, err, c.kind, c.text)
		require.Equal(t, c.text, rest)
		if c.kind == ErrOutOfRange {
			var re *RangeError
			require.ErrorAs(t, err, &re)
			require.Equal(t, c.mm, re.MM.String(), c.text)
			require.Equal(t, c.want.Least.String()+" "+c.want.Most.String(), re.Want.Least.String()+" "+re.Want.Most.String(), c.text)
		}
	}
}

func TestAllStopsWhereItIsNotClear(t *testing.T) {
	for _, c := range []struct {
		text, rest string
		want       []string
	}{
		{"1204 , 1202", "", []string{"1204", "1202"}}, {"1204 1202 . ", "", []string{"1204", "1202"}},
		{"850,900,870 mm", "", []string{"850", "900", "870"}}, {"850,900,870x", "", []string{"850", "900", "870"}},
		{"850,900,870 cm", "870 cm", []string{"850", "900"}}, {"850,900.870", "", []string{"850", "900.87"}},
		{"4,16", "4,16", nil}, {"850,900,870o1", "850,900,870o1", nil}, {"", "", nil}, {" , ", "", nil},
		{"850,900,1234567890", "850,900,1234567890", nil}, {"1204 soon", "soon", []string{"1204"}},
	} {
		ls, rest := All(c.text, window)
		require.Equal(t, c.want, mms(ls), c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
}

func TestSizeLineNeedsThreeOnEachSideAndOneCross(t *testing.T) {
	for _, text := range []string{
		"1204 1202 x 1050 1052 1051", "1204 1202 1203 1204 x 1050 1052 1051", "1204 1202 1203 soon x 1050 1052 1051",
		"1204 1202 1203 1050 1052 1051", "1204 1202 1203 x 1050 1052 x 1051", "1204 1202 1203 x 1050 1052 1051 soon",
		"1204x1202x1203 x 1050 1052 1051",
	} {
		_, _, ok := SizeLine(text, window)
		require.False(t, ok, text)
	}
	_, _, ok := SizeLine("1204 1202 1203 By 1050 1052 1051", window)
	require.True(t, ok)
}

func TestCountMore(t *testing.T) {
	for _, c := range []struct {
		text, rest string
		n          int
	}{
		{"2.", "", 2}, {"2.x", "x", 2}, {"+2", "", 2}, {"zero", "", 0}, {"no one", "one", 0}, {"02 nd", "nd", 2}, {"2ND", "", 2}, {"00", "", 0}, {"099", "", 99},
	} {
		n, rest, err := Count(c.text)
		require.NoError(t, err, c.text)
		require.Equal(t, c.n, n, c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
	for text, kind := range map[string]error{
		"-": ErrNoNumber, "-x": ErrNoNumber, "xone": ErrNoNumber, "thirteen": ErrNoNumber, "é": ErrNoNumber, "2 3/8": ErrNotWhole, "1/2 x": ErrNotWhole, "-1/2": ErrNegative,
	} {
		_, _, err := Count(text)
		require.ErrorIs(t, err, kind, text)
	}
}

// The limits of the questions about slips are common practice, no source.
func TestSlipsOnTheirLimits(t *testing.T) {
	d := decimal.RequireFromString
	among := func(vs ...string) (out []decimal.Decimal) {
		for _, v := range vs {
			out = append(out, d(v))
		}
		return out
	}
	_, ok := Swapped(d("-1240"), among("-1204"))
	require.False(t, ok)
	_, ok = Swapped(d("0"), among("1204"))
	require.False(t, ok)
	_, ok = Swapped(d("1234567890"), among("1234567980"))
	require.False(t, ok, "longer than any length")
	undone, ok := Swapped(d("123456798"), among("123456789"))
	require.True(t, ok)
	require.Equal(t, "123456789", undone.String())
	_, ok = Swapped(d("1240"), nil)
	require.False(t, ok)
	// 36 from its fellow; undone it is 9 from it, exactly four times nearer.
	undone, ok = Swapped(d("1240"), among("1195", "1276"))
	require.True(t, ok)
	require.Equal(t, "1204", undone.String())
	_, ok = Swapped(d("1240"), among("1194.9", "1276"))
	require.False(t, ok)

	require.False(t, Outlier(d("-3055"), among("-3000")), "2 % of 3000 is 60")
	require.True(t, Outlier(d("-3061"), among("-3000")))
}
