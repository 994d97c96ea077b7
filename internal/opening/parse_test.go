package opening

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

const whole = `{"name":"kitchen","nation":"england","date":"2026-11-25","finish":"bare","material":"pvcu-white",` +
	`"widths":[1204,1202,1203],"heights":[1000,1001,"1002"],"layout":{"lights":[{"hinge":"fixed"}]},"room":"hall","storey":0}`

// in is whole with one part of it changed.
func in(t *testing.T, part, with string) string {
	t.Helper()
	require.Equal(t, 1, strings.Count(whole, part), part)
	return strings.Replace(whole, part, with, 1)
}

// more is whole with further fields.
func more(fields string) string { return strings.TrimSuffix(whole, "}") + "," + fields + "}" }

// faults are what Parse says of a record, field by field.
func faults(t *testing.T, raw string) (Opening, []string) {
	t.Helper()
	o, err := Parse([]byte(raw), nil)
	if err == nil {
		return o, nil
	}
	var wrong FieldErrors
	require.ErrorAs(t, err, &wrong, raw)
	var fields []string
	for _, e := range wrong {
		fields = append(fields, e.Field)
		require.NotEmpty(t, e.Why)
	}
	return o, fields
}

func TestParseTellsAllThatIsWrong(t *testing.T) {
	o, wrong := faults(t, whole)
	require.Empty(t, wrong)
	require.Equal(t, "kitchen", o.Name)

	raw := strings.NewReplacer("1204", "NaN", `"1002"`, `"tall"`, `"england"`, `"atlantis"`, "2026-11-25", "0001-01-01").Replace(more(`"gauge":0.001,"widht":5`))
	o, wrong = faults(t, raw)
	require.Equal(t, []string{"widths[0]", "heights[2]", "widht", "date", "nation", "gauge"}, wrong, "as they stand, then what is beyond its bounds")
	require.Equal(t, "kitchen", o.Name)
	require.Equal(t, "1202", o.Widths[1].String(), "what can be read is")
}

func TestOddNumbersAndWordsAreNamed(t *testing.T) {
	list := func(n int) string { return "[" + strings.TrimSuffix(strings.Repeat("4,", n), ",") + "]" }
	for _, c := range []struct{ raw, field string }{
		{in(t, "1202", "NaN"), "widths[1]"},
		{in(t, "1202", `"NaN"`), "widths[1]"},
		{in(t, "1202", "-Infinity"), "widths[1]"},
		{in(t, "1202", "+1202"), "widths[1]"},
		{in(t, "1202", "01202"), "widths[1]"},
		{in(t, "1202", "1_202"), "widths[1]"},
		{in(t, "1202", "0x4b2"), "widths[1]"},
		{in(t, "1202", ""), "widths[1]"},
		{in(t, "1202", "1e-30"), "widths[1]"},
		{in(t, "1202", "[1202]"), "widths[1]"},
		{more(`"gauge":0.001`), "gauge"},
		{more(`"gauge":-75`), "gauge"},
		{more(`"panes":` + list(100_000)), "panes"},
		{more(`"panes":` + list(7)), "panes"},
		{more(`"trims":` + list(101)), "trims"},
		{in(t, `[{"hinge":"fixed"}]`, "["+strings.Repeat(`{"hinge":"fixed"},`, 64)+`{}]`), "layout.lights"},
		{in(t, "2026-11-25", "0001-01-01"), "date"},
		{in(t, "2026-11-25", "1999-12-31"), "date"},
		{in(t, "2026-11-25", "2101-01-01"), "date"},
		{in(t, "2026-11-25", "9999-12-31"), "date"},
		{more(`"count":NaN`), "count"},
		{more(`"count":100000`), "count"},
		{more(`"bay":maybe`), "bay"},
		{more(`"settings":{"store":{"trim_length":0.001}}`), "settings.store.trim_length"},
		{in(t, "kitchen", strings.Repeat("é", 201)), "name"},
		{in(t, "kitchen", "kit\x00chen"), "name"},
		{in(t, "kitchen", `kit\u0007chen`), "name"},
		{in(t, "kitchen", "kit\tchen"), "name"},
		{in(t, "kitchen", "kit\u0085chen"), "name"},
		{in(t, "kitchen", "kit\u202echen"), "name"},
		{in(t, "kitchen", `kit\u2067chen`), "name"},
		{in(t, "kitchen", "kit\u200fchen"), "name"},
		{in(t, "kitchen", "kit\u061cchen"), "name"},
		{in(t, "kitchen", "kit\u2028chen"), "name"},
		{in(t, "kitchen", "kit\ufeffchen"), "name"},
		{in(t, "kitchen", "k\xfcche"), "name"},
		{in(t, "kitchen", `k\ud800che`), "name"},
		{in(t, "kitchen", "k\ufffdche"), "name"},
		{more(`"room_name":"a` + "\u202e" + `b"`), "room_name"},
		{more(`"prices":[{"what":"a` + "\x7f" + `","each":1}]`), "prices[0].what"},
		{more("\"ba\u202ey\":true"), "a name of a field"},
		{more("\"b\xffy\":true"), "a name of a field"},
		{in(t, `"room":`, `"room" `), "the record"},
		{in(t, `1202,`, `1202 `), "widths"},
		{whole[:len(whole)-1], "storey"},
		{whole + "x", "the record"},
		{`{"settings":{"rebate_depth":1,"edge_cover":2}}`, "settings.rebate_depth"},
	} {
		_, wrong := faults(t, c.raw)
		require.NotEmpty(t, wrong, "%.200q", c.raw)
		require.Equal(t, c.field, wrong[0], "%.200q", c.raw)
	}
	for _, name := range []string{"küche 🪟", "кухня", "مطبخ", `1\/2 \"left\"`, "two\u200dthree"} {
		_, wrong := faults(t, in(t, "kitchen", name))
		require.Empty(t, wrong, name)
	}
}

