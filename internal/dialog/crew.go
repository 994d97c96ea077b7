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
	{"rebate", func(c *plan.Crew) *decimal.Decimal { return &c.RebateDepth }, mm(5, 60), true},
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

// crewOf is the settings while there may be no answer yet.
func crewOf(s State) *plan.Crew {
	a := answers{}
	s.addCrew(a)
	return a.crew()
}

// jobSettings are those of a new job.
func (s State) jobSettings() job.Settings {
	js := job.DefaultSettings()
	a := answers{}
	s.addCrew(a)
	if a.given(crewPrefix + toleranceSetting) {
		js.Tolerance = a.number(crewPrefix + toleranceSetting)
	}
	return js
}

// addCrew puts the settings among the answers.
func (s State) addCrew(a answers) {
	for _, set := range s.Crew {
		a[crewPrefix], a[crewPrefix+set.Key] = "yes", set.Value
	}
}

// crewCommand shows the settings, or changes one.
func (t *turn) crewCommand(text string) {
	if text == "" {
		t.quiet = t.done()
		t.sayCrew()
		return
	}
	key, rest, ok := words().Match(t.lang(), "setting", text)
	if !ok {
		t.say(phrase.Of("settings.which").Saying("given", cut(text)))
		t.sayCrew()
		return
	}
	if _, _, usual := words().Match(t.lang(), "usual", rest); usual {
		t.setCrew(key, "")
		return
	}
	value, trouble := t.settingValue(key, rest)
	if trouble != nil {
		t.say(*trouble)
		return
	}
	t.setCrew(key, value)
}

// settingValue reads what a setting is to be.
func (t *turn) settingValue(key, text string) (string, *phrase.Text) {
	if key == sealantSetting {
		class := calc.SealantClass(strings.ReplaceAll(firstWord(text), ",", "."))
		if !slices.Contains(sealants, class) {
			return "", sorry(phrase.Of("settings.sealant"))
		}
		return string(class), nil
	}
	within := toleranceRange
	for _, s := range settings {
		if s.key == key {
			within = s.within
		}
	}
	l, _, err := reading.Next(text, within)
	if err != nil || !l.Clear() {
		return "", sorry(phrase.Of("settings.value").Word("name", "setting."+key).With("least", within.Least).With("most", within.Most))
	}
	return l.MM.String(), nil
}

// setCrew puts a setting in force; an empty value makes it the usual one. The
// window at hand is worked out again.
func (t *turn) setCrew(key, value string) {
	list := slices.DeleteFunc(slices.Clone(t.Crew), func(old Answer) bool { return old.Key == key })
	if value != "" {
		list = append(list, Answer{Key: key, Value: value})
	}
	t.Crew, t.byKey, t.from = list, nil, nil
	t.say(phrase.Of("echo").Word("name", "setting."+key).Sub1("value", t.settingText(key)))
	if key == toleranceSetting {
		t.say(phrase.Of("settings.tolerance"))
		return
	}
	t.ordered = t.answers().canOrder() && slices.Contains([]string{"plaster", "cover", "sillpiece"}, key)
	if t.Second != nil || !t.done() {
		return
	}
	t.keepOpening()
	t.say(phrase.Of("settings.done"))
	t.quiet = true
}

// sayCrew says every setting and how to change one.
func (t *turn) sayCrew() {
	lines := []phrase.Text{phrase.Of("settings.title")}
	for _, s := range settings {
		lines = append(lines, phrase.Of("echo").Word("name", "setting."+s.key).Sub1("value", t.settingText(s.key)))
	}
	for _, key := range []string{sealantSetting, toleranceSetting} {
		lines = append(lines, phrase.Of("echo").Word("name", "setting."+key).Sub1("value", t.settingText(key)))
	}
	t.say(append(lines, phrase.Of("settings.how"))...)
}

// settingText is the value in force, and whether it is only an example.
func (t *turn) settingText(key string) phrase.Text {
	a := answers{}
	t.addCrew(a)
	c := plan.DefaultCrew()
	if own := a.crew(); own != nil {
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
		if s.mine && !a.given(crewPrefix+key) {
			return phrase.Of("settings.example").With("mm", *s.of(&c))
		}
		return phrase.Of("length").With("mm", *s.of(&c))
	}
	return phrase.Text{}
}

// sayFaces says that the sizes of the glass go by example profiles, until the
// crew has set its own.
func (t *turn) sayFaces() {
	a := t.answers()
	for _, key := range []string{"outer", "sash", "mullion", "rebate"} {
		if a.given(crewPrefix + key) {
			return
		}
	}
	c := plan.DefaultCrew()
	t.say(phrase.Of("settings.faces").With("outer", c.OuterFace).With("sash", c.SashFace).With("mullion", c.MullionFace))
}
