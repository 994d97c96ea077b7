//go:build !race

package dialog

// raced says that the race detector watches, which makes a run ten times as long.
const raced = false
