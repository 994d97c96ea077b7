package dialog

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// crewCommand shows the settings, changes some, or works the window at hand
// out with them.
func crewCommand(t *turn, text string) {
	if text == "" {
		t.quiet = t.done()
		sayCrew(t)
		return
	}
	if _, _, here := words().Match(t.lang(), "here", text); here {
		crewHere(t)
		return
	}
	list := slices.Clone(t.Crew)
	var changed []string
	for text != "" {
		set, rest, trouble := oneSetting(t, text)
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
	sayChanged(t, changed)
}

// oneSetting reads a setting's name and what it is to be from the front of
// text. The usual value is stored as none.
func oneSetting(t *turn, text string) (set Answer, rest string, trouble *phrase.Text) {
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
	switch key {
	case certifiesSetting:
		return certifiedBy(t, set, rest)
	case customerSetting:
		return customerWanted(t, set, rest)
	}
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
	switch f.Kind {
	case opening.Lengths:
		return severalLengths(f, set, rest)
	case opening.Figure:
		if _, ok := usualTerms[key]; ok {
			return oneTerm(t, f, set, rest)
		}
		return kilograms(f, set, rest)
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

// kilograms reads a setting of a mass in kg from the front of text.
func kilograms(f *opening.Field, set Answer, text string) (Answer, string, *phrase.Text) {
	first, after, _ := strings.Cut(text, " ")
	kg, err := decimal.NewFromString(strings.ReplaceAll(strings.TrimSuffix(first, "kg"), ",", "."))
	if err != nil || !f.Usual.Has(kg) {
		key := "settings.mass"
		if f.Is(opening.Example) {
			key = "settings.mass.metre"
		}
		return set, text, sorry(phrase.Of(key).Word("name", "setting."+set.Key).With("least", f.Usual.Least).With("most", f.Usual.Most))
	}
	if set.Value = kg.String(); set.Value == usualSetting(f) {
		set.Value = ""
	}
	if unit, rest, _ := strings.Cut(after, " "); unit == "kg" {
		after = rest
	}
	return set, strings.TrimSpace(after), nil
}

// certifiedBy reads who certifies what the crew does from the front of text.
func certifiedBy(t *turn, set Answer, text string) (Answer, string, *phrase.Text) {
	for _, group := range []string{"certifies", "certifies-open"} {
		if code, rest, ok := words().Match(t.lang(), group, text); ok {
			if set.Value = code; code == "unknown" {
				set.Value = ""
			}
			return set, rest, nil
		}
	}
	return set, text, sorry(phrase.Of("settings.certifies"))
}

// customerWanted reads whether the customer has to agree from the front of text.
func customerWanted(t *turn, set Answer, text string) (Answer, string, *phrase.Text) {
	code, rest, ok := words().Match(t.lang(), "answer", text)
	if !ok || code != "yes" && code != "no" {
		return set, text, sorry(phrase.Of("settings.customer"))
	}
	if code == "yes" {
		set.Value = code
	}
	return set, rest, nil
}

// severalLengths reads a setting of several lengths in mm from the front of
// text.
func severalLengths(f *opening.Field, set Answer, text string) (Answer, string, *phrase.Text) {
	var list []string
	rest := text
	for rest != "" {
		word, after, _ := strings.Cut(rest, " ")
		word = strings.TrimSuffix(strings.TrimRight(word, ",;"), "mm")
		if strings.Trim(word, "0123456789.") != "" {
			break
		}
		if rest = strings.TrimSpace(after); word == "" {
			continue
		}
		if mm := number(word); f.Usual.Has(mm) {
			list = append(list, mm.String())
			continue
		}
		list = nil
		break
	}
	if len(list) == 0 || len(list) > mostLengths {
		return set, text, sorry(phrase.Of("settings.lengths.which").With("least", f.Usual.Least).With("most", f.Usual.Most))
	}
	if set.Value = strings.Join(list, " "); set.Value == usualSetting(f) {
		set.Value = ""
	}
	return set, rest, nil
}

// mostLengths is how many lengths a setting takes: a guard against nonsense.
const mostLengths = 40

// sayChanged says what the settings are now and what they hold for. A window
// that is kept in a job keeps its own: the desk may have confirmed it.
func sayChanged(t *turn, keys []string) {
	for _, key := range keys {
		t.say(settingLine(t, key))
	}
	if slices.Contains(keys, toleranceSetting) {
		t.say(phrase.Of("settings.tolerance"))
	}
	if slices.Contains(keys, customerSetting) {
		t.useCustomer()
	}
	if !slices.ContainsFunc(keys, func(key string) bool { return key != toleranceSetting && key != customerSetting && !isTerm(key) }) {
		return
	}
	if slices.Contains(keys, certifiesSetting) && !t.inJob() && t.Second == nil && !t.answers().Has(certifiesSetting) {
		t.write(slices.DeleteFunc(t.usual(), func(e opening.Entry) bool { return e.Key != certifiesSetting })...)
	}
	if t.inJob() {
		t.quiet = t.done()
		t.say(phrase.Of("settings.next").WithInt("n", t.Editing))
		return
	}
	useCrew(t)
	t.ordered = t.answers().CanOrder() && slices.ContainsFunc(keys, func(key string) bool {
		return setting(key).Is(opening.Sizes)
	})
	if t.Second == nil && t.done() {
		t.say(phrase.Of("settings.done"))
		t.quiet = true
	}
}

// crewHere works a window that is kept in a job out with the settings of now.
func crewHere(t *turn) {
	if t.Second != nil || !t.done() {
		useCrew(t)
		return
	}
	t.quiet = true
	if useCrew(t) {
		t.summarise(false)
	}
}

// helpSetting explains a setting that was named after help and crew, under a
// sketch of it where there is one; false when none was.
func helpSetting(t *turn, text string) bool {
	code, name, ok := words().Match(t.lang(), "command", text)
	if !ok || code != "crew" || name == "" {
		return false
	}
	key, rest, ok := words().Match(t.lang(), "setting", name)
	if !ok || rest != "" {
		t.say(phrase.Of("settings.which").Saying("given", cut(name)))
		return true
	}
	t.say(settingLine(t, key))
	if f := setting(key); f.Is(opening.Sketched) {
		t.say(phrase.Of("help.setting." + key))
		t.sketch((*question)(f))
	}
	return true
}

// sayCrew says every setting and how to change one.
func sayCrew(t *turn) {
	lines := []phrase.Text{phrase.Of("settings.title")}
	for f := range opening.Fields {
		if f.Scope == opening.CrewWide {
			lines = append(lines, settingLine(t, strings.TrimPrefix(f.Key, opening.CrewPrefix)))
		}
	}
	if !t.group { // there it is the group's
		lines = append(lines, t.Reminders.line())
	}
	t.say(append(lines, phrase.Of("settings.how"))...)
	if t.access != nil && t.access.As == talk.Owner {
		t.say(phrase.Of("crew.hint"))
	}
}

func settingLine(t *turn, key string) phrase.Text {
	return phrase.Of("echo").Word("name", "setting."+key).Sub1("value", settingText(t, key))
}

// settingText is the value in force, and whether it is only an example.
func settingText(t *turn, key string) phrase.Text {
	f := setting(key)
	value, own := usualSetting(f), false
	for _, set := range t.Crew {
		if set.Key == key {
			value, own = set.Value, true
		}
	}
	switch {
	case key == certifiesSetting:
		return phrase.Of("button.certifies." + value)
	case key == customerSetting:
		return phrase.Of("button.answer." + value)
	case isTerm(key):
		return termText(key, number(value))
	case f.Kind == opening.Choice:
		return phrase.Of("settings.class").Saying("class", value)
	case f.Is(opening.Example) && f.Kind == opening.Figure && !own:
		return phrase.Of("settings.example.kgm").With("kg", number(value))
	case f.Is(opening.Example) && f.Kind == opening.Figure:
		return phrase.Of("settings.kgm").With("kg", number(value))
	case f.Kind == opening.Figure && value == "0":
		return phrase.Of("settings.lift")
	case f.Kind == opening.Figure:
		return phrase.Of("settings.kg").With("kg", number(value))
	case f.Kind == opening.Lengths:
		return phrase.Of("settings.lengths").Saying("list", strings.ReplaceAll(value, " ", ", "))
	case f.Is(opening.Example) && !own:
		return phrase.Of("settings.example").With("mm", number(value))
	}
	return phrase.Of("length").With("mm", number(value))
}
