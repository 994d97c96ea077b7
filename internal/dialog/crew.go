package dialog

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// setting is one thing that a crew sets once for all windows of the chat.
type setting struct {
	key    string
	of     func(*plan.Crew) *decimal.Decimal // mm
	within reading.Range
	// mine: the usual value is an example, not anybody's figure.
	mine bool
}

var settings = []setting{
	{"outer", func(c *plan.Crew) *decimal.Decimal { return &c.OuterFace }, mm(20, 200), true},
	{"sash", func(c *plan.Crew) *decimal.Decimal { return &c.SashFace }, mm(20, 200), true},
	{"mullion", func(c *plan.Crew) *decimal.Decimal { return &c.MullionFace }, mm(20, 250), true},
	{"rebate", func(c *plan.Crew) *decimal.Decimal { return &c.EdgeCover }, mm(5, 60), true},
	{"depth", func(c *plan.Crew) *decimal.Decimal { return &c.FrameDepth }, mm(30, 250), false},
	{"embedment", func(c *plan.Crew) *decimal.Decimal { return &c.Embedment }, mm(20, 200), false},
	{"plaster", func(c *plan.Crew) *decimal.Decimal { return &c.PlasterThickness }, mm(0, 60), false},
	{"cover", func(c *plan.Crew) *decimal.Decimal { return &c.CheckCover }, mm(0, 80), false},
	{"sillpiece", func(c *plan.Crew) *decimal.Decimal { return &c.SillPieceHeight }, mm(10, 100), false},
}

// Two settings are no lengths of the plan.
const (
	sealantSetting   = "sealant"
	toleranceSetting = "tolerance"
)

var toleranceRange = mm(1, 20)

// sealants are the movement classes that a crew may have in the van.
var sealants = []calc.SealantClass{calc.Class25, calc.Class20, calc.Class125, calc.Class75}

// crewPrefix marks a setting among the answers, which carry them to the
// record of the opening.
const crewPrefix = "~crew."

// crew is the settings of the crew; nil when all of them are the usual ones.
func (a answers) crew() *plan.Crew {
	if a[crewPrefix] == "" {
		return nil
	}
	c := plan.DefaultCrew()
	for _, s := range settings {
		if a.given(crewPrefix + s.key) {
			*s.of(&c) = a.number(crewPrefix + s.key)
		}
	}
	if class := calc.SealantClass(a[crewPrefix+sealantSetting]); slices.Contains(sealants, class) {
		c.Joint.Class = class
	}
	return &c
}

// crewOf is what a list of settings makes; nil when all are the usual ones.
func crewOf(set []Answer) *plan.Crew {
	a := answers{}
	addCrew(a, set)
	return a.crew()
}

// addCrew puts settings among the answers.
func addCrew(a answers, set []Answer) {
	for _, ans := range set {
		a[crewPrefix], a[crewPrefix+ans.Key] = "yes", ans.Value
	}
}

// settingsOf are the settings that make c, as they are kept with a window.
func settingsOf(c *plan.Crew) []Answer {
	if c == nil {
		return nil
	}
	var list []Answer
	usual := plan.DefaultCrew()
	for _, s := range settings {
		if value := *s.of(c); !value.Equal(*s.of(&usual)) {
			list = append(list, Answer{Key: s.key, Value: value.String()})
		}
	}
	if c.Joint.Class != usual.Joint.Class {
		list = append(list, Answer{Key: sealantSetting, Value: string(c.Joint.Class)})
	}
	return list
}

// jobSettings are those of a new job.
func (s State) jobSettings() job.Settings {
	js := job.DefaultSettings()
	for _, ans := range s.Crew {
		if n, err := decimal.NewFromString(ans.Value); ans.Key == toleranceSetting && err == nil {
			js.Tolerance = n
		}
	}
	return js
}

// crewCommand shows the settings, changes some, or works the window at hand
// out with them.
func (t *turn) crewCommand(text string) {
	if text == "" {
		t.quiet = t.done()
		t.sayCrew()
		return
	}
	if _, _, here := words().Match(t.lang(), "here", text); here {
		t.crewHere()
		return
	}
	list := slices.Clone(t.Crew)
	var changed []string
	for text != "" {
		set, rest, trouble := t.oneSetting(text)
		if trouble != nil {
			t.say(*trouble)
			return
		}
		list = slices.DeleteFunc(list, func(old Answer) bool { return old.Key == set.Key })
		if set.Value != "" {
			list = append(list, set)
		}
		changed, text = append(changed, set.Key), rest
	}
	t.Crew = list
	t.sayChanged(changed)
}

