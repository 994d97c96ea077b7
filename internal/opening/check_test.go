package opening

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
)

// Each bound of the table is held by Check, at its own place.
func TestEveryBoundIsHeld(t *testing.T) {
	within := func() Opening {
		var k Known
		for _, p := range []Pair{{"nation", "wales"}, {"date", "2026-11-25"}, {"finish", "bare"}, {"sill", "none"}, {"material", "timber"}, {"room", "hall"}, {"layout", "1"}, {"light.1", "fixed"}} {
			k.Set(p.Key, p.Value)
		}
		for _, key := range append(Widths[:], Heights[:]...) {
			k.Set(key, "1200")
		}
		return k.Opening()
	}
	require.NoError(t, within().Check())
	checked := 0
	for _, f := range table {
		if f.Least == 0 && f.Most == 0 || f.put != nil || f.Kind == Figure || f.Scope == CrewWide || f.File == "" {
			continue
		}
		outsides := []string{f.most.Add(decimal.New(1, 0)).String(), f.least.Sub(decimal.New(1, 0)).String()}
		if f.Kind == Words {
			outsides = []string{strings.Repeat("é", int(f.Most)+1)}
		}
		for _, outside := range outsides {
			o := within()
			var k Known
			for _, p := range []Pair{{"layout", "1"}, {"light.1", "side-left"}, {"material", "timber"}, {"sill", "150"}, {"trickle", "1"}} {
				k.Set(p.Key, p.Value)
			}
			k.Set(f.Key, outside)
			f.write(&k, &o)
			var wrong *FieldError
			require.True(t, errors.As(o.Check(), &wrong), "%s may not be %s", f.Key, outside)
			require.Equal(t, f.File, wrong.Field)
			require.Contains(t, wrong.Why, f.most.String())
			checked++
		}
	}
	require.Greater(t, checked, 20)

	o := within()
	c := DefaultCrew()
	c.Joint.Expansion = map[calc.Material]decimal.Decimal{"oak": decimal.New(5, 0)}
	o.Settings = &c
	require.EqualError(t, o.Check(), "settings.joint.expansion.oak: must be one of pvcu-white, pvcu-colour, timber, steel, aluminium")
	c.Joint.Expansion = map[calc.Material]decimal.Decimal{calc.Steel: decimal.New(201, 0)}
	require.EqualError(t, c.Check("job."), "job.settings.joint.expansion.steel: must be from 0 to 200")
	o = within()
	o.Sashes = []Sash{{Light: 1}, {Angle: decimal.New(181, 0)}}
	require.EqualError(t, o.Check(), "sashes[1].angle: must be from 0 to 180")
}

func TestAMaterialThatStandsTwiceIsRefused(t *testing.T) {
	form := reflect.TypeFor[Opening]()
	require.NoError(t, Strict([]byte(`{"settings":{"joint":{"range":{"steel":50,"timber":40},"expansion":null}}}`), form, ""))
	require.EqualError(t, Strict([]byte(`{"settings":{"joint":{"range":{"steel":50,"steel":40}}}}`), form, ""),
		"settings.joint.range.steel: stands there twice")
	require.EqualError(t, Strict([]byte(`{"settings":{"joint":{"range":[50]}}}`), form, ""), "settings.joint.range: must be an object")
}
