package dialog

import (
	"sync"

	"sillbot/locales"
)

// words is the catalogue, for what people type. What is said to them is made
// at the edge.
var words = sync.OnceValue(func() *locales.Catalogue {
	c, err := locales.Load()
	if err != nil {
		panic(err) // the files are part of the program; a test loads them
	}
	return c
})
