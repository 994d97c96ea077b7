package job

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

func photo(n int) opening.Photo { return opening.Photo{Part: "survey", File: fmt.Sprint("file", n)} }

func TestAWindowKeepsItsPhotos(t *testing.T) {
	j := begun(t, 2)
	version := j.Openings[0].Version
	for n := range opening.MostPhotos {
		var err error
		p := photo(n)
		p.Caption = " crack\nat the head "
		j, err = j.KeepPhotos(fitter, noon.Add(time.Duration(n)*time.Minute), 1, p)
		require.NoError(t, err)
	}
	_, err := j.KeepPhotos(fitter, noon, 1, photo(99))
	require.Equal(t, "photos_full", reasonOf(t, err))
	o, _ := j.Find(1)
	require.Equal(t, version, o.Version, "no signature hangs on a photo")
	require.Equal(t, "crack at the head", o.Photos()[0].Caption)
	require.Equal(t, noon.Add(time.Minute).Unix(), o.Photos()[1].Day.Unix())
	require.Len(t, o.Photos(), opening.MostPhotos)
	other, _ := j.Find(2)
	require.Empty(t, other.Photos())

	stored, err := j.Encode()
	require.NoError(t, err)
	again, err := stored.Decode()
	require.NoError(t, err)
	o, _ = again.Find(1)
	require.Len(t, o.Photos(), opening.MostPhotos)

	j, gone, err := again.DropPhotos(fitter, noon, 1, 3, 5, 77)
	require.NoError(t, err)
	require.Equal(t, []int{3, 5}, gone)
	_, _, err = j.DropPhotos(fitter, noon, 1, 3)
	require.Equal(t, "photo_none", reasonOf(t, err))
	j, err = j.KeepPhotos(fitter, noon, 1, photo(100))
	require.NoError(t, err)
	o, _ = j.Find(1)
	require.Equal(t, 21, o.Photos()[18].Number, "a number is not used again")
	require.Equal(t, strings.Repeat("é", 499)+"…", Caption(strings.Repeat("é", 501)))
}

// Forgetting somebody takes their photos out of the job, and out of what was deleted.
func TestForgettingTakesPhotosOut(t *testing.T) {
	j := begun(t, 2)
	for id := 1; id <= 2; id++ {
		var err error
		p := photo(id)
		p.Caption = "me on the ladder"
		j, err = j.KeepPhotos(fitter, noon, id, p)
		require.NoError(t, err)
	}
	j = must(t)(j.Delete(fitter, noon, 2))
	stored, err := j.Forget(fitter.Person).Encode()
	require.NoError(t, err)
	for _, part := range stored.Parts {
		require.NotContains(t, string(part), "file")
		require.NotContains(t, string(part), "ladder")
	}
}

// Photos go to lead and desk only when they are shared, and to a lead who is to measure
// without the first figures not before that.
func TestWhoSeesPhotos(t *testing.T) {
	j := checking(t)
	var err error
	p := photo(1)
	p.Caption = "tape at 1204"
	j, err = j.KeepPhotos(fitter, noon, 1, p)
	require.NoError(t, err)
	stranger := Who{Chat: 99, Person: 99, Role: Lead}
	for _, who := range []Who{lead, desk} {
		require.Equal(t, "photos_hidden", reasonOf(t, j.MaySeePhotos(who)))
	}
	require.NoError(t, j.MaySeePhotos(fitter))
	j, e := told(t, PhotosShared)(j.SetSharePhotos(fitter, noon, true))
	require.ElementsMatch(t, []int64{fitter.Chat, lead.Chat, desk.Chat}, chatsOf(e))
	same, events, err := j.SetSharePhotos(fitter, noon, true)
	require.NoError(t, err)
	require.Empty(t, events)
	require.True(t, same.SharePhotos)
	for _, who := range []Who{lead, desk} {
		require.NoError(t, j.MaySeePhotos(who))
	}
	require.Equal(t, "not_yours", reasonOf(t, j.MaySeePhotos(stranger)))

	o, _ := j.Find(1)
	require.False(t, j.ShowsPhotos(lead, o))
	require.True(t, j.ShowsPhotos(desk, o))
	require.Empty(t, o.PhotosFor(Desk)[0].Caption, "no reading of the survey")
	require.Equal(t, "tape at 1204", o.PhotosFor(Lead)[0].Caption)
	looked := must(t)(j.Look(lead, noon, 1))
	o, _ = looked.Find(1)
	require.True(t, looked.ShowsPhotos(lead, o))
	j, _ = told(t, PhotosHidden)(j.SetSharePhotos(fitter, noon, false))
	require.Equal(t, "photos_hidden", reasonOf(t, j.MaySeePhotos(desk)))
}

// What was read off the frame that came is no reading of the survey.
func TestTheDeskReadsCaptionsOfTheDay(t *testing.T) {
	r := opening.Record{}
	for _, part := range []string{"survey", "confirmed", "delivered", "frame"} {
		r = r.Put(opening.Stamp{Role: opening.Fitter, At: 1}, opening.Photo{Part: part, File: "f", Caption: "10 mm too wide"}.Entry())
	}
	var captions []string
	for _, p := range (Opening{Said: r}).PhotosFor(Desk) {
		captions = append(captions, p.Caption)
	}
	require.Equal(t, []string{"", "", "10 mm too wide", "10 mm too wide"}, captions)
}
