package dialog

import "sillbot/internal/opening"

// question is a field of the table as the conversation asks it.
type question opening.Field

// find is the question of that key; nil for none.
func find(key string) *question { return (*question)(opening.Find(key)) }

func (q *question) is(m opening.Mark) bool { return (*opening.Field)(q).Is(m) }

func (q *question) skips() bool { return q.is(opening.Skips) }

// isReading are the answers that make the figure of the opening.
func isReading(key string) bool {
	q := find(key)
	return q != nil && q.is(opening.Reading)
}

// ofHouse says whether the question is of the house and is never asked by itself.
func (q *question) ofHouse() bool {
	return q != nil && q.Scope == opening.House && q.is(opening.OnRequest)
}
