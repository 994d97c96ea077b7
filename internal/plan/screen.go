package plan

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Screen is the answer on a survey as a fitter on site reads it: what stops the
// order, the size and its risk, what is ordered, what is particular to this window,
// what nobody measured, screws, packers and blocks. makeUp is the glass as pane,
// space, pane, of which a plan knows the panes alone; "": not known. A point that but
// is true of is left out, since it was said of the room before.
func (p Plan) Screen(makeUp string, but func(safety.Finding) bool) []Row {
	rows := p.stopRows()
	rows = append(rows, p.sizeRows()...)
	rows = append(rows, p.orderRows(makeUp)...)
	points := slices.DeleteFunc(p.Points(), func(r Row) bool { return r.Finding != nil && but(*r.Finding) })
	head := "screen.before"
	if len(points) == 0 {
		head = "screen.before.none"
	}
	rows = append(append(rows, Row{Part: PointPart, Head: true, Text: phrase.Of(head)}), points...)
	rows = append(rows, p.roomAgain(but)...)
	rows = append(rows, p.unmeasuredRow(), p.screwRow())
	rows = append(rows, p.packerRows()...)
	return append(rows, p.blockRows()...)
}

// sizeRows are the frame, all of it with the sill piece, and the risk.
func (p Plan) sizeRows() []Row {
	size := p.Order.Size
	rows := []Row{{Part: SizePart, Text: phrase.Of("screen.size").With("width", size.Width).With("height", size.Height)}}
	if p.Order.SillPiece.IsPositive() {
		rows = append(rows, Row{Part: SizePart, Text: phrase.Of("screen.overall").With("width", size.Width).
			With("height", size.Height.Add(p.Order.SillPiece)).With("depth", p.Opening.SillDepth)})
	}
	return append(rows, Row{Part: RiskPart, Text: p.riskRow()})
}

// muchRisk is from how many in a hundred on the screen says what would lower the risk;
// why size always does. Common practice, no source.
const muchRisk = 10

// riskRow is the risk in one line, or why it is not known.
func (p Plan) riskRow() phrase.Text {
	risk, ok := calc.RiskOf(p.Order, p.Opening.Readings())
	n, next := in100(risk.Under4), ""
	if n >= muchRisk {
		next = risk.Next()
	}
	switch {
	case next != "":
		return phrase.Of("screen.risk.next").WithInt("n", n).Word("reading", "reading."+next)
	case ok && n == 0:
		return phrase.Of("screen.risk.rare")
	case ok:
		return phrase.Of("screen.risk").WithInt("n", n)
	case p.Opening.Finish == calc.Check:
		return phrase.Of("screen.risk.hidden")
	case p.Opening.TightTo != "":
		return phrase.Of("screen.risk.tight")
	case len(p.Order.Figure.Suspects) > 0:
		return phrase.Of("screen.risk.doubt")
	}
	return phrase.Of("screen.risk.unknown")
}

// orderRows are the frame's material, the lights and their glass.
func (p Plan) orderRows(makeUp string) []Row {
	rows := []Row{{Part: OrderPart, Head: true, Text: phrase.Of("screen.order").Word("material", "button.material."+string(p.Opening.Material))}}
	for i, g := range p.Glass {
		light := p.Layout.Lights[g.Light]
		rows = append(rows, Row{Part: OrderPart, Text: phrase.Of("screen.light").WithInt("n", i+1).
			Word("opens", "button.light."+string(light.Hinge)).With("width", g.Glass.Width).With("height", g.Glass.Height)})
	}
	return append(rows, Row{Part: OrderPart, Text: p.glassRow(makeUp)})
}

// glassRow is what the glass is made of and how heavy the heaviest pane is.
func (p Plan) glassRow(makeUp string) phrase.Text {
	var heaviest calc.GlassPlan
	for _, g := range p.Glass {
		if g.Mass.GreaterThan(heaviest.Mass) {
			heaviest = g
		}
	}
	if makeUp == "" || !heaviest.Mass.IsPositive() {
		return phrase.Of("screen.glass.none")
	}
	key := "screen.glass"
	if heaviest.Team == 0 {
		key = "screen.glass.aid"
	}
	return phrase.Of(key).Saying("glass", makeUp).With("mass", heaviest.Mass.Round(1)).WithInt("count", heaviest.Team)
}

// unmeasuredRow says what nobody measured, which may be nothing.
func (p Plan) unmeasuredRow() Row {
	var names []phrase.Text
	for _, u := range p.unmeasured() {
		names = append(names, phrase.Of("unmeasured."+u))
	}
	if len(names) == 0 {
		return Row{Part: UnmeasuredPart, Text: phrase.Of("screen.unmeasured.none")}
	}
	return Row{Part: UnmeasuredPart, Text: phrase.Of("screen.unmeasured").WithRow("names", names...)}
}

// unmeasured are the readings that the plan goes without.
func (p Plan) unmeasured() []string {
	o := p.Opening
	var list []string
	add := func(name string, is bool) {
		if is {
			list = append(list, name)
		}
	}
	add("diagonals", !o.Rising.IsPositive() || !o.Falling.IsPositive())
	add("sill", o.SillFall == nil)
	add("overlap", o.Finish == calc.Check && !(o.Inner.Width.IsPositive() && o.Inner.Height.IsPositive()))
	add("plaster", o.Finish == calc.Plaster)
	add("floor", o.AboveFloor == nil && o.BedAboveFloor == nil)
	add("outside", o.Storey == 0 && o.AboveOutside == nil)
	return list
}

