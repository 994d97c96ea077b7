package dialog

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/hear"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// "Same as last but hinged right" makes the next window of the house with all that holds
// of another one but its readings, and takes the differences as any message is taken:
//
//	message = opener [which] [but differences]
//	opener  = same as | same again | next one same | …
//	which   = last | window 1 | 1 | the kitchen | a name

// likeness is such a message as it was read.
type likeness struct {
	opener string // same, as or next
	which  string // last, number, name; "" where the message does not say
	source opening.Record
	of     int // the number of the source; 0: it is in no job
	name   string
	known  bool // there is such a window
	but    bool
	rest   string // what differs
}

// alike takes such a message; false when it is none.
func (t *turn) alike(text string) bool {
	if t.Second != nil || t.Doubt != nil || t.elsewhere() || t.atChair() {
		return false
	}
	l, ok := t.likeness(text)
	if !ok || !t.meansNext(l) {
		return false
	}
	if !l.known {
		if t.Job != nil {
			t.say(phrase.Of("copy.nowindow"))
		} else {
			t.say(phrase.Of("copy.nowindow.alone"))
		}
		return true
	}
	fills := t.answered() && l.opener != "next" && !t.chosen()
	if fills && !t.fillLike(l) || !fills && !t.beginLike(l) {
		return true
	}
	t.wasDone, t.likening = false, true
	if l.rest != "" {
		t.takeDifferences(l.rest)
	}
	t.likening = false
	t.New, t.Gone = !fills && t.Was != nil, false // undo turns back to the window before
	return true
}

// takeDifferences takes what differs. A word that only answers how a light opens does so
// here where there is one light.
func (t *turn) takeDifferences(text string) {
	c := t.context()
	if h := hear.Read(text, c); h.Empty() && t.answers().Value("layout") == "1" {
		c.Open = opening.Nth("light", 1)
		if h = hear.Read(text, c); len(h.Said) == 1 && len(h.Unknown) == 0 {
			t.takeHeard(h, text, false)
			return
		}
	}
	t.takeLines(text)
}

// meansNext says whether the message makes a window here. While choices are asked for,
// the same words may be said of the open question.
func (t *turn) meansNext(l likeness) bool {
	said := l.but || l.rest != ""
	switch {
	case l.opener == "next":
		return t.answered() || l.known || said
	case l.opener == "as" && (l.which == "" || !said):
		return false
	case l.rest != "" && !l.but && l.which == "":
		return false
	case !l.known && l.which == "name" && t.answered() && !t.chosen():
		return false
	case !t.answered():
		return said || l.which == "number" || l.which == "name"
	default:
		return t.next(t.answers()) == nil || l.but && (l.which != "" || t.chosen())
	}
}

// chosen says whether all is said of the window at hand but readings, so that another
// one may be begun before they are taken.
func (t *turn) chosen() bool {
	k := *t.answers()
	for _, key := range append(slices.Clone(opening.ReadingKeys), "inner.width", "inner.height", "lean") {
		if !k.Has(key) {
			k.Set(key, skipped)
		}
	}
	return k.Next(false, "") == nil
}

// likeness reads the message; ok is false when it does not begin like one.
func (t *turn) likeness(text string) (l likeness, ok bool) {
	code, rest, ok := words().Match(t.lang(), "like", text)
	for n := 0; !ok && n < mostName; n++ { // ok, do the next one same
		_, after, leads := words().Match(t.lang(), "likelead", text)
		if !leads {
			return l, false
		}
		text = between(after)
		code, rest, ok = words().Match(t.lang(), "like", text)
	}
	if !ok {
		return l, false
	}
	l.opener = code
	rest = between(t.which(&l, between(rest)))
	if tail, after, ok := words().Match(t.lang(), "liketail", rest); ok && (tail == "thanks" || l.which != "") { // the last one we did
		rest = between(after)
	}
	if l.rest, l.but = t.afterBut(rest); l.but {
		return l, true
	}
	for i, n := strings.Index(rest, " "), 0; l.which == "" && i > 0 && n < mostName; n++ { // the hall but white
		if l.rest, l.but = t.afterBut(between(rest[i:])); l.but {
			l.which, l.known = "name", false
			return l, true
		}
		next := strings.Index(rest[i+1:], " ")
		if next < 0 {
			break
		}
		i += next + 1
	}
	l.rest = rest
	return l, true
}

// mostName is how many words are looked through for the end of a window's name.
const mostName = 5

// afterBut is what follows the word for but at the front of the text; false where there
// is none.
func (t *turn) afterBut(text string) (rest string, ok bool) {
	_, rest, ok = words().Match(t.lang(), "likebut", text)
	return between(rest), ok
}

// between takes off what may stand between the parts of the message.
func between(text string) string { return strings.TrimLeft(text, " \t,;:.-–—\n") }

// which finds the window that is meant at the front of the text, and gives what follows.
func (t *turn) which(l *likeness, text string) string {
	code, rest, ok := words().Match(t.lang(), "likewhich", text)
	switch {
	case ok && code == "last":
		l.which = "last"
		t.last(l)
		return rest
	case ok:
		text = rest
	}
	id, more, numbered := openingNumber(strings.TrimLeft(text, "#"))
	switch {
	case numbered && t.Job != nil && t.Job.Ref == t.Ref && id <= job.MostOpenings:
		l.which = "number"
		if o, found := t.Job.Find(id); found {
			l.from(o)
		}
		return more
	case numbered && ok:
		l.which = "number"
		return more
	}
	if more, found := t.named(l, text); found {
		return more
	}
	t.last(l)
	return text
}

