package orderpage

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

// cookieName: a browser takes a cookie of such a name only with Secure, for the whole
// host and for no other one (RFC 6265bis, 4.1.3.2, from memory).
const cookieName = "__Host-order"

// secretForm is 256 random bits, tokenForm is a link's token.
var (
	secretForm = regexp.MustCompile(`^[A-Za-z0-9_-]{43}$`)
	tokenForm  = regexp.MustCompile(`^[A-Za-z0-9_-]{22,64}$`)
	placeForm  = regexp.MustCompile(`^order/([1-9][0-9]{0,2})(?:/(.+))?$`)
)

// browser is one that was let in: its secret, and its pages by their places.
type browser struct {
	secret string
	pages  []session.Page
}

// hash is what a browser is known by where its secret is not to be.
func (b browser) hash() string {
	sum := sha256.Sum256([]byte(b.secret))
	return string(sum[:])
}

// csrf goes with each form: whoever does not know the secret can't make it.
func (b browser) csrf() string {
	mac := hmac.New(sha256.New, []byte(b.secret))
	mac.Write([]byte("csrf"))
	return base64.RawURLEncoding.EncodeToString(mac.Sum(nil))
}

// let finds the page that a path is about, among those of the browser that asks.
func (p *Pages) let(r *http.Request, path string) (b browser, place int, rest string, err error) {
	m := placeForm.FindStringSubmatch(path)
	if m == nil {
		return b, 0, "", engine.ErrNoPage
	}
	if b, err = p.browserOf(r); err != nil {
		return b, 0, "", err
	}
	place, _ = strconv.Atoi(m[1]) // as the form has it
	if place > len(b.pages) || b.pages[place-1].Chat == 0 {
		return b, 0, "", engine.ErrNoPage
	}
	return b, place, m[2], nil
}

// browserOf is who asks; ErrNoPage: nobody that was let in.
func (p *Pages) browserOf(r *http.Request) (browser, error) {
	cookie, err := r.Cookie(cookieName)
	if err != nil || !secretForm.MatchString(cookie.Value) {
		return browser{}, engine.ErrNoPage
	}
	b := browser{secret: cookie.Value}
	known := p.limits.letIn(b.hash())
	if known && !p.limits.browser(b.hash()) || !known && !p.limits.address(p.caller(r)) { // it may be a cookie of nobody
		return b, &limited{}
	}
	if b.pages, err = p.store.Pages(r.Context(), b.secret); err != nil {
		return b, err
	}
	if len(b.pages) == 0 {
		return b, engine.ErrNoPage
	}
	if !known {
		p.limits.browser(b.hash())
	}
	return b, nil
}

// own says whether a form was sent by a page of this place. Without a referrer a browser
// says Origin: null, but every one of today says then whether it is of the same origin.
func (p *Pages) own(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" {
		return site == "same-origin"
	}
	return r.Header.Get("Origin") == p.origin
}

// looks says whether something is asked for by a page of another place, as a picture, say,
// and not by a person who goes to it.
func looks(r *http.Request) bool {
	site, mode := r.Header.Get("Sec-Fetch-Site"), r.Header.Get("Sec-Fetch-Mode")
	return site != "" && site != "same-origin" && site != "none" && mode != "" && mode != "navigate"
}

// showOpen is the page that a link leads to. It is the same for everybody.
func (p *Pages) showOpen(w http.ResponseWriter) error {
	say := func(key string) string { return p.say(fallback, phrase.Of(key)) }
	p.answer(w, http.StatusOK, "shown", sheetOf{Lang: fallback, Title: say("page.open.title"), Open: &opener{
		To: p.base + "/o", What: say("page.open.what"), Code: say("page.open.code"), Button: say("page.open.button"), Manual: say("page.open.manual"),
	}})
	return nil
}

// seatedMost is how long it is waited until the owner's record has the page's chair.
const seatedMost = 8 * time.Second

