package reading

import (
	"errors"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var seeds = []string{
	"", "1204", "1204mm", "120.4 cm", "1,204", "120,4 cm", "47 3/8\"", "3' 11 3/8\"", "1204,1202,1203", "1204/1202",
	"1204 x 1050", "1m20", "⅜", "１２", "-5", "\xff\xfe1204", "12o4", "0.8", ".5 m", "1.204,5", "4/16/4", "1 204",
	"next monday", "in 3 weeks", "27 March", "27/3/2027", "2027-03-27", "29 Feb", "twelve", "2nd", "March 27, '27",
	strings.Repeat("1,", 2048), strings.Repeat("9", 4096), strings.Repeat(" ", 4096), strings.Repeat("x", 4096),
}

func checkRest(t *testing.T, text, rest string, err error) {
	t.Helper()
	if err != nil {
		require.Equal(t, text, rest, "an error leaves the text as it was")
		return
	}
	require.True(t, strings.HasSuffix(text, rest))
	require.Less(t, len(rest), len(text), "something was taken")
	if utf8.ValidString(text) {
		require.True(t, utf8.ValidString(rest))
	}
}

func FuzzNext(f *testing.F) {
	for _, s := range seeds {
		f.Add(s, int16(300), int16(6000))
		f.Add(s, int16(-50), int16(50))
		f.Add(s, int16(1), int16(60))
	}
	f.Fuzz(func(t *testing.T, text string, least, most int16) {
		want := MM(int64(least), int64(most))
		l, rest, err := Next(text, want)
		checkRest(t, text, rest, err)
		switch {
		case err != nil:
			require.True(t, errors.Is(err, ErrNoNumber) || errors.Is(err, ErrNegative) || errors.Is(err, ErrOutOfRange))
			require.Equal(t, Length{}, l)
			return
		case l.Clear():
			require.True(t, want.Has(l.MM), "%s", l.MM)
		default:
			require.True(t, l.MM.IsZero())
			require.Len(t, l.OtherUnits, len(l.Others))
			require.Len(t, l.OtherRests, len(l.Others))
			for _, r := range l.OtherRests {
				checkRest(t, text, r, nil)
				require.True(t, strings.HasSuffix(r, rest))
			}
		}
		for i, o := range l.Others {
			require.True(t, want.Has(o), "%s", o)
			for _, p := range l.Others[:i] {
				require.False(t, o.Equal(p))
			}
		}
		require.Contains(t, strings.ReplaceAll(text, " ", ""), strings.TrimLeft(strings.ReplaceAll(l.Text, " ", ""), "-"))
		ls, _ := All(text, want)
		for _, l := range ls {
			require.True(t, want.Has(l.MM))
		}
	})
}

func FuzzNextDate(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d, rest, err := NextDate(text, today)
		checkRest(t, text, rest, err)
		if err != nil {
			var de *DateError
			require.ErrorAs(t, err, &de)
			require.True(t, d.IsZero())
			require.Equal(t, errors.Is(err, ErrAmbiguousDate), len(de.Others) > 0)
			return
		}
		require.Equal(t, d, d.Truncate(24*time.Hour))
		require.True(t, d.After(today.AddDate(-10, 0, -1)) && d.Before(today.AddDate(2, 0, 1)))
		_, err = Date(text, today)
		require.Equal(t, rest == "", err == nil)
	})
}

func FuzzCount(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		n, rest, err := Count(text)
		checkRest(t, text, rest, err)
		require.True(t, n >= 0 && n <= MostCount)
		if err != nil {
			require.Zero(t, n)
		}
	})
}

// writes are ways of writing a whole reading that is between 300 and 6000.
var writes = []func(int64) string{
	func(v int64) string { return decimal.NewFromInt(v).String() },
	func(v int64) string { return decimal.NewFromInt(v).String() + "mm" },
	func(v int64) string { return decimal.New(v, -1).StringFixed(1) + " cm" },
	func(v int64) string { return strings.Replace(decimal.New(v, -1).StringFixed(1), ".", ",", 1) + "cm" },
	func(v int64) string { return decimal.New(v, -3).StringFixed(3) + " m" },
	func(v int64) string { return decimal.NewFromInt(v).String() + ".0" },
}

func TestSeveralMessagesComeToTheSameAsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Int64Range(300, 6000), 1, 9).Draw(t, "values")
		sep := rapid.SampledFrom([]string{" ", ", ", "\n", "; ", " / ", "\n- ", "  "}).Draw(t, "sep")
		var typed []string
		var want []string
		for _, v := range values {
			w := rapid.SampledFrom(writes).Draw(t, "write")
			typed = append(typed, w(v))
			want = append(want, decimal.NewFromInt(v).String())
		}
		text := strings.Join(typed, sep)
		ls, rest := All(text, window)
		require.Empty(t, rest, text)
		require.Equal(t, want, mms(ls), text)

		cut := rapid.IntRange(0, len(typed)).Draw(t, "cut")
		first, _ := All(strings.Join(typed[:cut], sep), window)
		second, _ := All(strings.Join(typed[cut:], sep), window)
		require.Equal(t, want, append(mms(first), mms(second)...))
	})
}

func TestInchesAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.Int64Range(12, 235).Draw(t, "in")
		num := rapid.Int64Range(1, 63).Draw(t, "64ths")
		whole, part := decimal.NewFromInt(in), decimal.NewFromInt(num)
		exact := whole.Mul(decimal.NewFromInt(64)).Add(part).Mul(decimal.NewFromInt(254)) // in 1/640 mm
		l, rest, err := Next(whole.String()+" "+part.String()+"/64\"", window)
		require.NoError(t, err)
		require.Empty(t, rest)
		require.True(t, l.MM.Mul(decimal.NewFromInt(640)).Equal(exact), l.MM.String())
	})
}

func noise(kind int) string {
	rng := rand.New(rand.NewPCG(1, uint64(kind)))
	sets := []string{"0123456789,.", "0123456789 /'\"-x", "abcdefg 1", "1,", " 1", "٣½⅜″１x,"}
	runes := []rune(sets[kind%len(sets)])
	var b strings.Builder
	for range 4096 {
		b.WriteRune(runes[rng.IntN(len(runes))])
	}
	return b.String()
}

func BenchmarkAllNoise(b *testing.B) {
	texts := make([]string, 6)
	for i := range texts {
		texts[i] = noise(i)
	}
	wide := MM(0, 1_000_000_000)
	for i := 0; b.Loop(); i++ {
		All(texts[i%len(texts)], wide)
	}
}

func BenchmarkNext(b *testing.B) {
	for b.Loop() {
		if _, _, err := Next("120,4 cm", window); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNextDateNoise(b *testing.B) {
	texts := make([]string, 6)
	for i := range texts {
		texts[i] = noise(i)
	}
	for i := 0; b.Loop(); i++ {
		_, _, _ = NextDate(texts[i%len(texts)], today)
	}
}
