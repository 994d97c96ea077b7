package engine

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session/sessiontest"
)

// spoil puts bytes that can't be read in the place of a record, behind what the
// scripts read of it, as a later program would or a damaged disk.
func (f *forgetTest) spoil(key, field, with string) string {
	f.t.Helper()
	raw := f.mini.HGet(key, field)
	if field == "" {
		var err error
		raw, err = f.mini.Get(key)
		require.NoError(f.t, err)
	}
	require.NotEmpty(f.t, raw)
	schema, rest, _ := strings.Cut(raw, " ")
	bad := "99 " + rest
	if with == "broken" {
		bad = schema + " " + rest[:len(rest)/2]
	}
	if field != "" {
		f.mini.HSet(key, field, bad)
	} else {
		require.NoError(f.t, f.mini.Set(key, bad))
	}
	f.engine.turns.recent.dropChat(wren.id) // another process has nothing at hand
	return bad
}

// last are the keys of what was said since.
func (f *forgetTest) since(chat int64, n int) []string {
	var keys []string
	for _, m := range f.post.sent(chat)[n:] {
		keys = append(keys, m.Reply.Text.Key)
		for _, l := range m.Reply.Text.Lines["lines"] {
			keys = append(keys, l.Key)
		}
	}
	return keys
}

// The keys of Wren's chat.
var (
	wrensConversation = keyOf("c", wren.id)
	wrensJobs         = keyOf("j", wren.id)
	wrensAside        = keyOf("x", wren.id)
)

func keyOf(kind string, chat int64) string {
	return fmt.Sprintf("sb:{%d}:%s:%d", chat%1024, kind, chat)
}

// TestWhatIsUnreadableIsSetAside: new, start, cancel and forget always work, nothing
// that can't be read is lost by them, and what does not begin anew changes nothing.
func TestWhatIsUnreadableIsSetAside(t *testing.T) {
	for _, with := range []string{"newer", "broken"} {
		for _, word := range []string{"new", "/start", "cancel", "forget", "NEW WINDOW", "job"} {
			t.Run(with+" "+word, func(t *testing.T) {
				f := newForgetTest(t)
				f.says(wren, wren.id, "job", "England today", "bare none white 1204")
				ref := f.refs(wren.id)[0]
				bad := f.spoil(wrensConversation, "", with)
				n := len(f.post.sent(wren.id))
				f.says(wren, wren.id, "1202", "undo")
				require.Equal(t, []string{"unread." + with, "unread." + with}, f.since(wren.id, n))
				raw, err := f.mini.Get(wrensConversation)
				require.NoError(t, err)
				require.Equal(t, bad, raw)

				n = len(f.post.sent(wren.id))
				f.says(wren, wren.id, "my data")
				require.Equal(t, []string{"mydata"}, f.since(wren.id, n))
				// From a new phone, which the conversation can't say any more.
				require.NoError(t, f.mini.Set(keyOf("c", marsh.id), fmt.Sprintf(`1 1 1 {"v":2,"ph":{"h":%d}}`, wren.id)))
				f.take(f.update(marsh, marsh.id, "my data"))
				raw, err = f.mini.Get(wrensConversation)
				require.NoError(t, err)
				require.Equal(t, bad, raw, "to look changes nothing")
				require.False(t, f.mini.Exists(wrensAside))

				n = len(f.post.sent(wren.id))
				if word == "job" {
					f.says(wren, wren.id, "job "+ref)
					require.Contains(t, f.since(wren.id, n), "job.title")
				} else {
					f.says(wren, wren.id, word)
				}
				require.Subset(t, f.since(wren.id, n), []string{"unread.begun", "unread.jobs"})
				aside, err := f.mini.List(wrensAside)
				require.NoError(t, err)
				require.Len(t, aside, 1)
				require.True(t, strings.HasSuffix(aside[0], " "+bad))
				held, err := f.store.Export(ctx, wren.id, 0)
				require.NoError(t, err)
				require.Equal(t, "c", held.Aside[0].What)
				require.Equal(t, with, held.Aside[0].Why)
				require.InDelta(t, 90*24, f.mini.TTL(wrensAside).Hours(), 1)

				f.says(wren, wren.id, "job "+ref, "1202")
				require.NotContains(t, f.since(wren.id, n), "error.internal")
				f.forgets(wren, wren.id)
				require.NotContains(t, f.stored(), bad)
				require.False(t, f.mini.Exists(wrensAside))
			})
		}
	}
}