// screwRow is the screws: those of the length that most have, then the others by their
// places. What has no length is a point.
func (p Plan) screwRow() Row {
	counts := map[string]int{}
	var most decimal.Decimal
	for _, w := range p.Screws {
		if !w.Length.IsPositive() {
			continue
		}
		counts[w.Length.String()] += p.screwsAt(w)
		if counts[w.Length.String()] > counts[most.String()] {
			most = w.Length
		}
	}
	var others []phrase.Text
	for _, w := range p.Screws {
		if w.Length.IsPositive() && !w.Length.Equal(most) {
			others = append(others, phrase.Of("screen.screws.item").WithInt("count", p.screwsAt(w)).With("length", w.Length).Word("place", w.Why.Words["place"]))
		}
	}
	text := phrase.Of("screen.screws.all")
	switch {
	case len(counts) == 0:
		return Row{Part: ScrewPart, Text: phrase.Of("screen.screws.none").WithInt("count", p.Fixings.Count)}
	case len(others) > 0:
		text = phrase.Of("screen.screws").WithRow("items", others...)
	}
	return Row{Part: ScrewPart, Text: text.WithInt("count", counts[most.String()]).With("length", most)}
}

// packerRows are the packers side by side, equal ones together and equal sides in one
// row. A screw goes beside each but those that bear the frame.
func (p Plan) packerRows() []Row {
	head := "screen.packers"
	switch {
	case p.Order.Figure.Assumed:
		head = "screen.packers.square"
	case p.Order.Figure.SillLevelAssumed:
		head = "screen.packers.level"
	}
	rows := []Row{{Part: PackerPart, Head: true, Text: phrase.Of(head)}}
	var names []phrase.Text
	for i, side := range sides {
		stacks, now := p.stacksOf(side)
		if stacks == nil {
			continue
		}
		name := "plan.side." + string(side)
		if len(names) > 0 {
			name = "side." + string(side)
		}
		names = append(names, phrase.Of(name))
		if i+1 < len(sides) {
			if _, next := p.stacksOf(sides[i+1]); next == now {
				continue // said in one row with the next
			}
		}
		rows = append(rows, Row{Part: PackerPart, Text: phrase.Of("screen.packers.side").WithRow("sides", names...).Sub1("stacks", oneAfterAnother(stacks))})
		names = nil
	}
	return rows
}

// stacksOf are the packers of a side, equal ones at their places, and the same as
// one word to compare sides by.
func (p Plan) stacksOf(side calc.Side) (stacks []phrase.Text, word string) {
	at := map[string][]decimal.Decimal{}
	var kinds []string
	for _, place := range p.Packers.Places {
		if place.Side != side {
			continue
		}
		kind := stackWord(place)
		if at[kind] == nil {
			kinds = append(kinds, kind)
		}
		at[kind] = append(at[kind], place.At)
	}
	for _, kind := range kinds {
		bed := strings.HasPrefix(kind, bedMark)
		key := "screen.stack"
		switch {
		case kind == unseenStack:
			key = "screen.stack.unseen"
		case kind == noStack:
			key = "screen.stack.none"
		case bed:
			key = "screen.stack.bed"
		}
		stacks = append(stacks, phrase.Of(key).Saying("stack", strings.TrimPrefix(kind, bedMark)).WithNumbers("at", at[kind]))
		word += kind
		for _, place := range at[kind] {
			word += " " + place.String()
		}
	}
	return stacks, word
}

// bedMark begins the word of a packer that bears the frame, noStack is that of a
// place that takes no packer, unseenStack that of one that nobody measured.
const (
	bedMark     = "bed "
	noStack     = "-"
	unseenStack = "?"
)

// stackWord is a stack as one word to compare by, with what it bears.
func stackWord(place calc.PackerPlace) string {
	switch {
	case place.Unseen:
		return unseenStack
	case len(place.Stack) == 0:
		return noStack
	}
	if place.Bed {
		return bedMark + piecesOf(place)
	}
	return piecesOf(place)
}

// oneAfterAnother are texts that have commas of their own.
func oneAfterAnother(items []phrase.Text) phrase.Text {
	all := items[len(items)-1]
	for _, one := range slices.Backward(items[:len(items)-1]) {
		all = phrase.Of("screen.more").Sub1("one", one).Sub1("others", all)
	}
	return all
}

// blockRows are where the glass blocks go, lights of one kind in one row.
func (p Plan) blockRows() []Row {
	lights := map[calc.Hinge][]int{}
	var kinds []calc.Hinge
	for _, g := range p.Glass {
		kind := sameBlocks(p.Layout.Lights[g.Light].Hinge)
		if lights[kind] == nil {
			kinds = append(kinds, kind)
		}
		lights[kind] = append(lights[kind], g.Light)
	}
	if len(kinds) == 1 {
		return []Row{{Part: BlockPart, Text: phrase.Of("screen.blocks").Word("blocks", "screen.blocks."+string(kinds[0]))}}
	}
	var rows []Row
	key := "screen.blocks.light"
	for i, kind := range kinds {
		rows = append(rows, Row{Part: BlockPart, Head: i == 0, Text: phrase.Of(key).
			WithRow("lights", lightNumbers(lights[kind])...).Word("blocks", "screen.blocks."+string(kind))})
		key = "screen.blocks.of"
	}
	return rows
}

// sameBlocks is the plainest light whose glass stands on the same blocks.
func sameBlocks(h calc.Hinge) calc.Hinge {
	switch h {
	case calc.TiltTurnLeft:
		return calc.SideLeft
	case calc.TiltTurnRight:
		return calc.SideRight
	}
	return h
}
