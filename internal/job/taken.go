package job

// TakenOn is a point with who took it on; By is nil for nobody.
type TakenOn struct {
	Point
	By *Stamp `json:"by,omitempty"`
}

// Open are the points that nobody took on.
func Open(standing []TakenOn) []Point {
	var open []Point
	for _, t := range standing {
		if t.By == nil {
			open = append(open, t.Point)
		}
	}
	return open
}

// accepted is what one entry took on.
type accepted struct {
	seq    int
	by     Stamp
	points []Point
}
