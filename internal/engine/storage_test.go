package engine

import (
	"encoding"
	"encoding/json"
	"flag"
	"maps"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/require"

	"sillbot/internal/day"
	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/session"
)

var update = flag.Bool("update", false, "add new names of what is stored to testdata")

// TestNamesInStorageStay: what docs/storage.md says may not be renamed is named
// as it was when it was stored. A name that is missing here is one by which
// some stored conversation, job, reply or button can no longer be read: take a
// line out of the list only with a migration that reads the old name. New names
// are added by -update.
func TestNamesInStorageStay(t *testing.T) {
	names := map[string]bool{}
	for root, v := range map[string]any{
		"conversation": dialog.State{}, "job": job.Job{}, "window": job.Opening{}, "reply": Message{}, "update": Update{}, "link": dialog.Link{},
		"person": session.Entry{}, "trace": session.Trace{},
	} {
		jsonNames(names, root, reflect.TypeOf(v), nil)
	}
	for _, p := range day.All {
		for i := range p.Fields {
			names["field "+p.Key(&p.Fields[i])] = true
		}
	}
	opening.Fields(func(f *opening.Field) bool {
		if f.Key != "" {
			names["field "+f.Key] = true
		}
		for _, code := range slices.Concat(slices.Concat(f.Rows, f.Short, f.More)...) {
			names["code "+f.Name+" "+code] = true
		}
		return true
	})
	for _, s := range job.States {
		names["state "+string(s)] = true
	}
	for _, key := range catalogueKeys(t) {
		if !strings.HasPrefix(key, "words.") { // those are typed, never stored
			names["said "+key] = true
		}
	}

	const file = "testdata/storage-names.txt"
	if *update {
		lines := slices.Collect(maps.Keys(names))
		if raw, err := os.ReadFile(file); err == nil {
			lines = append(lines, strings.Split(strings.TrimSpace(string(raw)), "\n")...)
		}
		slices.Sort(lines)
		lines = slices.Compact(lines)
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(strings.Join(lines, "\n")+"\n"), 0o644))
	}
	raw, err := os.ReadFile(file)
	require.NoError(t, err)
	for line := range strings.Lines(string(raw)) {
		if name := strings.TrimSpace(line); !names[name] {
			t.Errorf("%q has another name now, or none", name)
		}
	}
}

var (
	jsonType = reflect.TypeFor[json.Marshaler]()
	textType = reflect.TypeFor[encoding.TextMarshaler]()
)

// jsonNames adds the path of every value in the JSON of a type.
func jsonNames(names map[string]bool, path string, t reflect.Type, within []reflect.Type) {
	if t.Implements(jsonType) || t.Implements(textType) || reflect.PointerTo(t).Implements(textType) {
		names["json "+path] = true
		return
	}
	switch t.Kind() {
	case reflect.Pointer:
		jsonNames(names, path, t.Elem(), within)
	case reflect.Slice, reflect.Array:
		jsonNames(names, path+"[]", t.Elem(), within)
	case reflect.Map:
		jsonNames(names, path+"{}", t.Elem(), within)
	case reflect.Struct:
		if slices.Contains(within, t) {
			return
		}
		for i := range t.NumField() {
			f := t.Field(i)
			tag, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			switch {
			case f.Anonymous:
				jsonNames(names, path, f.Type, append(within, t))
			case !f.IsExported() || tag == "-":
			default:
				if tag == "" {
					tag = f.Name
				}
				jsonNames(names, path+"."+tag, f.Type, append(within, t))
			}
		}
	default:
		names["json "+path] = true
	}
}

// catalogueKeys are the keys of everything that is said: replies wait in
// outboxes as keys.
func catalogueKeys(t *testing.T) (keys []string) {
	raw, err := os.ReadFile("../../locales/en.toml")
	require.NoError(t, err)
	table := map[string]any{}
	require.NoError(t, toml.Unmarshal(raw, &table))
	keys = slices.Collect(maps.Keys(table))
	require.NotEmpty(t, keys)
	return keys
}
