package opening

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// photographed is a record with an album of two and a picture sent as a file.
func photographed() Record {
	r := Record{}.Put(Stamp{By: 7, Role: Fitter, At: 100, Turn: 1}, Entry{Act: Set, Key: "width.top", Value: "1204"})
	r = r.Put(Stamp{By: 7, Role: Fitter, At: 160, Turn: 2}, Photo{Part: "survey", File: "AgAC_1-x", Caption: `crack | at "the" head; 1204`}.Entry())
	r = r.Put(Stamp{By: 7, Role: Fitter, At: 161, Turn: 2}, Photo{Part: "survey", File: "AgAC_2"}.Entry())
	return r.Put(Stamp{By: 8, Role: Fitter, At: 220, Turn: 2}, Photo{Part: "frame", File: "BQ3", Document: true}.Entry())
}

func numbersOf(photos []Photo) []int {
	var list []int
	for _, p := range photos {
		list = append(list, p.Number)
	}
	return list
}

func TestPhotosOfARecord(t *testing.T) {
	r := photographed()
	text, err := r.MarshalText()
	require.NoError(t, err)
	var again Record
	require.NoError(t, again.UnmarshalText(text))
	require.Equal(t, r, again, "%s", text)
	photos := again.Photos()
	require.Equal(t, []int{1, 2, 3}, numbersOf(photos))
	require.Equal(t, `crack | at "the" head; 1204`, photos[0].Caption)
	require.Equal(t, "survey", photos[0].Part)
	require.Equal(t, time.Unix(160, 0).UTC(), photos[0].Day)
	require.Equal(t, "AgAC_1-x", photos[0].File)
	require.False(t, photos[0].Document)
	require.True(t, photos[2].Document)
	require.Equal(t, "BQ3", photos[2].File)
	require.Equal(t, []int{1, 2}, r.Together(2), "one album of one person")
	require.Equal(t, []int{3}, r.Together(3))
	require.Empty(t, r.Together(9))
	known := r.Known()
	require.Equal(t, "1204", known.Value("width.top"))

	require.Equal(t, 2, r.LastPhotos(7))
	require.Equal(t, 1, r.LastPhotos(8))
	require.Zero(t, r.LastPhotos(9))
	mixed := r.Put(Stamp{By: 7, Role: Fitter, At: 170, Turn: 5}, Photo{File: "x"}.Entry(), Entry{Act: Set, Key: "frame.width", Value: "1192"})
	require.Zero(t, mixed.LastPhotos(7), "its caption was read")

	without, keys, err := r.Undo(Stamp{By: 7, Role: Fitter, At: 300, Turn: 3})
	require.NoError(t, err)
	require.Empty(t, keys)
	require.Equal(t, []int{3}, numbersOf(without.Photos()), "an album is one act")
	more := without.Put(Stamp{By: 7, Role: Fitter, At: 400, Turn: 4}, Photo{File: "new"}.Entry())
	require.Equal(t, []int{3, 4}, numbersOf(more.Photos()), "a number is not used again")
}

// What is deleted or forgotten is in the record no more, and the numbers of the others
// stay.
func TestPhotosAreTakenOut(t *testing.T) {
	r := photographed()
	dropped := r.DropPhotos(1, 9)
	require.Equal(t, []int{2, 3}, numbersOf(dropped.Photos()))
	require.Equal(t, []int{1, 2, 3}, numbersOf(r.Photos()), "the caller's stays as it was")
	text, err := dropped.MarshalText()
	require.NoError(t, err)
	require.NotContains(t, string(text), "AgAC_1")
	require.NotContains(t, string(text), "crack")
	var again Record
	require.NoError(t, again.UnmarshalText(text))
	require.Equal(t, dropped, again)

	forgotten := r.Forget(7)
	require.Equal(t, []int{3}, numbersOf(forgotten.Photos()))
	text, err = forgotten.MarshalText()
	require.NoError(t, err)
	require.NotContains(t, string(text), "AgAC")
	require.NotContains(t, string(text), "crack")
}

// Whatever the words and the order, a stored record reads as what it was.
func TestAnyPhotoIsStoredAndRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Record{}
		for range rapid.IntRange(1, 6).Draw(t, "photos") {
			s := Stamp{By: rapid.Int64Range(1, 3).Draw(t, "by"), Role: Fitter, At: rapid.Int64Range(1, 1e9).Draw(t, "at"), Turn: rapid.IntRange(1, 5).Draw(t, "turn")}
			r = r.Put(s, Photo{
				Part: rapid.SampledFrom([]string{"", "survey", "frame"}).Draw(t, "part"), Caption: rapid.String().Draw(t, "caption"),
				File: rapid.StringMatching(`[A-Za-z0-9_-]{1,20}`).Draw(t, "file"), Document: rapid.Bool().Draw(t, "document"),
			}.Entry())
		}
		text, err := r.MarshalText()
		require.NoError(t, err)
		var again Record
		require.NoError(t, again.UnmarshalText(text))
		require.Equal(t, r.Photos(), again.Photos(), "%s", text)
	})
}

func TestANoteIsKeptAsWhatItIs(t *testing.T) {
	for _, as := range Notes {
		want := Photo{Number: 1, Part: "frame", File: "AwAC_1-x", As: as, Caption: "left jamb", Day: time.Unix(100, 0).UTC()}
		text, err := Record{}.Put(Stamp{By: 7, Role: Fitter, At: 100, Turn: 1}, want.Entry()).MarshalText()
		require.NoError(t, err)
		var r Record
		require.NoError(t, r.UnmarshalText(text))
		got := r.Photos()
		require.Len(t, got, 1)
		got[0].act = act{}
		require.Equal(t, want, got[0])
	}
}
