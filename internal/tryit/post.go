package tryit

import (
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"time"
	"unicode/utf16"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/sheet"
	"sillbot/internal/talk"
)

const (
	mostText  = 4096     // UTF-16 units, as on the platform
	mostPhoto = 10 << 20 // bytes
	// mostForm is a photo with the text under it and what a form puts around them.
	mostForm = mostPhoto + 1<<16
)

// refused is what a form can't do, in words, with the status of the answer.
type refused struct {
	status int
	why    phrase.Text
}

func (e *refused) Error() string { return http.StatusText(e.status) }

var (
	errNothing = &refused{http.StatusBadRequest, phrase.Of("web.refused.nothing")}
	errText    = &refused{http.StatusRequestEntityTooLarge, phrase.Of("web.refused.text")}
	errPhoto   = &refused{http.StatusRequestEntityTooLarge, phrase.Of("web.refused.photo")}
	errForm    = &refused{http.StatusBadRequest, phrase.Of("web.refused.form")}
	errOld     = &refused{http.StatusForbidden, phrase.Of("web.refused.old")}
	errTurn    = &refused{http.StatusInternalServerError, phrase.Of("web.refused.turn")}
)

// token is one of a link.
var token = regexp.MustCompile(`^[A-Za-z0-9_-]{1,64}$`)

// posts takes forms.
type posts struct {
	*Trial
	taker Taker
	log   *slog.Logger
}

// form gives a handler the fields of a form that comes from a page of this program,
// and answers: a page without its script is shown the chair again, or what was wrong.
func (p posts) form(do func(r *http.Request, c chair, who person) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostForm)
		c, who, err := p.read(r)
		if err == nil {
			err = do(r, c, who)
		}
		byScript := r.PostFormValue("script") != ""
		var no *refused
		switch {
		case err != nil && !errors.As(err, &no):
			p.log.Error("a turn failed", "err", err)
			no = errTurn
			fallthrough
		case no != nil && !byScript:
			page := p.sight(r, p.book.since(0))
			page.Words = p.Speaker.Plain(page.Lang, no.why)
			show(w, no.status, "refused", page)
		case no != nil:
			w.Header().Set("Content-Type", "text/plain; charset=utf-8")
			w.WriteHeader(no.status)
			_, _ = io.WriteString(w, p.Speaker.Plain(p.language(r), no.why))
		case byScript:
			w.WriteHeader(http.StatusNoContent)
		default:
			http.Redirect(w, r, p.door.path+"?chair="+url.QueryEscape(c.key)+"#end-"+c.key, http.StatusSeeOther)
		}
	}
}

// read reads a form.
func (p posts) read(r *http.Request) (chair, person, error) {
	// All of it in memory: nothing of a trial is on the disk.
	if err := r.ParseMultipartForm(mostForm); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		var long *http.MaxBytesError
		if errors.As(err, &long) {
			return chair{}, person{}, errPhoto
		}
		return chair{}, person{}, errForm
	}
	if !same(r.PostFormValue("csrf"), p.door.csrf) {
		return chair{}, person{}, errOld
	}
	c, ok := chairOf(r.PostFormValue("chair"))
	if !ok {
		return c, person{}, errForm
	}
	who, ok := c.writes(r.PostFormValue("as"))
	if !ok {
		return c, who, errForm
	}
	return c, who, nil
}

// say takes what is typed, pressed or sent as a file.
func (p posts) say(r *http.Request, c chair, who person) error {
	lang := p.language(r)
	in := dialog.Input{Kind: dialog.Typed, Lang: lang, Text: strings.ReplaceAll(r.PostFormValue("text"), "\r\n", "\n")}
	if len(utf16.Encode([]rune(in.Text))) > mostText {
		return errText
	}
	if press := r.PostFormValue("press"); press != "" {
		before, data, _ := strings.Cut(press, " ")
		under := number(before)
		if under == 0 || len(data) > talk.MostData {
			return errForm
		}
		p.book.draft(c.chat, in.Text)
		in.Kind, in.Text, in.Under = dialog.Pressed, data, under
		return p.take(r.Context(), p.taker, c, who, in)
	}
	f, err := uploaded(r)
	if err != nil {
		return err
	}
	switch {
	case f == nil && strings.TrimSpace(in.Text) == "":
		return errNothing
	case f == nil && number(r.PostFormValue("edit")) != 0:
		in.Kind, in.Msg = dialog.Edited, number(r.PostFormValue("edit"))
		if !p.corrected(c, who, lang, in.Msg, in.Text) {
			return errForm
		}
	case f == nil:
		in.Msg, in.ReplyTo = p.typed(c, who, lang, in.Text), number(r.PostFormValue("reply"))
	default:
		kept := p.book.keep(*f)
		in.Msg = p.typed(c, who, lang, in.Text, kept)
		in = sent(in, kept)
	}
	p.book.draft(c.chat, "")
	return p.take(r.Context(), p.taker, c, who, in)
}

// uploaded is the file of a form; nil: it has none.
func uploaded(r *http.Request) (*file, error) {
	part, head, err := r.FormFile("photo")
	switch {
	case errors.Is(err, http.ErrMissingFile), errors.Is(err, http.ErrNotMultipart):
		return nil, nil
	case err != nil:
		return nil, errForm
	}
	defer part.Close()
	if head.Filename == "" && head.Size == 0 { // a field that was left empty
		return nil, nil
	}
	if head.Size > mostPhoto {
		return nil, errPhoto
	}
	data, err := io.ReadAll(part)
	if err != nil {
		return nil, errForm
	}
	f := &file{Name: filepath.Base(head.Filename), Type: http.DetectContentType(data), data: data}
	switch f.Type {
	case "image/jpeg", "image/png", "image/gif", "image/webp":
		f.Inline = true
	default:
		f.Type = typeOf(f.Name) // and is never shown, only given back
	}
	return f, nil
}

// sent is a file as the conversation takes it: a picture with what is written under
// it, or a table.
func sent(in dialog.Input, f file) dialog.Input {
	if f.Inline {
		in.Kind, in.Shot = dialog.Photo, &dialog.Shot{File: f.ID}
		return in
	}
	in.Kind = dialog.File
	if strings.EqualFold(filepath.Ext(f.Name), ".csv") {
		in.Table = f.data[:min(len(f.data), sheet.MostAnswerBytes+1)]
	}
	return in
}

// open uses a link as a chair.
func (p posts) open(r *http.Request, c chair, who person) error {
	of := r.PostFormValue("token")
	if !token.MatchString(of) {
		return errForm
	}
	lang := p.language(r)
	in := dialog.Input{Kind: dialog.Typed, Lang: lang, Text: "/start " + of}
	in.Msg = p.pressed(c, who, lang, phrase.Of("web.opened"))
	return p.take(r.Context(), p.taker, c, who, in)
}

// mostAhead is how far the clock can be moved in all.
const mostAhead = 5 * 365 * 24 * time.Hour

// ways are those in which the clock is moved, by the names on the buttons.
var ways = map[string]way{"hour": by(time.Hour), "morning": untilMorning, "day": by(24 * time.Hour), "week": by(7 * 24 * time.Hour)}

// forward moves the clock.
func (p posts) forward(r *http.Request, _ chair, _ person) error {
	by, ok := ways[r.PostFormValue("by")]
	if !ok || p.now().Sub(p.Now())+by(p.now()) > mostAhead {
		return errForm
	}
	return p.pass(r.Context(), p.taker, by)
}
