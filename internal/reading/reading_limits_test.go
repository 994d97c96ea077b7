package reading

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

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
		{"120 450", MM(100_000, 200_000), `120000 m "450", 120450 mm ""`}, {"1200 450", MM(1_000_000, 2_000_000), `1200000 m "450"`},
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
		{"850,900,87", "", []string{"850", "900.87"}}, // and so at the end of more than are looked at in one
		{"850,900,870,850,900,870,850,900,87", "", []string{"850", "900", "870", "850", "900", "870", "850", "900.87"}},
		{"850,900,870 cm", "870 cm", []string{"850", "900"}}, {"850,900.870", "", []string{"850", "900.87"}},
		{"4,16", "4,16", nil}, {"850,900,870o1", "850,900,870o1", nil}, {"", "", nil}, {" , ", "", nil},
		{"850,900,1234567890", "850,900,1234567890", nil}, {"1204 soon", "soon", []string{"1204"}},
	} {
		ls, rest := All(c.text, window)
		require.Equal(t, c.want, mms(ls), c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
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

// An x that goes on as a word stands between no sizes.
func TestAnXThatBeginsAWordIsNoCross(t *testing.T) {
	for text, length := range map[string]int{"x 5": 1, "X5": 1, "x": 1, "x_5": 0, "xa": 0, "5": 0, "": 0} {
		require.Equal(t, length, crossAt(text), text)
	}
}
