package scene

import (
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/typeface"
)

// Key says what the signs of a drawing stand for, and no others, in columns
// beside it.
type Key struct {
	scene   *Scene
	font    Font
	columns int
	width   float64 // of the whole key
	sign    float64 // width of a sign
	least   float64 // height of an entry
	entries []entry
}

// entry is a sign and what it stands for.
type entry struct {
	lines []string
	draw  func(Box)
}

const signGap = 1.2 // after a sign, and twice that between two columns

// column is how far the columns are apart.
func (k *Key) column() float64 { return (k.width + 2*signGap) / float64(k.columns) }

func (k *Key) add(wanted bool, words string, draw func(Box)) {
	if wanted {
		k.entries = append(k.entries, entry{k.font.Wrap(words, k.column()-k.sign-3*signGap), draw})
	}
}

// row is the height of a row, the entries in it from i on.
func (k *Key) row(i int) float64 {
	h := k.least
	for _, e := range k.entries[i:min(i+k.columns, len(k.entries))] {
		h = max(h, k.font.Height(e.lines)+k.least-k.font.Line()-0.4)
	}
	return h
}

// Height is of the whole key.
func (k *Key) Height() float64 {
	h := 0.0
	for i := 0; i < len(k.entries); i += k.columns {
		h += k.row(i)
	}
	return h
}

// Draw draws the key with its top left corner at p.
func (k *Key) Draw(p Point) {
	h := 0.0
	for i, e := range k.entries {
		n := i % k.columns
		if n == 0 {
			p.Y, h = p.Y+h, k.row(i)
		}
		x := p.X + float64(n)*k.column()
		e.draw(Box{x, p.Y, k.sign, h})
		x += k.sign + signGap
		high := k.font.Height(e.lines)
		k.scene.Lines(e.lines, k.font, Box{x, p.Y + (h-high)/2, k.column() - k.sign - 3*signGap, high}, Black)
	}
}

// explain puts the opening triangles into the key that every drawing has: each
// on a small sash with its hinges on the left.
func (w *window) explain(k *Key) {
	k.scene = w.Scene
	for _, inward := range []bool{false, true} {
		key := "card.legend.outward"
		if inward {
			key = "card.legend.inward"
		}
		used := w.any(func(h calc.Hinge) bool { return h != calc.FixedLight && w.voice.inwards(h) == inward })
		k.add(used, w.voice.Key(key), func(b Box) {
			sash := b.Middle(min(8, b.W), min(4.2, b.H-0.6))
			w.Frame(sash, 0.2, Black)
			w.triangle(sash, calc.Left, inward)
			w.knuckles(sash, calc.Left)
		})
	}
}

// Key explains the signs of the drawing.
func (d *Fitting) Key() *Key {
	k := &Key{scene: d.Scene, font: Font{typeface.Regular, smallest + 0.1}, columns: 2, width: d.place.W, sign: 8.4, least: 4.8}
	form := tagForm{size: 3}
	for _, bracket := range []bool{false, true} {
		key := "card.legend.screw"
		if bracket {
			key = "card.legend.bracket"
		}
		k.add(d.anyTag(func(t *tag) bool { return t.screw && t.bracket == bracket }), d.voice.Key(key), func(b Box) {
			d.drawNumber(&tag{number: "150", screw: true, bracket: bracket}, form, b)
		})
	}
	k.add(d.anyTag(func(t *tag) bool { return t.bar }), d.voice.Key("card.legend.bar"), func(b Box) {
		d.drawNumber(&tag{side: calc.Head, number: "150", bar: true}, form, b)
	})
	k.add(d.anyTag(func(t *tag) bool { return t.packer && !t.bed && !t.trouble }), d.voice.Key("card.legend.packer"), func(b Box) {
		d.drawStack(&tag{stack: "4+1"}, form, b.Middle(7.6, 3.6))
	})
	k.add(d.anyTag(func(t *tag) bool { return t.bed }), d.voice.Key("card.legend.bed"), func(b Box) {
		d.drawStack(&tag{stack: "5", bed: true}, form, b.Middle(4.4, 4.4))
	})
	k.add(d.anyTag(func(t *tag) bool { return t.trouble }), d.voice.Key("card.legend.trouble"), func(b Box) {
		d.drawStack(&tag{stack: "!", trouble: true}, form, b.Middle(3.6, 3.6))
	})
	d.explain(k)
	for _, role := range []calc.Role{calc.Heel, calc.Toe, calc.Setting, calc.Location} {
		k.add(d.has(role), d.voice.Key("card.legend."+string(role)), func(b Box) {
			b = b.Middle(8, badgeFont.Line())
			d.drawBlock(role, Box{b.X, b.Y + (b.H-blockThick)/2, 4.4, blockThick})
			d.inside(d.letter(role), badgeFont, Box{b.X + 4.8, b.Y, b.W - 4.8, b.H}, Black)
		})
	}
	k.add(d.hidden(), d.voice.Key("card.legend.measured"), func(b Box) {
		y := b.Y + b.H/2
		d.Dashes(Point{b.X, y}, Point{b.Right(), y}, 0.3)
	})
	k.add(d.plan.Opening.SillDepth.IsPositive(), d.voice.Key("card.legend.sill_piece"), func(b Box) {
		b = b.Middle(7.6, 2.2)
		d.Fill(b, Pale)
		d.Frame(b, 0.4, Black)
	})
	return k
}

// anyTag tells whether any side has such a tag.
func (d *Fitting) anyTag(is func(*tag) bool) bool {
	return slices.ContainsFunc(sides[:], func(side calc.Side) bool { return slices.ContainsFunc(d.sides[side].tags, is) })
}

func (d *Fitting) has(r calc.Role) bool {
	return slices.ContainsFunc(d.glass, func(g calc.GlassPlan) bool {
		return slices.ContainsFunc(g.Blocks, func(b calc.Block) bool { return b.Role == r })
	})
}