func (l *likeness) from(o job.Opening) { l.source, l.of, l.name, l.known = o.Said, o.ID, o.Name, true }

// last is the window before the one that is begun: the one at hand, else the one that
// was at hand before, else the last of the job.
func (t *turn) last(l *likeness) {
	o, inJob := t.window()
	switch {
	case !t.answered() || l.opener != "next" && !t.chosen(): // what is at hand is to be as the one before
	case inJob:
		l.from(o)
		return
	default:
		l.source, l.known = t.Hand, true
		return
	}
	if was := t.Was; was != nil && was.Ref == t.Ref {
		k := was.Hand.Known()
		if was.Window == 0 && k.Started() {
			l.source, l.known = was.Hand, true
			return
		}
		if t.Job != nil && was.Window != 0 {
			if o, ok := t.Job.Find(was.Window); ok {
				l.from(o)
				return
			}
		}
	}
	if t.Job == nil || t.Job.Ref != t.Ref || len(t.Job.Openings) == 0 {
		return
	}
	for _, o := range slices.Backward(t.Job.Openings) {
		if o, ok := t.Job.Find(o.ID); ok && o.ID != t.Editing {
			l.from(o)
			return
		}
	}
}

// named finds the window whose name, or whose room, begins the text: of several the
// last one.
func (t *turn) named(l *likeness, text string) (rest string, found bool) {
	if _, after, ok := words().Match(t.lang(), "likethe", text); ok {
		text = after
	}
	longest := -1
	if t.Job != nil && t.Job.Ref == t.Ref {
		for _, o := range t.Job.Openings {
			if n := len(o.Name); n > longest && beginsWith(text, o.Name) {
				longest = n
				found, _ := t.Job.Find(o.ID)
				l.from(found)
			}
		}
	}
	if longest > 0 {
		l.which = "name"
		return text[longest:], true
	}
	room, rest, ok := words().Match(t.lang(), "room", text)
	if !ok {
		return text, false
	}
	one := likeness{}
	if t.last(&one); one.known && roomOf(one.source) == room {
		*l = likeness{opener: l.opener, source: one.source, of: one.of, name: one.name, known: true, which: "name"}
		return rest, true
	}
	if t.Job != nil && t.Job.Ref == t.Ref {
		for _, o := range t.Job.All() {
			if roomOf(o.Said) == room {
				l.from(o)
				l.which = "name"
			}
		}
	}
	return rest, l.which == "name"
}

func roomOf(r opening.Record) string {
	k := r.Known()
	return k.Value("room")
}

// beginsWith says whether a text begins with the name as whole words.
func beginsWith(text, name string) bool {
	if len(text) < len(name) || name == "" || !strings.EqualFold(text[:len(name)], name) {
		return false
	}
	next, _ := utf8.DecodeRuneInString(text[len(name):])
	return len(text) == len(name) || !unicode.IsLetter(next) && !unicode.IsDigit(next)
}

// beginLike makes the window: a new one, or what is at hand where nothing was said of it
// yet.
func (t *turn) beginLike(l likeness) bool {
	if t.answered() {
		t.leave()
		t.begin()
	}
	if l.of == 0 || t.Job == nil || t.Job.Ref != t.Ref {
		t.Hand = t.Hand.Copy(l.source, t.stamp(), l.of, opening.OfOneWindow...)
		t.say(phrase.Of("copy.like").Sub1("source", copiedFrom(l.of)))
		return true
	}
	name := words().Plain(t.lang(), phrase.Of("job.window").WithInt("n", t.Job.LastID+1))
	j, _, err := t.Job.Copy(t.who(), t.now, l.of, name)
	if !t.took(j, nil, err) {
		return false
	}
	t.postGlance()
	t.begin()
	t.Editing, t.Hand = t.Job.LastID, opening.Record{}
	source := copiedFrom(l.of)
	if own := words().Plain(t.lang(), phrase.Of("job.window").WithInt("n", l.of)); l.name != own {
		source = phrase.Of("job.words").Saying("words", l.name)
	}
	t.say(phrase.Of("copy.like.job").WithInt("n", t.Job.LastID).Sub1("source", source))
	return true
}

// toldOf says whether the desk was told of the window at hand.
func (t *turn) toldOf() bool {
	if t.Job == nil || t.Editing == 0 {
		return false
	}
	o, ok := t.Job.Find(t.Editing)
	if !ok {
		return false
	}
	_, told := o.Told()
	return told
}

// fillLike takes what was not said yet of the window at hand from another. Readings of
// a window that was ordered are measured again: a copy of the same length would stand on
// the order as if it were measured.
func (t *turn) fillLike(l likeness) bool {
	from, here := l.source.Known(), t.answers()
	ordered := t.toldOf()
	var list []opening.Entry
	for f := range opening.Fields {
		e := from.Entry(f.Key)
		if e != nil && !here.Has(f.Key) && f.Scope == opening.Window && !opening.IsOfOneWindow(f.Key) && !(ordered && opening.OfTheTape(f.Key)) {
			list = append(list, opening.Entry{Act: opening.Set, Key: f.Key, Value: e.Value, How: opening.Copied, Of: l.of})
		}
	}
	if len(list) > 0 && !t.write(list...) {
		return false
	}
	t.say(phrase.Of("copy.like.rest").Sub1("source", copiedFrom(l.of)))
	return true
}