func TestANameIsKnownWhereTheRecordIsBroken(t *testing.T) {
	o, wrong := faults(t, in(t, `"room":`, `"room" `))
	require.Equal(t, []string{"the record"}, wrong)
	require.Equal(t, "kitchen", o.Name)
	o, _ = faults(t, strings.Replace(in(t, `"room":`, `"room" `), "kitchen", "kit\u202echen", 1))
	require.Empty(t, o.Name, "what turns text is not shown")
}

func TestErrorsOfOneRecordAreBounded(t *testing.T) {
	var fields []string
	for n := range 100_000 {
		fields = append(fields, fmt.Sprintf(`"f%d":NaN`, n))
	}
	_, wrong := faults(t, more(strings.Join(fields, ",")))
	require.Len(t, wrong, mostFieldErrors)
}

// Parse takes what encoding/json takes and Check lets pass, and nothing that
// encoding/json refuses.
func TestParseAgreesWithTheLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := []byte(whole)
		for range rapid.IntRange(0, 3).Draw(t, "changes") {
			at := rapid.IntRange(0, len(raw)-1).Draw(t, "at")
			with := rapid.SampledFrom([]byte(`{}[]",:0 9.-eatn\`+"\n")).Draw(t, "with")
			raw = append(append(append([]byte{}, raw[:at]...), with), raw[at+rapid.IntRange(0, 1).Draw(t, "drop"):]...)
		}
		o, err := Parse(raw, nil)
		var wrong FieldErrors
		if err != nil && (!errors.As(err, &wrong) || len(wrong) == 0) {
			t.Fatalf("%q: %v", raw, err)
		}
		if err != nil {
			return
		}
		var want Opening
		if err := json.Unmarshal(raw, &want); err != nil {
			t.Fatalf("%q is taken, and is no JSON: %v", raw, err)
		}
		if want.Check() != nil || !want.Widths[0].Equal(o.Widths[0]) || want.Name != o.Name {
			t.Fatalf("%q is read as %+v", raw, o)
		}
	})
}

func TestAnOpeningKeepsItsJobsSettings(t *testing.T) {
	crew := DefaultCrew()
	crew.SashFace = decimal.NewFromInt(78)
	o, err := Parse([]byte(more(`"settings":{"frame_depth":90,"joint":{"range":{"steel":50}}}`)), &crew)
	require.NoError(t, err)
	require.Equal(t, "78", o.Settings.SashFace.String())
	require.Equal(t, "90", o.Settings.FrameDepth.String())
	require.Equal(t, "70", crew.FrameDepth.String(), "the job's own stay")
	require.NotEqual(t, "50", crew.Joint.Range["steel"].String())
}
