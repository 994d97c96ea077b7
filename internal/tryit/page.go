package tryit

import (
	"cmp"
	"embed"
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/phrase"
	"sillbot/locales"
)

//go:embed page.html page.css page.js icon.svg
var assets embed.FS

var templates = template.Must(template.ParseFS(assets, "page.html"))

// zone is where the people of a trial are taken to be, as the bot takes them to be.
var zone = func() *time.Location {
	at, err := time.LoadLocation("Europe/London")
	if err != nil {
		return time.UTC
	}
	return at
}()

// language is the one of the catalogue's that the browser asks for first.
func (t *Trial) language(r *http.Request) string {
	for _, tag := range strings.Split(r.Header.Get("Accept-Language"), ",") {
		tag, _, _ = strings.Cut(strings.TrimSpace(tag), ";")
		if known, ok := t.Speaker.Known(tag); ok {
			return known
		}
	}
	return locales.Default
}

// wording is what the page itself says.
func (t *Trial) wording(lang string) map[string]string {
	said := map[string]string{}
	for name, text := range map[string]phrase.Text{
		"Title": phrase.Of("web.title"), "Unkept": phrase.Of("web.unkept"), "Skip": phrase.Of("web.skip"), "ToField": phrase.Of("web.skip.field"),
		"Chairs": phrase.Of("web.chairs"), "Clock": phrase.Of("web.clock"), "Forward": phrase.Of("web.clock.forward"),
		"Hour": phrase.Of("web.clock.hour"), "Morning": phrase.Of("web.clock.morning"), "Day": phrase.Of("web.clock.day"), "Week": phrase.Of("web.clock.week"),
		"Bot": phrase.Of("web.bot"), "Message": phrase.Of("web.message"), "Photo": phrase.Of("web.photo"),
		"Send": phrase.Of("web.send"), "As": phrase.Of("web.as"), "Keys": phrase.Of("web.keys"), "More": phrase.Of("web.more"),
		"Lost": phrase.Of("web.lost"), "Ended": phrase.Of("web.ended"), "New": phrase.Of("web.new"), "NoScript": phrase.Of("web.noscript"),
		"Reload": phrase.Of("web.reload"), "Back": phrase.Of("web.back"), "Open": phrase.Of("web.open"), "OpenAs": phrase.Of("web.open.as"),
		"Choices": phrase.Of("web.choices"), "Answer": phrase.Of("web.answer"), "Correct": phrase.Of("web.correct"),
		"Answering": phrase.Of("web.answering"), "Correcting": phrase.Of("web.correcting"), "Neither": phrase.Of("web.neither"),
		"Copy": phrase.Of("web.copy"), "Copied": phrase.Of("web.copied"), "Select": phrase.Of("web.select"),
	} {
		said[name] = t.Speaker.Plain(lang, text)
	}
	return said
}

// view is one chair as the page shows it.
type view struct {
	Key, Title, Hint string
	Messages         []letter
	Note, Draft      string
	Writers          []writer // more than one: who writes is chosen
	At               bool     // the one that a narrow page shows
	// Reply and Edit are the numbers of the message that is answered or corrected; 0: none.
	Reply, Edit int64
}

type writer struct{ Key, Name string }

// letter is one message with what the page says around it.
type letter struct {
	message
	Who, Chair string
	Root       string // where files are
	When       string
	Own        bool
	Say        map[string]string
}

// sight is all that a page shows.
type sight struct {
	Lang, Root, Nonce, CSRF string
	Say                     map[string]string
	Last                    int64
	Clock                   string
	Views                   []view
	Token, Words            string // of a link that is opened; of a refusal
}

// sight gives what is to be seen.
func (t *Trial) sight(r *http.Request, s state) sight {
	lang := t.language(r)
	page := sight{Lang: lang, Root: t.door.path, Nonce: r.Header.Get(nonceHeader), CSRF: t.door.csrf, Say: t.wording(lang), Last: s.last, Clock: t.clock(lang, t.Now().Add(s.ahead))}
	at, ok := chairOf(r.URL.Query().Get("chair"))
	if !ok {
		at = chairs[0]
	}
	for _, c := range chairs {
		v := view{Key: c.key, Title: t.Speaker.Plain(lang, c.title), Hint: t.Speaker.Plain(lang, c.hint), Note: s.notes[c.chat].Text, Draft: s.drafts[c.chat], At: c.key == at.key}
		if v.At {
			v.Reply, v.Edit = number(r.URL.Query().Get("answer")), number(r.URL.Query().Get("correct"))
			if m, ok := t.book.one(c.chat, v.Edit); ok {
				v.Draft = m.Typed
			}
		}
		for _, m := range s.messages[c.chat] {
			v.Messages = append(v.Messages, t.letter(page, c, m))
		}
		for _, p := range c.who {
			v.Writers = append(v.Writers, writer{p.key, t.Speaker.Plain(lang, p.name)})
		}
		page.Views = append(page.Views, v)
	}
	return page
}

func (t *Trial) letter(page sight, c chair, m message) letter {
	return letter{message: m, Who: cmp.Or(m.By, page.Say["Bot"]), Chair: c.key, Root: page.Root, When: t.when(page.Lang, m.At.In(zone)), Own: m.By != "", Say: page.Say}
}

// number is one of a message; 0 for what is none.
func number(text string) int64 {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 {
		return 0
	}
	return n
}

// when is when a message was written.
func (t *Trial) when(lang string, at time.Time) string {
	return t.Speaker.Plain(lang, phrase.Of("web.when").WithInt("day", at.Day()).Word("month", "month."+strconv.Itoa(int(at.Month()))).Saying("time", at.Format("15:04")))
}

// clock is a moment in words.
func (t *Trial) clock(lang string, at time.Time) string {
	at = at.In(zone)
	return t.Speaker.Plain(lang, phrase.Of("web.clock.at").Sub1("day", phrase.Day(at)).Saying("time", at.Format("15:04")))
}

// show writes one of the templates.
func show(w http.ResponseWriter, status int, name string, page sight) {
	var b strings.Builder
	if err := templates.ExecuteTemplate(&b, name, page); err != nil {
		panic(err) // the guard answers, and no half of a page is sent
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(b.String()))
}

// front shows the conversations.
func (t *Trial) front(w http.ResponseWriter, r *http.Request) {
	show(w, http.StatusOK, "front", t.sight(r, t.book.since(0)))
}

// opened asks who opens a link. Nothing is done by looking.
func (t *Trial) opened(w http.ResponseWriter, r *http.Request) {
	page := t.sight(r, t.book.since(0))
	page.Token = r.PathValue("token")
	show(w, http.StatusOK, "open", page)
}

// kept gives a picture or a paper.
func (t *Trial) kept(w http.ResponseWriter, r *http.Request) {
	f, ok := t.book.file(r.PathValue("id"))
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", f.Type)
	w.Header().Set("Content-Security-Policy", "default-src 'none'; sandbox")
	if !f.Inline {
		w.Header().Set("Content-Disposition", `attachment; filename="`+safeName(f.Name)+`"`)
	}
	_, _ = w.Write(f.data)
}

// safeName is a file's name as a header may hold it.
func safeName(name string) string {
	return strings.Map(func(r rune) rune {
		if r == '.' || r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' {
			return r
		}
		return '_'
	}, name)
}

// asset gives one of the files that a page needs.
func asset(name, kind string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		data, err := assets.ReadFile(name)
		if err != nil {
			panic(err)
		}
		w.Header().Set("Content-Type", kind)
		_, _ = w.Write(data)
	}
}
