package plan

import "sillbot/internal/calc"

// frameMark is how far the frame's size may be trusted.
func (p *Plan) frameMark() calc.Mark {
	return calc.Weakest(p.Order.Mark(calc.Width), p.Order.Mark(calc.Height))
}

// gapMark is how far the gaps round the frame may be trusted: they are from the
// frame to the figure that the readings make.
func (p *Plan) gapMark() calc.Mark {
	return calc.Weakest(p.frameMark(), p.Order.Figure.Mark())
}
