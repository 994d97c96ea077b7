package orderpage

import (
	"net/http"
	"net/url"
	"strconv"

	"sillbot/internal/phrase"
)

// How much is typed into a page's fields, in characters; the template has the same. The
// job looks again.
const (
	longestWords = 500
	longestName  = 60
	longestPrice = 14
)

// longest is how many bytes there are in what a page's own forms say by themselves. Longer
// ones are of no page, and so is what is asked of it.
var longest = map[string]int{"csrf": 43, "once": 16, "do": 20, "line": 9, "revision": 12, "question": 9, "due": 16, "seen": 100}

// fits says whether a form may be one of a page.
func fits(form url.Values) bool {
	for name, values := range form {
		for _, value := range values {
			if most, has := longest[name]; has && len(value) > most {
				return false
			}
		}
	}
	return true
}

// again writes a page as it is now with what is wrong with a form that was sent, of which
// nothing was taken. What was typed is in its fields again.
func (p *Pages) again(w http.ResponseWriter, r *http.Request, b browser, place int, trouble phrase.Text) error {
	d, v, err := p.view(r, b, place)
	if err != nil {
		return err
	}
	what := phrase.Of("page.wrong.back")
	if typed := r.PostForm.Get("words"); !v.keep(r.PostForm) && typed != "" {
		what = phrase.Of("page.wrong.typed").Saying("words", typed)
	}
	v.Wrong = d.each([]phrase.Text{phrase.Of("page.wrong.title"), trouble, what})
	v.News = ""
	p.answer(w, http.StatusUnprocessableEntity, "none", sheetOf{Lang: d.lang, Title: v.Heading, Order: v})
	return nil
}

// keep puts what was typed back into the form of a page that it was typed into; false: it
// has none any more.
func (v *view) keep(typed url.Values) bool {
	number, _ := strconv.Atoi(typed.Get("line")) // 0: of all lines
	if f := v.form(typed.Get("do"), number); f != nil {
		f.Typed = true
		for i := range f.Fields {
			f.Fields[i].Value, f.Fields[i].Typed = typed.Get(f.Fields[i].Name), true
		}
		return true
	}
	return false
}

// form is that of a page which does something to a line, nil for none.
func (v *view) form(do string, number int) *form {
	if v.All != nil && number == 0 && v.All.Do == do {
		return v.All
	}
	for l := range v.Lines {
		for i := range v.Lines[l].Forms {
			if f := &v.Lines[l].Forms[i]; f.Do == do && f.Line == number {
				return f
			}
		}
	}
	return nil
}
