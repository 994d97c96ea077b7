package telegram

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/telegram/telegramtest"
)

// withShots has photos of those file ids; one that begins with doc came as a file.
func withShots(ids ...string) func(*dialog.Reply) {
	return func(r *dialog.Reply) {
		for _, id := range ids {
			label := text("label " + id)
			r.Shots = append(r.Shots, dialog.Shot{File: id, Document: strings.HasPrefix(id, "doc"), Label: &label})
		}
	}
}

// sentShots are file ids that people sent before.
func sentShots(server *telegramtest.Server, n int) (ids []string) {
	for i := range n {
		id := fmt.Sprint("p", i+1)
		server.SendPhoto(7, id, "", "")
		ids = append(ids, id)
	}
	return ids
}

func TestPhotosGoAgainByTheirFileIDs(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	ids := sentShots(server, 12)
	server.SendPicture(7, "doc1", "")
	m := reply("list", withShots(append(ids, "doc1")...), withButton("yes", "1"))
	m.Reply.Protected = true
	require.NoError(t, failed(s.Send(within(t), m)))
	sent := server.Sent(7)
	require.Len(t, sent, 14, "the list, ten photos, two photos, and a file")
	require.Equal(t, "en list", sent[0].Text)
	require.Len(t, sent[0].Buttons, 1)
	for i, got := range sent[1:] {
		require.Equal(t, append(ids, "doc1")[i], got.FileID)
		require.Equal(t, "en label "+got.FileID, got.Text)
		require.True(t, got.Protect)
	}
	require.Equal(t, sent[1].Album, sent[10].Album)
	require.NotEqual(t, sent[10].Album, sent[11].Album, "ten go together at the most")
	require.Zero(t, sent[13].Album)
	require.Equal(t, "sendDocument", sent[13].Method)

	require.NoError(t, failed(s.Send(within(t), reply("one", withShots("p3")))))
	last := server.Sent(7)[15]
	require.Equal(t, "sendPhoto", last.Method)
	require.False(t, last.Protect)
}

// What failed for a while is tried again from where it stopped.
func TestPhotosAreTriedAgain(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	m := reply("list", withShots(sentShots(server, 12)...))
	server.Fail("sendMediaGroup", telegramtest.Fault{}, telegramtest.Failing, telegramtest.TooMany(3))
	var again *engine.RetryError
	require.ErrorAs(t, failed(s.Send(within(t), m)), &again)
	require.ErrorAs(t, failed(s.Send(within(t), m)), &again)
	require.NoError(t, failed(s.Send(within(t), m)))
	require.Len(t, server.Sent(7), 13, "none of them twice")
}

// A photo that the platform no longer has does not take the others with it.
func TestALostPhotoIsNamed(t *testing.T) {
	server, s := stage(t, words{"photo.lost": "lost: {{.labels}}"}, paintCard)
	ids := sentShots(server, 3)
	server.Lose("p2")
	require.NoError(t, failed(s.Send(within(t), reply("list", withShots(ids...)))))
	require.Equal(t, []string{`p1 "en label p1"`, `p3 "en label p3"`}, server.Shots(7))
	sent := server.Sent(7)
	require.Contains(t, sent[len(sent)-1].Text, "lost")

	require.NoError(t, failed(s.Send(within(t), reply("list", withShots("p2")))), "alone it is named too")
	server.Fail("sendMediaGroup", telegramtest.BlockedByMe)
	var gone *engine.DropError
	require.ErrorAs(t, failed(s.Send(within(t), reply("list", withShots(ids...)))), &gone)
	require.True(t, gone.Gone)
}

// TestNotesAreSentAgain as what they are: videos among the photos, recordings together,
// voice notes and round videos each by itself, the round ones with nothing under them.
func TestNotesAreSentAgain(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	for _, n := range [][2]string{{"photo", "p1"}, {"video", "m1"}, {"voice", "v1"}, {"voice", "v2"}, {"video_note", "r1"}, {"audio", "a1"}, {"audio", "a2"}} {
		if n[0] == "photo" {
			server.SendPhoto(7, n[1], "", "")
			continue
		}
		server.SendNote(7, n[0], n[1], "", "")
	}
	require.NoError(t, failed(s.Send(within(t), reply("list", func(r *dialog.Reply) {
		label := text("label")
		for _, shot := range []dialog.Shot{
			{File: "p1"}, {File: "m1", As: "video"}, {File: "v1", As: "voice"}, {File: "v2", As: "voice"},
			{File: "r1", As: "round"}, {File: "a1", As: "audio"}, {File: "a2", As: "audio"},
		} {
			shot.Label = &label
			r.Shots = append(r.Shots, shot)
		}
		r.Protected = true
	}))))
	require.Equal(t, []string{
		`p1 "en label"`, `m1 "en label"`, `v1 "en label"`, `v2 "en label"`, `r1 ""`, `a1 "en label"`, `a2 "en label"`,
	}, server.Shots(7))
	sent := server.Sent(7)[1:]
	require.Equal(t, sent[0].Album, sent[1].Album)
	require.NotZero(t, sent[0].Album)
	require.Equal(t, sent[5].Album, sent[6].Album)
	for _, m := range sent {
		require.True(t, m.Protect)
	}
	require.Equal(t, 2, server.Calls("sendMediaGroup"))
}