// Numbers that no number of ours is: the scripts and the program read them alike, and
// start begins anew.
func TestARevisionOutOfRangeLocksNobodyOut(t *testing.T) {
	for _, head := range []string{
		"1 99999999999999999999 5 ", "1 9223372036854775807 5 ", "1 9999999999999999999 5 ", "1 999999999999999999 5 ", "0 5 5 ", "99999999999999999999 5 5 ",
		strings.Repeat("9", 60) + " 5 5 ", "1 " + strings.Repeat("9", 60) + " 5 ", "007 0005 5 ", "5 ",
	} {
		for _, key := range []string{wrensConversation, wrensJobs} {
			f := newForgetTest(t)
			f.says(wren, wren.id, "job", "England today", aWindow)
			ref := f.refs(wren.id)[0]
			if key == wrensJobs {
				f.mini.HSet(key, ref, head+"{}")
			} else {
				require.NoError(t, f.mini.Set(key, head+`{"v":2}`))
			}
			f.engine.turns.recent.dropChat(wren.id)
			n := len(f.post.sent(wren.id))
			f.says(wren, wren.id, "list", "start", "new", "job new", "England today", aWindow)
			require.GreaterOrEqual(t, len(f.post.sent(wren.id)), n+5, head)
			require.NotContains(t, f.since(wren.id, n), "error.internal", head)
			f.forgets(wren, wren.id)
			require.Empty(t, f.refs(wren.id), head)
		}
	}
}

// TestAJobThatCannotBeReadLocksNothingElse: with the head of the open job spoiled, what
// begins anew, another job, the data and forget work, and the job is as it was.
func TestAJobThatCannotBeReadLocksNothingElse(t *testing.T) {
	for _, with := range []string{"newer", "broken"} {
		f := newForgetTest(t)
		f.says(wren, wren.id, "job", "England today", aWindow)
		first := f.refs(wren.id)[0]
		f.says(wren, wren.id, "job new", "England today", aWindow)
		second := slices.DeleteFunc(f.refs(wren.id), func(ref string) bool { return ref == first })[0]
		for _, word := range []string{"new", "start", "cancel", "forget", "job new", "job " + first, "my data"} {
			f.says(wren, wren.id, "job "+second)
			good := f.mini.HGet(wrensJobs, second)
			bad := f.spoil(wrensJobs, second, with)
			n := len(f.post.sent(wren.id))
			f.says(wren, wren.id, "list")
			require.Equal(t, []string{"unread.job." + with}, f.since(wren.id, n))
			f.says(wren, wren.id, word)
			require.NotContains(t, f.since(wren.id, n+1), "unread.job."+with, word)
			require.NotContains(t, f.since(wren.id, n+1), "error.internal", word)
			require.Greater(t, len(f.since(wren.id, n+1)), 0)
			require.Equal(t, bad, f.mini.HGet(wrensJobs, second))
			f.mini.HSet(wrensJobs, second, good)
		}
		f.forgets(wren, wren.id)
		require.Empty(t, f.refs(wren.id))
	}
}

