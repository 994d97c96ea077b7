package orderpage

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// doneMost is how long it is waited for what comes of a press before the page is shown
// again; it shows by itself when it comes later.
const doneMost = 4 * time.Second

// saidMost is how much longer it is waited for what is said of a change: to a customer
// nothing is.
const saidMost = 400 * time.Millisecond

// act takes what was pressed on a page through the engine.
func (p *Pages) act(w http.ResponseWriter, r *http.Request, b browser, place int) error {
	if err := r.ParseForm(); err != nil {
		return engine.ErrNoPage
	}
	if !p.own(r) || !fits(r.PostForm) {
		return engine.ErrNoPage
	}
	if !sameText(r.PostForm.Get("csrf"), b.csrf()) {
		return p.again(w, r, b, place, phrase.Of("page.wrong.secret"))
	}
	ctx, chat := r.Context(), b.pages[place-1].Chat
	before, err := p.engine.Stamp(ctx, chat)
	if err != nil {
		return err
	}
	if r.PostForm.Get("do") == "close" {
		return p.closed(w, r, b, place)
	}
	ask, trouble := asked(r.PostForm)
	if trouble == nil && ask.Do == "query" {
		trouble, err = p.mayAsk(ctx, chat, *ask)
	}
	if err != nil {
		return err
	}
	if trouble != nil {
		return p.again(w, r, b, place, *trouble)
	}
	in := dialog.Input{Kind: dialog.Pressed, Ask: ask, Now: time.Now(), Lang: lang(r)}
	if err := p.engine.Take(ctx, engine.Update{ID: idOf(r.PostForm), Chat: chat, User: chat, Input: in}); err != nil {
		return err
	}
	changed := time.Time{} // when the job did
	err = p.until(ctx, doneMost, func(ctx context.Context) (bool, error) {
		now, err := p.engine.Stamp(ctx, chat)
		if now.Job != before.Job && changed.IsZero() {
			changed = time.Now()
		}
		return now.Said != before.Said || !changed.IsZero() && time.Since(changed) > saidMost, err
	})
	if err != nil {
		return err
	}
	p.served.WithLabelValues("done").Inc()
	to := p.at(place)
	if ask.Opening != 0 {
		to += "#line" + strconv.Itoa(ask.Opening)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// closed ends a page in this browser.
func (p *Pages) closed(w http.ResponseWriter, r *http.Request, b browser, place int) error {
	if err := p.store.ClosePage(r.Context(), b.secret, place, b.pages[place-1].Chat); err != nil {
		return err
	}
	p.answer(w, http.StatusOK, "done", p.plain("page.closed.title", "page.closed"))
	return nil
}

// idOf is the id of the update that a form makes: that of the same form pressed twice is
// the same, so that it happens once. Below 2^52, and none of those that mail has.
func idOf(form url.Values) int64 {
	sum := sha256.Sum256([]byte(form.Encode()))
	return 2 + int64(binary.BigEndian.Uint64(sum[:8])>>13)
}

// mayAsk is why a line can't be asked about as the page showed it: nil if it can.
func (p *Pages) mayAsk(ctx context.Context, chat int64, a talk.Ask) (*phrase.Text, error) {
	s, err := p.engine.See(ctx, chat)
	if err != nil {
		return nil, err
	}
	if s.Role != job.Desk {
		return nil, nil // which the engine refuses
	}
	if err := s.Job.MayAsk(job.Who{Chat: chat, Role: s.Role}, a.Opening, a.Revision); err != nil {
		return new(tell.Refusal(err)), nil
	}
	return nil, nil
}

// asked is what a form asks for. trouble says what of it can't be read.
func asked(form url.Values) (ask *talk.Ask, trouble *phrase.Text) {
	a := talk.Ask{Do: form.Get("do"), Revision: form.Get("revision"), Words: oneLine(form.Get("words"))}
	a.Opening, _ = strconv.Atoi(form.Get("line")) // a line that there is none of is refused
	switch a.Do {
	case "confirm", "confirmall":
		a.Words = ""
	case "query":
		return query(a)
	case "withdrawquery":
		a.Question, _ = strconv.Atoi(form.Get("question"))
	case "promise":
		return promised(a, form)
	case "agree":
		if utf8.RuneCountInString(a.Words) > longestName {
			return nil, tooLong(longestName)
		}
		a.Shown, a.Opening = map[int]string{}, 0
		for _, shown := range form["seen"] {
			number, version, _ := strings.Cut(shown, "=")
			if id, err := strconv.Atoi(number); err == nil {
				a.Shown[id] = version
			}
		}
	default:
		return nil, wrong("page.not")
	}
	return &a, nil
}

// query reads a question, which has words and says what was read.
func query(a talk.Ask) (*talk.Ask, *phrase.Text) {
	switch {
	case a.Words == "":
		return nil, wrong("page.wrong.words")
	case utf8.RuneCountInString(a.Words) > longestWords:
		return nil, tooLong(longestWords)
	case a.Revision == "":
		return nil, wrong("page.wrong.revision")
	}
	return &a, nil
}

// promised reads a price and a day, one of them at least.
func promised(a talk.Ask, form url.Values) (*talk.Ask, *phrase.Text) {
	a.Words, a.Due = "", form.Get("due")
	if price := strings.TrimSpace(form.Get("price")); price != "" {
		amounts, sure, err := reading.Money(price)
		if len(price) > longestPrice || errors.Is(err, reading.ErrNegative) || err != nil || !sure || !amounts[0].IsPositive() {
			return nil, wrong("page.wrong.price")
		}
		a.Value = &amounts[0]
	}
	if a.Value == nil && a.Due == "" {
		return nil, wrong("page.wrong.nothing")
	}
	return &a, nil
}

func wrong(key string) *phrase.Text { return new(phrase.Of(key)) }

func tooLong(most int) *phrase.Text {
	return new(phrase.Of("job.refused.too_long").WithInt("most", most))
}

// oneLine is what was typed into a field, as one line of a message; "" where nothing of
// it can be seen, so that nobody agrees by a name that no paper shows.
func oneLine(words string) string {
	if !strings.ContainsFunc(words, seen) {
		return ""
	}
	return strings.Join(strings.Fields(words), " ")
}

// seen says whether a character leaves something on a page by itself. Hangul's fillers are
// letters and leave nothing (Unicode, Other_Default_Ignorable_Code_Point).
func seen(r rune) bool {
	return unicode.In(r, unicode.L, unicode.N, unicode.P, unicode.S) && !unicode.Is(unicode.Other_Default_Ignorable_Code_Point, r)
}
