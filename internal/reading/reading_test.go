package reading

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
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
		{`3' 11.25"`, "1200.15", "ft", ""},
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