// oneSetting reads a setting's name and what it is to be from the front of
// text. The usual value is stored as none.
func (t *turn) oneSetting(text string) (set Answer, rest string, trouble *phrase.Text) {
	key, rest, ok := words().Match(t.lang(), "setting", text)
	if !ok {
		return set, text, sorry(phrase.Of("settings.which").Saying("given", cut(text)))
	}
	set.Key = key
	if _, after, usual := words().Match(t.lang(), "usual", rest); usual {
		return set, after, nil
	}
	if key == sealantSetting {
		first, after, _ := strings.Cut(rest, " ")
		class := calc.SealantClass(strings.ReplaceAll(first, ",", "."))
		if !slices.Contains(sealants, class) {
			return set, text, sorry(phrase.Of("settings.sealant"))
		}
		if class != plan.DefaultCrew().Joint.Class {
			set.Value = string(class)
		}
		return set, strings.TrimSpace(after), nil
	}
	within, usual := settingRange(key)
	l, after, err := t.length(&question{within: within}, rest)
	if err != nil || !l.Clear() || strings.HasPrefix(after, "/") {
		return set, text, sorry(phrase.Of("settings.value").Word("name", "setting."+key).With("least", within.Least).With("most", within.Most))
	}
	if !l.MM.Equal(usual) {
		set.Value = l.MM.String()
	}
	return set, after, nil
}

// settingRange is what a length may be, and what it is when nobody sets it.
func settingRange(key string) (within reading.Range, usual decimal.Decimal) {
	c := plan.DefaultCrew()
	for _, s := range settings {
		if s.key == key {
			return s.within, *s.of(&c)
		}
	}
	return toleranceRange, job.DefaultSettings().Tolerance
}

// sayChanged says what the settings are now and what they hold for. A window
// that is kept in a job keeps its own: the desk may have confirmed it.
func (t *turn) sayChanged(keys []string) {
	for _, key := range keys {
		t.say(t.settingLine(key))
	}
	if slices.Contains(keys, toleranceSetting) {
		t.say(phrase.Of("settings.tolerance"))
	}
	if len(keys) == 1 && keys[0] == toleranceSetting {
		return
	}
	if t.Job != nil && t.Editing != 0 {
		t.quiet = t.done()
		t.say(phrase.Of("settings.next").WithInt("n", t.Editing))
		return
	}
	t.useCrew()
	t.ordered = t.answers().canOrder() && slices.ContainsFunc(keys, func(key string) bool {
		return slices.Contains([]string{"plaster", "cover", "sillpiece"}, key)
	})
	if t.Second == nil && t.done() {
		t.say(phrase.Of("settings.done"))
		t.quiet = true
	}
}

// useCrew makes the window at hand go by the crew's settings.
func (t *turn) useCrew() { t.Set, t.byKey, t.from = slices.Clone(t.Crew), nil, nil }

// crewHere works a window that is kept in a job out with the settings of now.
func (t *turn) crewHere() {
	if t.Second != nil || !t.done() {
		t.useCrew()
		return
	}
	before := t.Set
	t.useCrew()
	if !t.keepOpening() {
		t.Set, t.byKey, t.from = before, nil, nil
		return
	}
	t.summarise(false)
	t.quiet = true
}

// sayCrew says every setting and how to change one.
func (t *turn) sayCrew() {
	lines := []phrase.Text{phrase.Of("settings.title")}
	for _, s := range settings {
		lines = append(lines, t.settingLine(s.key))
	}
	t.say(append(lines, t.settingLine(sealantSetting), t.settingLine(toleranceSetting), phrase.Of("settings.how"))...)
}

func (t *turn) settingLine(key string) phrase.Text {
	return phrase.Of("echo").Word("name", "setting."+key).Sub1("value", t.settingText(key))
}

// settingText is the value in force, and whether it is only an example.
func (t *turn) settingText(key string) phrase.Text {
	c := plan.DefaultCrew()
	if own := crewOf(t.Crew); own != nil {
		c = *own
	}
	switch key {
	case sealantSetting:
		return phrase.Of("settings.class").Saying("class", string(c.Joint.Class))
	case toleranceSetting:
		return phrase.Of("length").With("mm", t.jobSettings().Tolerance)
	}
	for _, s := range settings {
		if s.key != key {
			continue
		}
		if s.mine && !slices.ContainsFunc(t.Crew, func(set Answer) bool { return set.Key == key }) {
			return phrase.Of("settings.example").With("mm", *s.of(&c))
		}
		return phrase.Of("length").With("mm", *s.of(&c))
	}
	return phrase.Text{}
}

// sayFaces says which of the faces that the glass sizes go by are examples
// still.
func (t *turn) sayFaces(l calc.Layout) {
	opens := slices.ContainsFunc(l.Lights, func(light calc.Light) bool { return light.Hinge != calc.FixedLight })
	used := map[string]bool{"outer": true, "rebate": true, "sash": opens, "mullion": len(l.Lights) > 1}
	a := t.answers()
	var examples []phrase.Text
	for _, s := range settings {
		if s.mine && used[s.key] && !a.given(crewPrefix+s.key) {
			_, usual := settingRange(s.key)
			examples = append(examples, phrase.Of("settings.face").Word("name", "setting."+s.key).With("mm", usual))
		}
	}
	if len(examples) > 0 {
		t.say(phrase.Of("settings.faces").WithRow("faces", examples...))
	}
}