// open binds a link to this browser, once.
func (p *Pages) open(w http.ResponseWriter, r *http.Request) error {
	if !p.own(r) { // before the limit: a page of another place spends nobody's tries
		return engine.ErrNoPage
	}
	token := r.PostFormValue("token")
	fits := tokenForm.MatchString(token)
	switch {
	case !p.limits.open(p.caller(r), token, fits):
		return &limited{}
	case !fits:
		return engine.ErrNoPage
	}
	ctx := r.Context()
	was, err := p.browserOf(r)
	if errors.Is(err, engine.ErrNoPage) || len(was.pages) >= session.MostPages {
		was, err = browser{}, nil
	}
	if err != nil {
		return err
	}
	if before, err := p.store.PageOf(ctx, token); err != nil {
		return err
	} else if at := slices.IndexFunc(was.pages, func(p session.Page) bool { return p.Chat == before }); before != 0 && at >= 0 {
		// This browser opened it. A fault may have come between that and the chair.
		if _, err := p.engine.See(ctx, before); errors.Is(err, engine.ErrNoPage) && !errors.Is(err, engine.ErrLost) {
			if err := p.sit(ctx, r, token, before); err != nil {
				return err
			}
		}
		http.Redirect(w, r, p.at(at+1), http.StatusSeeOther)
		return nil
	}
	var random [8]byte
	_, _ = rand.Read(random[:]) // never fails
	chat := talk.PageChat(binary.BigEndian.Uint64(random[:]))
	ref, err := p.engine.PageOf(ctx, token, chat)
	if err != nil {
		return err
	}
	// Always a new secret: the cookie may have been put here by somebody who knows it.
	b := browser{secret: newSecret()}
	place, opened, err := p.store.OpenPage(ctx, token, was.secret, b.secret, session.Page{Chat: chat, Ref: ref})
	if opened { // whatever comes now, this browser can try again
		p.remember(w, b)
		p.limits.browser(b.hash())
	}
	switch {
	case err != nil:
		return err
	case !opened:
		return engine.ErrNoPage
	}
	if err := p.sit(ctx, r, token, chat); err != nil {
		return err
	}
	p.served.WithLabelValues("done").Inc()
	http.Redirect(w, r, p.at(place), http.StatusSeeOther)
	return nil
}

func newSecret() string {
	var random [32]byte
	_, _ = rand.Read(random[:])
	return base64.RawURLEncoding.EncodeToString(random[:])
}

// remember lets the browser in again.
func (p *Pages) remember(w http.ResponseWriter, b browser) {
	http.SetCookie(w, &http.Cookie{
		Name: cookieName, Value: b.secret, Path: "/", MaxAge: int(session.PageLasts / time.Second),
		Secure: true, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
}

// sit asks for the chair as whoever follows a link in the messenger does, and waits until
// the job's owner has given it.
func (p *Pages) sit(ctx context.Context, r *http.Request, token string, chat int64) error {
	in := dialog.Input{Kind: dialog.Typed, Text: "/start " + token, Now: time.Now(), Lang: lang(r)}
	if err := p.engine.Take(ctx, engine.Update{ID: 1, Chat: chat, User: chat, Input: in}); err != nil {
		return fmt.Errorf("opening: %w", err)
	}
	return p.until(ctx, seatedMost, func(ctx context.Context) (bool, error) {
		_, err := p.engine.See(ctx, chat)
		if errors.Is(err, engine.ErrNoPage) {
			return false, nil
		}
		return err == nil, err
	})
}

// until looks again and again whether something is so, for a time.
func (p *Pages) until(ctx context.Context, most time.Duration, so func(context.Context) (bool, error)) error {
	ctx, cancel := context.WithTimeout(ctx, most)
	defer cancel()
	for {
		yes, err := so(ctx)
		if ctx.Err() != nil || yes {
			return nil // what comes later shows by itself
		}
		if err != nil {
			return err
		}
		select {
		case <-time.After(40 * time.Millisecond):
		case <-ctx.Done():
		}
	}
}

// lang is the first language that a browser asks for, such as "en".
func lang(r *http.Request) string {
	first, _, _ := strings.Cut(r.Header.Get("Accept-Language"), ",")
	first, _, _ = strings.Cut(first, ";")
	return first[:min(len(first), 20)]
}

func sameText(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
