package opening

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// What a person wrote goes with the person; the number of a certificate stays.
func TestACertificatesNumberIsNobodysWords(t *testing.T) {
	words := Entry{Act: Set, Key: "last.snag", Value: "scratched bead"}
	require.True(t, words.inOwnWords())
	number := Entry{Act: Set, Key: "certificate.number", Value: "AB 12"}
	require.False(t, number.inOwnWords())
}

// A reading that was copied stays that of the window where it was taken, however often it
// is copied; anything else is of the window that it was copied from.
func TestACopyOfACopyKnowsItsTape(t *testing.T) {
	var from Record
	from = from.Put(Stamp{By: 1, Turn: 1}, Entry{Act: Set, Key: "width.top", Value: "1204", How: Copied, Of: 1}, Entry{Act: Set, Key: "finish", Value: "bare", How: Copied, Of: 1})
	known := Record{}.Copy(from, Stamp{By: 1, Turn: 2}, 2).Known()
	require.Equal(t, 1, known.Entry("width.top").Of)
	require.Equal(t, 2, known.Entry("finish").Of)
}
