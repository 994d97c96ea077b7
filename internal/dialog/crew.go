package dialog

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// The tolerance is a setting of the job, not of the plan.
const toleranceSetting = "tolerance"

// setting is a setting of the crew by the name that it is stored under; nil
// for none.
func setting(name string) *opening.Field { return opening.Find(opening.CrewPrefix + name) }

// crewOf is what a list of settings makes; nil when all are the usual ones.
func crewOf(set []Answer) *plan.Crew { return known(nil, set).Crew() }

// settingsOf are the settings that make c, as they are kept with a window.
func settingsOf(c *plan.Crew) []Answer {
	var list []Answer
	for _, set := range c.Changed() {
		list = append(list, Answer{Key: strings.TrimPrefix(set.Key, opening.CrewPrefix), Value: set.Value})
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
	f := setting(key)
	usual := usualSetting(f)
	if f.Kind == opening.Choice {
		first, after, _ := strings.Cut(rest, " ")
		set.Value = strings.ReplaceAll(first, ",", ".")
		if !slices.Contains(f.Rows[0], set.Value) {
			return set, text, sorry(phrase.Of("settings.sealant"))
		}
		if set.Value == usual {
			set.Value = ""
		}
		return set, strings.TrimSpace(after), nil
	}
	l, after, err := t.length((*question)(f), rest)
	if err != nil || !l.Clear() || strings.HasPrefix(after, "/") {
		return set, text, sorry(phrase.Of("settings.value").Word("name", "setting."+key).With("least", f.Usual.Least).With("most", f.Usual.Most))
	}
	if l.MM.String() != usual {
		set.Value = l.MM.String()
	}
	return set, after, nil
}

// usualSetting is what a setting is when nobody sets it.
func usualSetting(f *opening.Field) string {
	if f.File == "" {
		return job.DefaultSettings().Tolerance.String()
	}
	c := plan.DefaultCrew()
	return f.OfCrew(&c)
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
	t.ordered = t.answers().CanOrder() && slices.ContainsFunc(keys, func(key string) bool {
		return setting(key).Is(opening.Sizes)
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
	for f := range opening.Fields {
		if f.Scope == opening.CrewWide {
			lines = append(lines, t.settingLine(strings.TrimPrefix(f.Key, opening.CrewPrefix)))
		}
	}
	t.say(append(lines, phrase.Of("settings.how"))...)
}

func (t *turn) settingLine(key string) phrase.Text {
	return phrase.Of("echo").Word("name", "setting."+key).Sub1("value", t.settingText(key))
}

// settingText is the value in force, and whether it is only an example.
func (t *turn) settingText(key string) phrase.Text {
	f := setting(key)
	value, own := usualSetting(f), false
	for _, set := range t.Crew {
		if set.Key == key {
			value, own = set.Value, true
		}
	}
	switch {
	case f.Kind == opening.Choice:
		return phrase.Of("settings.class").Saying("class", value)
	case f.Is(opening.Example) && !own:
		return phrase.Of("settings.example").With("mm", number(value))
	}
	return phrase.Of("length").With("mm", number(value))
}

// number is a stored figure; zero for none.
func number(value string) decimal.Decimal {
	d, err := decimal.NewFromString(value)
	if err != nil {
		return decimal.Zero
	}
	return d
}

// sayFaces says which of the faces that the glass sizes go by are examples
// still.
func (t *turn) sayFaces(l calc.Layout) {
	opens := slices.ContainsFunc(l.Lights, func(light calc.Light) bool { return light.Hinge != calc.FixedLight })
	used := map[string]bool{"outer": true, "rebate": true, "sash": opens, "mullion": len(l.Lights) > 1}
	a := t.answers()
	var examples []phrase.Text
	for f := range opening.Fields {
		if name := strings.TrimPrefix(f.Key, opening.CrewPrefix); f.Is(opening.Example) && used[name] && !a.Has(f.Key) {
			examples = append(examples, phrase.Of("settings.face").Word("name", "setting."+name).With("mm", number(usualSetting(f))))
		}
	}
	if len(examples) > 0 {
		t.say(phrase.Of("settings.faces").WithRow("faces", examples...))
	}
}
