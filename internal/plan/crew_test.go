package plan

import (
	"encoding/json"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// A crew's settings are stored as what differs from the usual ones, and come
// back whole.
func TestCrewIsStoredAsItsDifferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := DefaultCrew()
		set := func(to *decimal.Decimal, name string) {
			if rapid.Bool().Draw(t, name+" set") {
				*to = decimal.New(rapid.Int64Range(0, 900).Draw(t, name), -1)
			}
		}
		set(&c.OuterFace, "outer face")
		set(&c.PlasterThickness, "plaster")
		set(&c.Store.FoamYield, "foam yield")
		if rapid.Bool().Draw(t, "sealant") {
			c.Joint.Class = calc.Class125
		}
		if rapid.Bool().Draw(t, "screws") {
			c.ScrewStock = []decimal.Decimal{mm(82), mm(rapid.Int64Range(90, 300).Draw(t, "screw"))}
		}
		if rapid.Bool().Draw(t, "expansion") {
			c.Joint.Expansion = map[calc.Material]decimal.Decimal{calc.Timber: mm(6)}
		}
		raw, err := json.Marshal(c)
		require.NoError(t, err)
		var back Crew
		require.NoError(t, json.Unmarshal(raw, &back))
		again, err := json.Marshal(back)
		require.NoError(t, err)
		require.JSONEq(t, string(raw), string(again))
		require.True(t, back.OuterFace.Equal(c.OuterFace))
		require.True(t, back.PlasterThickness.Equal(c.PlasterThickness))
		require.True(t, back.Store.FoamYield.Equal(c.Store.FoamYield))
		require.True(t, back.SashFace.Equal(c.SashFace))
		require.Equal(t, c.Joint.Class, back.Joint.Class)
		require.Len(t, back.ScrewStock, len(c.ScrewStock))
		for i, length := range c.ScrewStock {
			require.True(t, back.ScrewStock[i].Equal(length))
		}
		require.True(t, DefaultCrew().ScrewStock[0].Equal(mm(60)), "a list that was read changes no other")
		require.True(t, back.Joint.Expansion[calc.Timber].Equal(c.Joint.Expansion[calc.Timber]))
	})
	raw, err := json.Marshal(DefaultCrew())
	require.NoError(t, err)
	require.Equal(t, "{}", string(raw), "a job keeps it with every opening")
	c := DefaultCrew()
	c.SashFace = mm(78)
	raw, err = json.Marshal(c)
	require.NoError(t, err)
	require.Equal(t, `{"sash_face":"78"}`, string(raw))
}

// The order size goes by the opening's own settings, also where nobody makes
// the whole plan.
func TestOrderRequestGoesByTheOpeningsOwnSettings(t *testing.T) {
	c := DefaultCrew()
	c.PlasterThickness = mm(15)
	o := sample()
	o.Finish, o.Settings = calc.Plaster, &c
	order, err := calc.OrderSize(o.OrderRequest(calc.DefaultSettings()))
	require.NoError(t, err)
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	require.Equal(t, p.Order.Size, order.Size)
	o.Settings = nil
	thinner, err := calc.OrderSize(o.OrderRequest(calc.DefaultSettings()))
	require.NoError(t, err)
	same(t, "6", order.Size.Width.Sub(thinner.Size.Width), "3 mm more on each side")
}

// Files and stored jobs of before name the edge cover rebate_depth.
func TestTheOldNameOfTheEdgeCoverIsRead(t *testing.T) {
	var c Crew
	require.NoError(t, json.Unmarshal([]byte(`{"rebate_depth":"15","sash_face":"78"}`), &c))
	same(t, "15", c.EdgeCover)
	raw, err := json.Marshal(c)
	require.NoError(t, err)
	require.Equal(t, `{"edge_cover":"15","sash_face":"78"}`, string(raw))
	require.Error(t, json.Unmarshal([]byte(`{"rebate_depth":15,"edge_cover":20}`), &c), "one of them")

	read := func(settings string) decimal.Decimal {
		o := sample()
		raw, err := json.Marshal(o)
		require.NoError(t, err)
		var fields map[string]any
		require.NoError(t, json.Unmarshal(raw, &fields))
		fields["settings"] = json.RawMessage(settings)
		raw, err = json.Marshal(fields)
		require.NoError(t, err)
		got, err := opening.Parse(raw, nil)
		require.NoError(t, err)
		return got.Settings.EdgeCover
	}
	same(t, "15", read(`{"rebate_depth":15}`), "a file of before")
	same(t, "15", read(`{"edge_cover":15}`))
	require.Contains(t, string(Schema), `"edge_cover"`)
	require.NotContains(t, string(Schema), "rebate_depth")
}
