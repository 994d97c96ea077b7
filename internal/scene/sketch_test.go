package scene

import (
	"bytes"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// sketchOf is the sketch of a reading.
func sketchOf(t *testing.T, reading opening.Key, under bool) *sketch {
	t.Helper()
	s, err := sketched(reading, under, NewVoice(english))
	require.NoError(t, err)
	return s
}

// boxOf is the box around the shapes of a part.
func (s *Scene) boxOf(t *testing.T, part string) Box {
	t.Helper()
	shapes := s.of(part)
	require.NotEmpty(t, shapes, part)
	var corners []Point
	for _, m := range shapes {
		corners = append(corners, Point{m.X, m.Y}, Point{m.Right(), m.Bottom()})
	}
	return around(corners)
}

// ends are the tips of the tape's two arrows.
func ends(t *testing.T, s *sketch, reading opening.Key) (a, b Point) {
	t.Helper()
	var tips []Point
	for _, m := range s.of("tape " + reading) {
		if m.Kind == Polygon {
			tips = append(tips, m.Corners[0])
		}
	}
	require.Len(t, tips, 2, reading)
	return tips[0], tips[1]
}

func same(t *testing.T, want, got Point, what string) {
	t.Helper()
	require.InDelta(t, want.X, got.X, 1e-9, what)
	require.InDelta(t, want.Y, got.Y, 1e-9, what)
}

// How thick the tape of each reading is, and so which stands out.
func tapes(s *sketch) map[opening.Key]float64 {
	thick := map[opening.Key]float64{}
	for f := range opening.Fields {
		for _, m := range s.of("tape " + f.Key) {
			if m.Kind == Stroke {
				thick[f.Key] = max(thick[f.Key], m.Thick)
			}
		}
	}
	return thick
}

func TestEverySketchIsSmallAndSaysWhatItShows(t *testing.T) {
	drawn := 0
	for f := range opening.Fields {
		if !f.Is(opening.Sketched) {
			continue
		}
		drawn++
		for _, under := range []bool{false, true} {
			raw, err := Sketch(f.Key, under, english)
			require.NoError(t, err)
			require.Less(t, len(raw), 16<<10, f.Key)
			img, err := png.DecodeConfig(bytes.NewReader(raw))
			require.NoError(t, err)
			require.Equal(t, []int{480, 360}, []int{img.Width, img.Height})

			s := sketchOf(t, f.Key, under)
			words := ""
			for _, m := range s.Shapes {
				if m.Kind == Lettered {
					words += m.Words + " "
					require.True(t, m.Box.In(Box{0, 0, sketchWide, sketchHigh}), "%s: %q leaves the paper", f.Key, m.Words)
				}
			}
			require.Contains(t, words, english(NameOf(f)))
			require.Regexp(t, "Seen from outside|Cut through", words)
		}
	}
	require.Equal(t, 26, drawn, "three widths, three heights, two diagonals, the sill's fall, two inside, three mullions, a transom, floor, ground, nine settings")
}

func TestWhatIsNotTapedHasNoSketch(t *testing.T) {
	for _, key := range []opening.Key{"nation", "sill", "restrictor", "light.1", "mullion.9", ""} {
		_, err := Sketch(key, false, english)
		require.Error(t, err, key)
	}
}

// The asked reading's tape is the only bold one; its group's others are there,
// thin.
func TestOnlyTheAskedReadingIsBold(t *testing.T) {
	groups := map[opening.Key][]opening.Key{
		"diagonal.rising": {"diagonal.falling"}, "diagonal.falling": {"diagonal.rising"},
		"mullion.2": {"mullion.1"}, "mullion.3": {"mullion.1", "mullion.2"},
	}
	for i := range 3 {
		groups[opening.Widths[i]] = []opening.Key{opening.Widths[(i+1)%3], opening.Widths[(i+2)%3]}
		groups[opening.Heights[i]] = []opening.Key{opening.Heights[(i+1)%3], opening.Heights[(i+2)%3]}
	}
	for f := range opening.Fields {
		if !f.Is(opening.Sketched) {
			continue
		}
		want := map[opening.Key]float64{f.Key: boldTape}
		for _, other := range groups[f.Key] {
			want[other] = thinTape
		}
		require.Equal(t, want, tapes(sketchOf(t, f.Key, false)), f.Key)
	}
}

// Wall to wall, and sill to head: what the questions ask for.
func TestTheTapeOfAnOpeningGoesFromEdgeToEdge(t *testing.T) {
	for i, part := range [3]struct{ least, most float64 }{{0, 0.25}, {0.4, 0.6}, {0.75, 1}} {
		s := sketchOf(t, opening.Widths[i], false)
		hole := s.boxOf(t, "opening")
		a, b := ends(t, s, opening.Widths[i])
		same(t, Point{hole.X, a.Y}, a, "the left wall")
		same(t, Point{hole.Right(), a.Y}, b, "the right wall, level")
		require.Greater(t, (a.Y-hole.Y)/hole.H, part.least, "counted from the top")
		require.Less(t, (a.Y-hole.Y)/hole.H, part.most)

		s = sketchOf(t, opening.Heights[i], false)
		a, b = ends(t, s, opening.Heights[i])
		same(t, Point{a.X, hole.Bottom()}, a, "the sill")
		same(t, Point{a.X, hole.Y}, b, "the head, upright")
		require.Greater(t, (a.X-hole.X)/hole.W, part.least, "counted from the left, seen from outside")
		require.Less(t, (a.X-hole.X)/hole.W, part.most)
	}
	s := sketchOf(t, "diagonal.rising", false)
	hole := s.boxOf(t, "opening")
	a, b := ends(t, s, "diagonal.rising")
	same(t, Point{hole.X, hole.Bottom()}, a, "bottom left")
	same(t, Point{hole.Right(), hole.Y}, b, "top right")
	a, b = ends(t, s, "diagonal.falling")
	same(t, Point{hole.X, hole.Y}, a, "top left")
	same(t, Point{hole.Right(), hole.Bottom()}, b, "bottom right")
}

// Where the old sill goes, the height begins at its underside: a sketch that
// shows it from the top of the sill costs the sill's thickness.
func TestAHeightBeginsUnderASillThatGoes(t *testing.T) {
	stays, goes := sketchOf(t, "height.middle", false), sketchOf(t, "height.middle", true)
	on, _ := ends(t, stays, "height.middle")
	under, _ := ends(t, goes, "height.middle")
	require.InDelta(t, stays.boxOf(t, "sill").Y, on.Y, 1e-9)
	require.NotContains(t, stays.texts(), "old sill, if it goes too")
	require.Contains(t, goes.texts(), "old sill, if it goes too")
	broken := 0
	for _, m := range goes.of("sill") {
		if m.Dashed {
			broken++
			require.LessOrEqual(t, m.Bottom(), under.Y+1e-9, "the tape passes the old sill")
		}
	}
	require.Equal(t, 4, broken)
	require.NotContains(t, sketchOf(t, "width.top", true).texts(), "old sill, if it goes too", "of heights alone")
}

// The level stands on the high left end of the sill; the tape measures what is
// under it at the right.
func TestTheFallIsMeasuredUnderTheRightEndOfTheLevel(t *testing.T) {
	s := sketchOf(t, "sill.fall", false)
	hole, level := s.boxOf(t, "opening"), s.boxOf(t, "level")
	a, b := ends(t, s, "sill.fall")
	require.InDelta(t, level.Bottom(), a.Y, 1e-9)
	require.Greater(t, a.X, hole.X+hole.W*0.75)
	require.InDelta(t, a.X, b.X, 1e-9)
	corners := s.of("opening")[0].Corners
	right, left := corners[2], corners[3]
	require.Greater(t, right.Y, left.Y, "the right end is lower")
	require.InDelta(t, left.Y, level.Bottom(), 1e-9)
	require.InDelta(t, (right.Y-left.Y)/(right.X-left.X), (b.Y-left.Y)/(b.X-left.X), 1e-9, "down to the sill")
}

// masonry are the pieces of the wall that are cut through.
func masonry(s *sketch) (out []Box) {
	for _, m := range s.of("wall") {
		if m.Kind == Hatched {
			out = append(out, m.Box)
		}
	}
	return out
}

func TestInsideIsMeasuredBehindTheOverlap(t *testing.T) {
	s := sketchOf(t, "inner.width", false)
	wall := masonry(s)
	require.Len(t, wall, 4, "the inner leaf left and right, the outer leaf left and right")
	a, b := ends(t, s, "inner.width")
	same(t, Point{wall[0].Right(), a.Y}, a, "the inner leaf at the left")
	same(t, Point{wall[1].X, a.Y}, b, "the inner leaf at the right")
	require.Less(t, a.X, wall[2].Right(), "the outer leaf stands in front")
	require.Greater(t, b.X, wall[3].X)
	require.Less(t, a.Y, s.boxOf(t, "frame").Y, "from the room, which is above in the sketch")

	s = sketchOf(t, "inner.height", false)
	wall = masonry(s)
	require.Len(t, wall, 3, "the lintel inside, the outer leaf, the sill")
	a, b = ends(t, s, "inner.height")
	same(t, Point{a.X, wall[2].Y}, a, "the sill")
	same(t, Point{a.X, wall[0].Bottom()}, b, "the lintel")
	require.Less(t, b.Y, wall[1].Bottom(), "the outer leaf hangs lower")
	require.Greater(t, a.X, s.boxOf(t, "frame").Right(), "from the room, which is at the right")
}

func TestGlassIsMeasuredFromWhereOneStands(t *testing.T) {
	for key, side := range map[opening.Key]int{"floor": 1, "outside": -1} {
		s := sketchOf(t, key, false)
		wall, glass := masonry(s), s.boxOf(t, "glass")
		stand := map[opening.Key]Box{"floor": wall[1], "outside": wall[2]}[key]
		a, b := ends(t, s, key)
		require.InDelta(t, stand.Y, a.Y, 1e-9, key)
		require.InDelta(t, glass.Bottom(), b.Y, 1e-9, "the lowest edge of the glass")
		require.InDelta(t, a.X, b.X, 1e-9)
		require.Greater(t, a.X, stand.X)
		require.Less(t, a.X, stand.Right())
		require.Positive(t, (a.X-(wall[0].X+wall[0].W/2))*float64(side), "inside is at the right")
	}
}

// From the frame's left edge, or its bottom, to the middle of the bar.
func TestABarIsMeasuredFromTheFramesEdge(t *testing.T) {
	for n, key := range []opening.Key{"mullion.1", "mullion.2", "mullion.3"} {
		s := sketchOf(t, key, false)
		require.Len(t, s.panes, n+2)
		a, b := ends(t, s, key)
		same(t, Point{s.frame.X, a.Y}, a, "the frame's left edge")
		require.InDelta(t, (s.panes[n].Right()+s.panes[n+1].X)/2, b.X, 1e-9, "the middle of the bar")
		require.InDelta(t, a.Y, b.Y, 1e-9)
	}
	s := sketchOf(t, "transom", false)
	require.Len(t, s.panes, 2)
	a, b := ends(t, s, "transom")
	same(t, Point{a.X, s.frame.Bottom()}, a, "the bottom of the frame")
	same(t, Point{a.X, (s.panes[1].Bottom() + s.panes[0].Y) / 2}, b, "the middle of the transom")
}

// Each setting is drawn from one edge of the section to the other.
func TestASettingIsDrawnInTheSection(t *testing.T) {
	s := sketchOf(t, "crew.outer", false)
	wall, bed, sill, screw := masonry(s), s.boxOf(t, "bed"), s.boxOf(t, "sill"), s.boxOf(t, "screw")
	var pieces []Box // the upstand, and the part under it that the screw crosses
	for _, m := range s.of("frame") {
		if m.Kind == Filled {
			pieces = append(pieces, m.Box)
		}
	}
	require.Len(t, wall, 2)
	require.Len(t, pieces, 2)
	upstand, base := pieces[0], pieces[1]
	require.Greater(t, wall[0].X, sill.X, "the sill piece stands out")
	require.Less(t, sill.Bottom(), bed.Y, "packed in between")
	require.Greater(t, screw.Y+screw.H, wall[0].Y)
	for key, want := range map[opening.Key][2]float64{
		"crew.outer": {base.Bottom(), upstand.Y}, "crew.upstand": {base.Y, upstand.Y}, "crew.sillpiece": {sill.Bottom(), sill.Y},
		"crew.bed": {bed.Bottom(), bed.Y}, "crew.embedment": {cutTip, wall[0].Y},
	} {
		a, b := ends(t, sketchOf(t, key, false), key)
		require.InDeltaSlice(t, want[:], []float64{a.Y, b.Y}, 1e-9, key)
		require.InDelta(t, a.X, b.X, 1e-9)
	}
	for key, want := range map[opening.Key][2]float64{
		"crew.depth": {base.X, base.Right()}, "crew.setback": {wall[0].X, base.X}, "crew.leaf": {wall[0].X, wall[0].Right()},
		"crew.cavity": {wall[0].Right(), wall[1].X},
	} {
		a, b := ends(t, sketchOf(t, key, false), key)
		require.InDeltaSlice(t, want[:], []float64{a.X, b.X}, 1e-9, key)
		require.InDelta(t, a.Y, b.Y, 1e-9)
	}
}