// TestOneBadWindowLeavesTheOthers: the job is listed, other windows are measured and
// changed; what looks into the bad one says which it is; delete takes it out, and its
// bytes are kept.
func TestOneBadWindowLeavesTheOthers(t *testing.T) {
	for _, with := range []string{"newer", "broken"} {
		t.Run(with, func(t *testing.T) {
			f := newForgetTest(t)
			f.says(wren, wren.id, "job", "England today", aWindow, "new", another, "new", "bare none white 1204 1202 1203")
			ref := f.refs(wren.id)[0]
			bad := f.spoil(wrensJobs, ref+"/1", with)
			n := len(f.post.sent(wren.id))
			f.says(wren, wren.id, "1050 1052 1051", "list", "edit 2", "change middle width", "1205", "edit 3", "new", "bare")
			said := f.since(wren.id, n)
			require.NotContains(t, said, "unread.window")
			require.NotContains(t, said, "error.internal")
			require.Contains(t, said, "job.row.unread")
			require.Equal(t, bad, f.mini.HGet(wrensJobs, ref+"/1"))

			n = len(f.post.sent(wren.id))
			f.says(wren, wren.id, "edit 1", "send")
			require.Equal(t, []string{"unread.window", "unread.window"}, f.since(wren.id, n))
			n = len(f.post.sent(wren.id))
			f.says(wren, wren.id, "delete 1")
			require.NotContains(t, f.since(wren.id, n), "unread.window")
			aside, err := f.mini.List(wrensAside)
			require.NoError(t, err)
			require.Len(t, aside, 1)
			require.True(t, strings.HasSuffix(aside[0], " "+bad))
			n = len(f.post.sent(wren.id))
			f.says(wren, wren.id, "list", "send")
			require.NotContains(t, f.since(wren.id, n), "unread.window")
		})
	}
}

// TestLettersWaitForWhatCanBeRead: mail to a conversation that can't be read is kept,
// and taken once when that begins anew.
func TestLettersWaitForWhatCanBeRead(t *testing.T) {
	f := newForgetTest(t)
	f.says(wren, wren.id, "England today")
	bad := f.spoil(wrensConversation, "", "newer")
	letter := Update{ID: mailID(marsh.id, "1"), Chat: wren.id, Input: dialog.Input{
		Kind: dialog.Mailed, Mail: &dialog.Mail{From: marsh.id, To: wren.id, Ref: testRef, Show: &dialog.Reply{Text: phrase.Of("told")}},
	}}
	n := len(f.post.sent(wren.id))
	f.take(letter)
	f.take(letter)
	require.Equal(t, []string{"unread.letter"}, f.since(wren.id, n))
	raw, err := f.mini.Get(wrensConversation)
	require.NoError(t, err)
	require.Equal(t, bad, raw)
	f.says(wren, wren.id, "new")
	require.Equal(t, 1, strings.Count(strings.Join(f.since(wren.id, n), " "), "told"))
	aside, err := f.mini.List(wrensAside)
	require.NoError(t, err)
	require.Len(t, aside, 1, "the conversation")
}

// TestAReplyOfALaterProgramIsSetAside: it keeps its place for a while, for a later
// program that runs beside this one; then it is set aside, and what is behind it goes
// out.
func TestAReplyOfALaterProgramIsSetAside(t *testing.T) {
	m, url := sessiontest.Mini(t)
	old := fmt.Sprintf("99 %d 7.0 {}", time.Now().Add(-newerWaits-time.Second).UnixMilli())
	fresh := fmt.Sprintf("99 %d 7.1 {}", time.Now().UnixMilli())
	for chat, raw := range map[string]string{"5": old, "6": fresh} {
		_, err := m.Push("sb:{"+chat+"}:o:"+chat, raw)
		require.NoError(t, err)
		_, err = m.Push("sb:{"+chat+"}:i:"+chat, raw)
		require.NoError(t, err)
		m.HSet("sb:{"+chat+"}:p", chat, "1 0 1 ")
	}
	p := &post{}
	e := newEngine(t, url, p, Options{})
	run(t, e)
	eventually(t, "the old one goes", func() bool { return empty(t, e.store, 5) })
	require.Contains(t, p.words(5), "unread.update")
	aside, err := m.List("sb:{5}:x:5")
	require.NoError(t, err)
	require.Len(t, aside, 2)
	require.True(t, strings.HasSuffix(aside[0], " o newer 0 "+old))
	require.True(t, strings.HasSuffix(aside[1], " i newer 0 "+old))
	require.False(t, m.Exists("sb:{6}:x:6"))
	require.Empty(t, p.words(6))
}
