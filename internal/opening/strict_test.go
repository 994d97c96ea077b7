package opening

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestListsAreAsLongAsTheyMayBe(t *testing.T) {
	for _, c := range []struct{ raw, want string }{
		{more(`"panes":[]`), ""},
		{more(`"panes":[ ]`), ""},
		{more(`"panes":[4]`), ""},
		{more(`"panes":[4,4,4,4,4,4]`), ""},
		{more(`"panes":[4,4,4,4,4,4,4]`), "panes: must have at most 6 values"},
		{more(`"panes":[NaN,NaN,4,4,4,4,4],"bay":1`), "panes: must have at most 6 values; bay: must be true or false"},
		{more(`"bay":1,"panes":[NaN,4,4,4,4,4,4]`), "bay: must be true or false; panes: must have at most 6 values"},
		{more(`"panes":[NaN,4,x,4,4,4]`), "panes[0]: must be a number such as 1204 or 7.5; panes[2]: must be a number such as 1204 or 7.5"},
		{more(`"panes":4`), "panes: must be a list"},
		{more(`"panes":{"0":4}`), "panes: must be a list"},
		{more(`"layout":[]`), "layout: stands there twice"},
		{more(`"inner":[1,2]`), "inner: must be an object"},
		{more(`"inner":null,"panes":[4]`), "inner: must be an object"},
		{more(`"settings":null,"sill_fall":null`), ""},
		{in(t, "[1204,1202,1203]", "[1204,1202]"), "widths: must have 3 values"},
		{in(t, "[1204,1202,1203]", "[]"), "widths: must have 3 values"},
		{in(t, "[1204,1202,1203]", "[1,2,3,4]"), "widths: must have 3 values"},
	} {
		_, err := Parse([]byte(c.raw), nil)
		if c.want == "" {
			require.NoError(t, err, c.raw)
			continue
		}
		require.EqualError(t, err, c.want, c.raw)
	}
}

// What is not known is passed over as a whole, and what follows is read.
func TestWhatIsNotKnownIsPassedOver(t *testing.T) {
	for _, value := range []string{
		`{"a":[1,{"b":"}"}],"c":{}}`, `[[],[{}],"]"]`, `"a\"}b"`, `"\\"`, "{\"a\"\n:\t1}", `null`, `-1e5`, `NaN`, `x:y`, `{}`, `[]`, `""`,
	} {
		raw := strings.Replace(whole, "{", "{\"colour\":"+value+",\r\n\t \"bay\" : 7 ,", 1)
		_, wrong := faults(t, raw)
		if strings.Contains(value, ":y") {
			require.Equal(t, []string{"colour", "colour"}, wrong, "a colon ends it")
			continue
		}
		require.Equal(t, []string{"colour", "bay"}, wrong, value)
	}
	spread := strings.NewReplacer(",", " ,\r\n\t", ":", "\n:\t", "[", "[\n ", "]", "\t]", "}", "\r}").Replace(strings.ReplaceAll(whole, "2026-11-25", "day"))
	_, wrong := faults(t, strings.Replace(spread, "day", "2026-11-25", 1))
	require.Empty(t, wrong, "blanks of any kind")
}

// A record may end anywhere: that is told, and never more than that goes wrong.
func TestARecordThatEndsEarly(t *testing.T) {
	full := more(`"panes":[4,4],"prices":[{"what":"a\"b","each":"1.5"}],"settings":{"joint":{"range":{"steel":50}}}`)
	_, wrong := faults(t, full)
	require.Empty(t, wrong)
	for n := range len(full) {
		_, err := Parse([]byte(full[:n]), nil)
		require.Error(t, err, full[:n])
		_, err = Parse([]byte(full[:n]+`\`), nil)
		require.Error(t, err, full[:n])
		_, err = Parse([]byte(full[n+1:]), nil)
		require.Error(t, err, full[n+1:])
	}
}

func TestManyFieldsOfAMapAreBounded(t *testing.T) {
	var all []string
	for i := range 2 * mostFields {
		all = append(all, fmt.Sprintf(`"f%d":1`, i))
	}
	err := Strict([]byte("{"+strings.Join(all, ",")+"}"), reflect.TypeFor[map[string]int](), "at")
	require.Error(t, err)
	require.NoError(t, Strict([]byte("{"+strings.Join(all[:mostFields], ",")+"}"), reflect.TypeFor[map[string]int](), "at"))
}

func TestWholeNumbersAndAnswers(t *testing.T) {
	for value, right := range map[string]bool{
		"0": true, "7": true, "12": true, "-1": true, "1.5": false, "1e2": false, `"3"`: false, "true": false, "07": false, "99999999999999999999": false,
	} {
		require.Equal(t, right, scalar([]byte(value), reflect.TypeFor[int]()) == "", value)
	}
	for value, right := range map[string]bool{"true": true, "false": true, "True": false, "1": false, `"true"`: false, "": false} {
		require.Equal(t, right, scalar([]byte(value), reflect.TypeFor[bool]()) == "", value)
	}
	for value, right := range map[string]bool{
		"0": true, "0.5": true, "00": false, "1.": false, ".5": false, `"0.5"`: true, `"1204"`: true, "1204.25": true, "-3": true, "1e3": true, `"1e3"`: true,
		"123456789012": true, `""`: false, `"`: false, "1,5": false, "12a": false,
	} {
		require.Equal(t, right, figure([]byte(value)) == "", value)
	}
}
