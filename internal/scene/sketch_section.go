package scene

// Where the parts of the section of a sill stand. Outside is at the left.
const (
	cutFace, cutBack = 8.0, 25.0  // of the wall outside, of the frame inside
	cutFront         = 14.0       // of the frame
	cutInner         = 10.8       // the frame's inner edge, above
	cutFoot          = 14.2       // of the rebate's upstand, where the screw starts
	cutFrame         = 18.0       // under the frame
	cutSill, cutGap  = 21.2, 22.6 // under the sill piece, under what is packed
	cutWall, cutTip  = 24.4, 29.4 // under the bed, at the screw's tip
	cutLeaf, cutRoom = 22.0, 26.4 // the outer leaf's back, the inner leaf's front
)

// section draws the sill of a window in its wall, cut upright, and the tape
// across what one setting of the crew is.
func (s *sketch) section() {
	s.cut(Box{cutFace, cutWall, cutLeaf - cutFace, 9}, Box{cutRoom, cutWall, 9, 9})
	s.part = "bed"
	s.Fill(Box{cutFace, cutGap, cutLeaf - cutFace, cutWall - cutGap}, Grey)
	s.part = "packer"
	s.Frame(Box{cutLeaf - 4, cutSill, 3, cutGap - cutSill}, 0.3, Black)
	piece := func(part string, b Box) {
		s.part = part
		s.Fill(b, Pale)
		s.Frame(b, 0.4, Black)
	}
	piece("sill", Box{cutFace - 4, cutFrame, cutBack - cutFace + 4, cutSill - cutFrame})
	piece("frame", Box{cutFront, cutInner, 3, cutFrame - cutInner})
	piece("frame", Box{cutFront, cutFoot, cutBack - cutFront, cutFrame - cutFoot})
	s.part = "glass"
	s.Frame(Box{cutFront + 3.4, 8.4, 1, cutFoot - 9}, 0.3, Black)
	s.part = "screw"
	s.Line(Point{19.5, cutFoot - 0.6}, Point{19.5, cutTip}, 0.9)
	s.part = "edge"
	from, to := s.acrossSection()
	if from.Y == to.Y {
		for _, x := range []float64{from.X, to.X} {
			s.Dashes(Point{x, from.Y - 1.4}, Point{x, min(cutWall, from.Y+8)}, 0.2)
		}
	} else {
		for _, y := range []float64{from.Y, to.Y} {
			s.Dashes(Point{cutFront + 3, y}, Point{from.X + 1.4, y}, 0.2)
		}
	}
	s.tape(s.reading, from, to)
	s.called("sketch.outside", Box{0.4, 8.4, 12.4, 2.8})
	s.called("sketch.inside", Box{33, 9, 14, 5})
}

// acrossSection is from where to where a setting goes.
func (s *sketch) acrossSection() (from, to Point) {
	level := func(y, a, b float64) (Point, Point) { return Point{a, y}, Point{b, y} }
	upright := func(x, a, b float64) (Point, Point) { return Point{x, a}, Point{x, b} }
	switch s.reading {
	case "crew.outer":
		return upright(cutBack+2, cutFrame, cutInner)
	case "crew.upstand":
		return upright(cutFront+8, cutFoot, cutInner)
	case "crew.depth":
		return level(9.6, cutFront, cutBack)
	case "crew.setback":
		return level(12.6, cutFace, cutFront)
	case "crew.sillpiece":
		return upright(cutBack+2, cutSill, cutFrame)
	case "crew.bed":
		return upright(cutBack+2, cutWall, cutGap)
	case "crew.leaf":
		return level(27, cutFace, cutLeaf)
	case "crew.cavity":
		return level(27, cutLeaf, cutRoom)
	}
	return upright(16.5, cutTip, cutWall) // the screw in the masonry
}
