package plan

import (
	"bytes"
	"encoding/json"
	"errors"
	"math/big"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
)

// library is what encoding/json writes.
func library(t require.TestingT, record any) string {
	var out bytes.Buffer
	require.NoError(t, json.NewEncoder(&out).Encode(record))
	return out.String()
}

func TestPlansAreWrittenAsTheLibraryDoes(t *testing.T) {
	say := english(t)
	plans, total := shown(t)
	sums, err := total.Report(say)
	require.NoError(t, err)
	records := []any{sums, struct {
		Job JobReport `json:"job"`
	}{sums}, Refusal(oneLight(), FieldErrors{{Field: "widths[0]", Why: "<is> & \"wrong\""}}, say), Report{}}
	for _, o := range []Opening{sample(), fourLights(), everything()} {
		p, err := Make(o, calc.DefaultSettings())
		require.NoError(t, err)
		records = append(records, p.Report(say))
	}
	for _, p := range plans {
		records = append(records, p.Report(say))
	}
	for _, record := range records {
		raw, err := AppendJSON([]byte("before "), record)
		require.NoError(t, err)
		require.Equal(t, "before "+library(t, record), string(raw))
	}
}

// odd has what a report may come to have.
type odd struct {
	Text   string           `json:"text"`
	List   []string         `json:"list"`
	Flag   bool             `json:"flag,omitempty"`
	Count  int              `json:"count,omitempty"`
	Size   calc.Size        `json:"size,omitzero"`
	Empty  calc.Size        `json:"empty,omitempty"`
	Money  *decimal.Decimal `json:"money"`
	By     map[string]int   `json:"by"`
	ByRank map[int]string   `json:"by_rank,omitempty"`
	Big    *big.Int         `json:"big,omitempty"`
	Float  float64          `json:"float"`
	Again  *odd             `json:"again,omitempty"`
	Mixed  any              `json:"mixed"`
	Inside struct{ Open int }
}

func TestAnythingIsWrittenAsTheLibraryDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.RuneFrom([]rune("a<>&\"\\\u2028\u2029…é\n\x7f"))), rapid.Just("\xff"))
		n := decimal.New(rapid.Int64().Draw(t, "n"), rapid.Int32Range(-9, 3).Draw(t, "e"))
		o := &odd{
			Text: text.Draw(t, "text"), List: rapid.SliceOf(text).Draw(t, "list"), Flag: rapid.Bool().Draw(t, "flag"), Count: rapid.Int().Draw(t, "count"),
			Money: &n, By: rapid.MapOf(text, rapid.Int()).Draw(t, "by"), Float: 1.5, Mixed: []any{1, "x"}, Big: big.NewInt(7),
		}
		if rapid.Bool().Draw(t, "again") {
			o.Again, o.Money, o.By, o.List, o.Size.Width = &odd{Text: "in"}, nil, nil, nil, n
		}
		raw, err := AppendJSON(nil, o)
		require.NoError(t, err)
		require.Equal(t, library(t, o), string(raw))
	})
}

func TestWhatHasToBeWrittenOtherwise(t *testing.T) {
	var none *odd
	for _, record := range []any{
		"a<b", "a>b", "a&b", "a\"b", `a\b`, "a\nb", "a b", "a\x1fb", "a\x7fb", "a\u2028b", "a\u2029b", "a…b", "â", "\xff", "",
		[]string(nil), map[string]int(nil), none, map[string]int{"b": 1, "<a>": 2}, big.NewInt(5), decimal.New(5, -1), []decimal.Decimal{{}}, map[string]decimal.Decimal{"a": decimal.New(-25, -2)},
		struct {
			A decimal.Decimal  `json:"a,omitzero"`
			B *decimal.Decimal `json:"b,omitempty"`
			C int              `json:"c,string"`
			D bool             `json:"-"`
		}{},
	} {
		raw, err := AppendJSON(nil, record)
		require.NoError(t, err)
		require.Equal(t, library(t, record), string(raw))
	}
}

type unwritable struct{}

func (unwritable) MarshalJSON() ([]byte, error) { return nil, errors.New("no") }

func TestWhatCannotBeWritten(t *testing.T) {
	for _, record := range []any{
		unwritable{}, []unwritable{{}}, map[string]unwritable{"a": {}}, struct {
			A unwritable `json:"a"`
		}{},
	} {
		_, err := AppendJSON(nil, record)
		require.ErrorContains(t, err, "no")
	}
}
