package locales_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"sillbot/internal/codetest"
	"sillbot/internal/day"
	"sillbot/internal/dialog"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// A family is keys that the code joins together of a constant and of what only
// the run shows: a code in the place of the star. Each of its codes has a
// sentence, in which all places are filled where the code joins the key.
type family struct {
	key   string
	codes []string
	// followed families are of codes that come from elsewhere with figures of
	// their own: each constant that can come there is looked at besides, but those
	// those that are known not to.
	followed bool
	but      []string
	filled   []string // places that are filled where the code comes from
}

// families are declared here and nowhere else. Where both parts of a join can
// be followed to constants, as "place.left" + row, nothing need be declared.
func families(t *testing.T, src *codetest.Source) []family {
	of := func(typ string) []string { return src.Constants(t, typ) }
	var (
		hinges    = of("internal/calc.Hinge")
		materials = of("internal/calc.Material")
		nations   = of("internal/safety.Nation")
		rooms     = of("internal/safety.Room")
		sides     = of("internal/calc.Side")
		actions   = of("internal/job.Action")
		reminded  = codes("delivery question check unconfirmed")
		steps     = codes("deliver take_out fit glaze seal hand_over")
	)
	all := []family{
		{key: "reach.lost.*", codes: of("internal/talk.Why")},
		{key: "note.what.*", codes: opening.Notes}, {key: "note.deleted.*", codes: opening.Notes},
		{key: "crew.as.*", codes: of("internal/talk.Standing")},
		{key: "crew.let.*", codes: codes("invite not")},
		{key: "reach.order.*", codes: of("internal/job.OrderReach")},
		{key: "remind.fitter.*", codes: reminded},
		{key: "button.remind.off.*", codes: reminded}, {key: "button.remind.on.*", codes: reminded}, {key: "reminders.of.*", codes: reminded},
		// The survey.
		{key: "name.*", codes: append(asked(), "name", "count", "colour", "hardware")},
		{key: "ask.*", codes: append(without(asked(), "light"), "colour")}, // light says more
		{key: "help.*", codes: append(asked(), "colour")},
		{key: "example.*", codes: append(asked(), "colour")},
		{key: "more.*", codes: codes("nation nation.only date finish sill width.top height.left height.left.sill inner.width diagonal.rising sill.fall layout storey glass vents over pattern restrictor area obscure tight bedjoint opens handle colour inside safeglass coating trickle trickle.area trickle.colour sillend stays unload lightglass")},
		{key: "reason.*", codes: append(asked(), "colour")},
		{key: "glossary.*", codes: heard["term"]},
		{key: "assumed.*", codes: fields(func(f *opening.Field) bool { return f.Safe != "" })},
		{key: "house.safe.*", codes: houseFields()},
		{key: "held.*", codes: append(of("internal/hear.Why"), "which", "common"), filled: codes("words values")},
		{key: "skipped.*", codes: without(fields(func(f *opening.Field) bool { return f.Is(opening.Skips) && !f.Is(opening.Maker) }), "diagonal.falling", "inner.height")}, // said with its fellow,
		{key: "button.skip.*", codes: codes("mullion transom")},
		{key: "button.change.*", codes: targets()},
		{key: "button.shortcut.*", codes: codes("england-today wales-today scotland-today ni-today left-fixed fixed-right left-right bath-near bath-far ground")},
		{key: "button.layout.*", codes: codes("1 2 3 4 1t 2t 3t 4t")},
		{key: "button.date.*", codes: choices("date")},
		{key: "button.sill.depth.*", codes: without(choices("sill"), "none")},
		{key: "button.sill.*", codes: codes("none")},
		{key: "button.glass.*", codes: choices("glass")},
		{key: "button.room.*", codes: rooms},
		{key: "button.nation.*", codes: nations},
		{key: "button.finish.*", codes: of("internal/calc.Finish")},
		{key: "button.material.*", codes: materials},
		{key: "button.light.*", codes: hinges},
		{key: "setting.*", codes: settings()},
		{key: "help.setting.*", codes: sketchedSettings()},
		{key: "command.*", codes: dialog.Commands},
		{key: "kind.*", codes: codes("edited photo file voice sticker unknown")},
		{key: "language.name.*", codes: codes("en")},
		{key: "month.*", codes: codes("1 2 3 4 5 6 7 8 9 10 11 12")},
		{key: "unit.*", codes: codes("mm cm in ml m l kg m3 piece")},
		{key: "sum.*", codes: codes("width height")},
		{key: "sum.*.rounded", codes: codes("width height")},

		// The plan, its reasons and findings.
		{key: "why.*", followed: true, but: codes("- gap_over_largest_check")},
		{key: "why.take_*", codes: of("internal/calc.ItemKind")},
		{key: "item.*", codes: of("internal/calc.ItemKind")},
		{key: "slip.*", codes: codes("swap ten fifty hundred misread")},
		{key: "material.*", codes: materials},
		{key: "nation.*", codes: nations},
		{key: "room.*", codes: rooms},
		{key: "side.*", codes: sides},
		{key: "blocks.*", codes: hinges},
		{key: "masonry.*", codes: of("internal/calc.Masonry")},
		{key: "inside.*", codes: of("internal/calc.InsideWork")},
		{key: "plan.side.*", codes: sides},
		{key: "size.*", codes: codes("width height")},
		{key: "figure.place.*", codes: sides},
		{key: "unmeasured.*", codes: codes("diagonals sill overlap plaster floor outside")},
		{key: "screen.blocks.*", codes: codes("fixed side-left side-right top bottom")},
		{key: "screen.weight.*", codes: codes("stop must ask advise of"), filled: codes("lights")},
		{key: "job.once.*", codes: plan.JobNames},
		{key: "button.why.*", codes: append([]string{"more"}, plan.Topics...)},
		{key: "brief.*", codes: plan.Briefs, filled: codes("middle reading now apart off slip closes other limit belly side cover least gap most at count out needed short " +
			"class height datum wide reach thickness below ball guard area room fails then bottom part open floor u")},
		{key: "sheet.pane.*", codes: choices("safeglass")},
		{key: "order.finding.*", codes: plan.OrderRules, filled: codes("area room have short limit share nation u")},
		{key: "plan.fixings.*", codes: sides},
		{key: "topic.*", codes: codes("glass bath guarding escape vents purge heat paper hazards")},
		{key: "rules.*", codes: codes("known undated borrowed ended early unverified")},
		{key: "source.*", followed: true, but: codes("-")},
		{key: "mark.with.*", codes: codes("M C")},
		{key: "mark.*", codes: append(of("internal/calc.Mark"), "")},
		{key: "warnings.*", codes: of("internal/safety.Severity")},
		{key: "warnings.*.lights", codes: of("internal/safety.Severity")},

		// The card and the papers.
		{key: "card.light.*", codes: hinges},
		{key: "card.material.*", codes: materials},
		{key: "card.nation.*", codes: nations},
		{key: "card.room.*", codes: rooms},
		{key: "sheet.check.finish.*", codes: of("internal/calc.Finish")},
		{key: "sheet.check.side.*", codes: codes("first second")},
		{key: "sheet.check.closes.*", codes: codes("first second")},
		{key: "sheet.state.*", codes: codes("ordered queried confirmed delivered changed deleted")},
		{key: "sheet.role.*", codes: of("internal/opening.Role")},
		{key: "reading.*", followed: true, but: codes("- sill.fall")}, // said as sill_fall
		{key: "doubt.*", followed: true, but: codes("exchanged")},     // proposed the other way round

		// The fitting day.
		{key: "sash.corner.*", codes: of("internal/calc.ToeCorner")},
		{key: "arrival.*", codes: codes("note wrong"), filled: codes("reason")},
		{key: "arrival.ok.*", codes: codes("width height diagonals twist room"), filled: codes("mm")},
		{key: "member.*", codes: of("internal/calc.SetWhat")},
		{key: "tilt.*", codes: of("internal/calc.TiltTo")},
		{key: "level.*", codes: of("internal/calc.WidthLevel")},
		{key: "day.way.*", codes: of("internal/calc.TiltTo")},
		{key: "day.corner.*", codes: of("internal/calc.Corner")},
		{key: "day.cornerway.*", codes: of("internal/calc.CornerTo")},
		{key: "quote.line.*", codes: of("internal/job.QuoteWhat")},
		{key: "sheet.quote.line.*", codes: of("internal/job.QuoteWhat")},
		{key: "file.at.*", codes: codes("delivered out fitted glazed sealed")},
		{key: "file.by.*", codes: append(codes("measured signed"), steps...)},
		{key: "sheet.file.guarantee.*", codes: codes("frame glass work what by until")},
		{key: "sheet.file.rule.*", codes: of("internal/safety.Severity")},
		{key: "sheet.care.*", codes: cares()},
		{key: "sheet.care.*.name", codes: cares()},
		{key: "day.name.*", codes: dayFields()},
		{key: "day.ask.*", codes: dayFields()},
		{key: "day.part.*", codes: dayParts()},
		{key: "day.begin.*", codes: dayParts(), filled: codes("name")},
		{key: "day.code.*", codes: dayCodes()},
		{key: "button.day.*", codes: append(dayCodes(), "ok", "skip", "later", "level")},
		{key: "button.day.again.*", codes: dayParts(), filled: codes("name")},

		// The job.
		{key: "role.*", codes: append(of("internal/opening.Role"), "crew")},
		{key: "job.state.*", codes: of("internal/job.State")},
		{key: "job.hinge.*", codes: hinges},
		{key: "job.material.*", codes: materials},
		{key: "job.hardware.hinges.*", codes: without(hinges, "fixed")},
		{key: "job.change.*", followed: true},
		{key: "job.check.from.*", codes: codes("true false")},
		{key: "job.event.*", followed: true, but: codes("promised")},
		{key: "told.*", codes: of("internal/job.Way"), filled: codes("parts")},
		{key: "told.missing.*", codes: codes("way by order day")},
		{key: "job.event.kept.*", codes: codes("order_revised"), filled: codes("revision before kept open changes count")},
		{key: "job.event.promised.*", codes: codes("day price both"), filled: codes("name")},
		{key: "job.refused.*", followed: true, codes: without(actions, insteadOf...), but: insteadOf},
		{key: "job.step.*", codes: steps},
		{key: "job.many.*", codes: codes("deleted checked_deleted line_deleted taken_back restored checked_restored check_withdrawn signed step step_back rejected line_confirmed"), filled: codes("count numbers revision state words open")},
		{key: "job.part.*", codes: codes("against measuring differs queried changed check agreed fit ordered confirmed here handed"), filled: codes("count")},
		{key: "job.pieces.*", codes: codes("step step_back"), filled: codes("name pieces of state")},
		{key: "job.open.own.*", codes: without(src.Constants(t, "internal/job.Matter"), "delivery"), filled: codes("count numbers n ref due")},
		{key: "job.open.*", codes: append(without(src.Constants(t, "internal/job.Matter"), "delivery"), "more"), filled: codes("count numbers n ref due page pages")},
		{key: "job.sure.*", codes: codes("delete withdraw_check more none")},
		{key: "button.sure.*", codes: codes("delete withdraw_check")},
		{key: "button.job.step.*", codes: steps},
	}
	all = append(all, family{key: "photo.at.*", codes: append(dayParts(), "day")})
	for f := range opening.Fields {
		key := "button." + f.Group + ".*"
		if f.Group != "" && !slices.ContainsFunc(all, func(fam family) bool { return fam.key == key }) {
			all = append(all, family{key: key, codes: choices(f.Key)})
		}
	}
	return append(all, typed(src, t)...)
}

// insteadOf are the actions whose refusal is said as another's, or never.
var insteadOf = codes("- measure measure_same measure_apart read_same read_apart read_late settle_last undo supersede restore stand stand_confirmed")

// typed are the families of the words that people type: of each group, which
// the code names, the codes that it can mean.
func typed(src *codetest.Source, t *testing.T) []family {
	var commands []string
	for _, row := range src.Rows(t, "internal/dialog.command") {
		if row["untyped"] != "true" {
			commands = append(commands, row["name"])
		}
	}
	groups := map[string][]string{
		"command": commands, "name": changes(), "setting": settings(),
		"nation": src.Constants(t, "internal/safety.Nation"), "room": src.Constants(t, "internal/safety.Room"),
		"finish": src.Constants(t, "internal/calc.Finish"),
		"light":  append(src.Constants(t, "internal/calc.Hinge"), "side", "tilt-turn"), "layout": codes("1 2 3 4 1t 2t 3t 4t"),
		"sill": codes("none"), "answer": codes("yes no keep"), "pass": codes("mullion transom outside"),
		"unit": codes("mm cm in"), "before": codes("before"), "language": codes("en"), "usual": codes("usual"), "right": codes("right"), "like": codes("same as next"), "likewhich": codes("last number"), "likebut": codes("but"), "likethe": codes("the"), "liketail": codes("tail thanks"), "likelead": codes("lead"), "here": codes("here"), "sure": codes("yes"),
		"topic": plan.Topics,
		"told":  codes("phone mail person file order price revision skip"), "toldwhen": codes("now"),
		"role": codes("crew lead desk customer fitter"), "share": codes("address names contact photos"), "send": codes("anyway"), "step": codes("deliver take_out fit glaze seal back reject"), "windows": codes("all window and to of at found"),
	}
	groups["ownname"], groups["photoof"] = codes("colour"), codes("of")
	groups["customer"] = codes("agrees withdraws price")
	groups["remindoff"], groups["remindon"] = codes("all delivery question check unconfirmed"), codes("all delivery question check unconfirmed")
	groups["let"] = codes("invite not until always")
	groups["snag"], groups["termunit"] = codes("done"), codes("per")
	maps.Copy(groups, heard)
	maps.Copy(groups, ofTheDay())
	for f := range opening.Fields {
		if f.Group != "" && groups[f.Group] == nil && !slices.Contains(codes("material glass obscure tight masonry"), f.Group) { // heard in other groups
			groups[f.Group] = choices(f.Key)
		}
	}
	var all []family
	for group, codes := range groups {
		all = append(all, family{key: "words." + group + ".*", codes: codes})
	}
	return all
}

// heard are the groups by which package hear reads a message. Words of a group
// that ends in -open answer only their own question when it is open or named,
// those of one that ends in -ask are proposed.
var heard = map[string][]string{
	"alias":        codes("about again aluminium bathroom be bedroom before beside both bottom brick cant change concrete correct diagonal diagonals do does dont door down downstairs england existing fanlight first fixed floor for four from getting glass going grey ground had hand have height heights hinged hinges house hundred hung inside is its just kitchen know left light lights like lintel looking lower measured measuring middle might my nation near new no not nothing of off old one open opening opens outside over plaster plastic please render rendered right round same sash scotland second should skip steel stone thanks that the there they third this thousand timber to today tomorrow top two up upstairs vent vents wait wales was ways what white widths window with wrong yesterday you your"),
	"answer-ask":   codes("yes no"),
	"axis":         codes("width height"),
	"bath":         codes("yes no"),
	"colour":       codes("white other any"),
	"count":        codes("0 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 30 40 50 60 70 80 90 100 1000"),
	"door":         codes("yes no"),
	"finish-ask":   codes("plaster"),
	"finish-open":  codes("bare plaster check"),
	"glass-ask":    codes("4-20-4 4-16-4"),
	"hear":         codes("correct not but or all same and is over inside outside lower higher level skip harmless sameas sides end there thing absent asking wrong joins minus real no was meant dunno half late point others exchange less more built builtbefore dwelling lintel"),
	"layout-open":  codes("1 2 3 4"),
	"light-open":   codes("fixed side-left side-right tilt-turn top bottom"),
	"measure":      codes("mm cm m in ft"),
	"nation-ask":   codes("ni wales"),
	"obscure-open": codes("none"),
	"ordinal":      codes("1 2 3 4"),
	"over-open":    codes("drill nodrill nolintel arch lintel timber bricks hidden"),
	"part":         codes("half thirds quarters two-thirds third"),
	"pattern-open": codes("full lighter"),
	"place":        codes("left middle right"),
	"pos":          codes("top middle bottom left right"),
	"query":        codes("meaning why how sides other"),
	"query-maybe":  codes("other"),
	"room-ask":     codes("kitchen"),
	"room-open":    codes("bedroom bathroom hall"),
	"row":          codes("upper lower"),
	"sill-open":    codes("none"),
	"storey-ask":   codes("0 1 2"),
	"storey-open":  codes("0 1 2"),
	"stuff":        codes("pvcu timber aluminium steel"),
	"term":         codes("bare storey mullion transom reveal sill toughened laminated safety-glass trickle-vent dpc light sash casement head jamb leaf cavity check packer bed-packer heel toe toe-and-heel bed-joint lintel bead restrictor rebate frame fixing diagonal fanlight tilt-turn top-hung bottom-hung side-hung pvcu glass-block sealed-unit make-up overlap drip mastic backing rsj order-size u-value obscure escape-window low-e sill-fall bay gap foam render reading georgian-bar soldier-course weep-hole stop mitre handle hinge wall-tie pointing architrave window-board putty soffit fascia cavity-closer gasket spacer coupling plumb belly lean notifiable"),
	"tight-open":   codes("middle left right"),
	"masonry-open": codes("brick concrete aerated hollow"),
	"vents":        codes("yes no"),
	"itemfill":     codes("fill"), "itemlight": codes("light"), "itemdesk": codes("desk"),
	"opens-open": codes("out in"), "handle-open": codes("middle"), "locking-open": codes("key nokey"), "inside-open": codes("white same"),
	"coating-open": codes("soft hard uncoated"), "gas-open": codes("air"), "spacer-open": codes("warm metal"), "trickle-open": codes("0 1 2"),
	"ventplace-open": codes("frame sash over"), "ventcolour-open": codes("white same"), "sillend-open": codes("0"), "sillfix-open": codes("fixed loose"),
	"stays-open": codes("each no"), "glazed-open": codes("glazed loose"), "packing-open": codes("wrapped stillage open"), "unload-open": codes("kerb inside"),
	"when":     append(codes("today tomorrow yesterday in a next this monday tuesday wednesday thursday friday saturday sunday january february march april may june july august september october november december day week fortnight month"), "in 2 days", "in 7 days", "in 8 days", "in 14 days"),
	"inday":    codes("th of on"),
	"monthday": codes("1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30 31 2026 2027"),

	// The house, and the wall over the opening.
	"over-ask": codes("timber"), "cracks": codes("yes no"), "cracks-open": codes("yes"), "bowed": codes("yes no"), "bowed-open": codes("yes"),
	"kind-open": codes("house flat"), "higher": codes("yes no"), "protected": codes("yes no"), "few": codes("yes no"), "few-open": codes("yes no"),
	"fans-open": codes("none"), "fans-ask": codes("none"), "flue": codes("yes no"), "flue-ask": codes("yes"),
	"certifies-open": codes("installer notice unknown"), "capacity": codes("yes control fuel no"), "nobody": codes("yes"),
}

// changes are the names by which a field of the survey is opened again, alone
// or with its fellows.
func changes() []string {
	names := []string{"readings"}
	opening.Fields(func(f *opening.Field) bool {
		if f.Key != "" && ofSurvey(f) {
			names = append(names, f.Key)
			if !slices.Contains(names, f.Change) {
				names = append(names, f.Change)
			}
		}
		return true
	})
	return names
}

// targets are the changes that have a button.
func targets() []string {
	var names []string
	for f := range opening.Fields {
		if ofSurvey(f) && !slices.Contains(names, f.Change) {
			names = append(names, f.Change)
		}
	}
	return names
}

// cares are what the file says of keeping a window.
func cares() []string {
	return codes("stays vents way_out locks drains moving clean mist marks")
}

// dayParts, dayFields and dayCodes are what the fitting day asks.
func dayParts() []string {
	var list []string
	for _, p := range day.All {
		list = append(list, p.Name)
	}
	return list
}

func dayFields() []string {
	var list []string
	for _, p := range day.All {
		for i := range p.Fields {
			list = append(list, p.Key(&p.Fields[i]))
		}
	}
	return list
}

func dayCodes() []string {
	var list []string
	for _, p := range day.All {
		for _, f := range p.Fields {
			list = append(list, f.Codes...)
		}
	}
	return list
}

// ofTheDay are the groups by which package day reads a message.
func ofTheDay() map[string][]string {
	groups := map[string][]string{
		"dayfill": codes("and"), "dayall": codes("ok"), "dayanswer": codes("yes no"), "daynot": codes("skipped"), "daydegree": codes("c"), "daylater": codes("later"), "dayagain": codes("again"),
		"dayhelp": codes("day"), "daytrue": codes("level"), "daytilt": codes("left_low right_low top_left top_right top_out top_in"), "daybubble": codes("one half quarter"),
		"dayper": codes("metre degree"), "daymetre": codes("m"), "dayslopefill": codes("in"),
		"daycornerto": codes("off left right up down out in"), "daycorner": codes("top_left top_right bottom_left bottom_right"), "daycode": dayCodes(),
		"dayside": codes("long wide deep"), "dayof": codes("of"), "daygone": codes("gone"), "daypane": codes("rebate glass"), "daykilo": codes("kg"), "daylight": codes("light"),
		"dayway": codes("top_left top_right"), "dayways": codes("both"), "dayplumb": codes("plumb"), "dayflat": codes("twist"), "dayafter": codes("width height top middle bottom"),
		"daybad": codes("bad"), "daything": codes("it"), "daythere": codes("yes no"), "daybut": codes("but"), "daynoname": codes("word"),
		"daystand": codes("shuts drags gap diagonals"), "daystandfill": codes("of"),
	}
	for _, p := range day.All {
		names, ticks := slices.Clone(p.Together), []string(nil)
		for _, f := range p.Fields {
			names = append(names, f.Name)
			if f.Kind == day.Tick {
				ticks = append(ticks, f.Name)
			}
		}
		groups["day"+p.Name], groups["dayok"+p.Name] = names, ticks
	}
	return groups
}

func codes(list string) []string { return strings.Fields(list) }

func without(all []string, some ...string) []string {
	var left []string
	for _, code := range all {
		if !strings.Contains(" "+strings.Join(some, " ")+" ", " "+code+" ") {
			left = append(left, code)
		}
	}
	return left
}

// asked are the names of the fields that the survey can ask for.
func asked() []string {
	return fields(ofSurvey)
}

func ofSurvey(f *opening.Field) bool { return f.Scope != opening.CrewWide && !f.Is(opening.ByCommand) }

// houseFields are those of the house that are taken on the safe side.
func houseFields() []string {
	return fields(func(f *opening.Field) bool { return f.Scope == opening.House && f.Is(opening.OnRequest) })
}

// settings are those of the crew.
func settings() []string {
	var names []string
	for _, name := range fields(func(f *opening.Field) bool { return f.Scope == opening.CrewWide }) {
		names = append(names, strings.TrimPrefix(name, "crew."))
	}
	return names
}

// sketchedSettings are those of the crew that help draws.
func sketchedSettings() []string {
	var names []string
	for f := range opening.Fields {
		if f.Scope == opening.CrewWide && f.Is(opening.Sketched) {
			names = append(names, strings.TrimPrefix(f.Key, opening.CrewPrefix))
		}
	}
	return names
}

// fields are the names of those that do is true of, each once.
func fields(do func(*opening.Field) bool) []string {
	var names []string
	seen := map[string]bool{"": true}
	opening.Fields(func(f *opening.Field) bool {
		if do(f) && !seen[f.Name] {
			seen[f.Name] = true
			names = append(names, f.Name)
		}
		return true
	})
	return names
}

// choices are the codes on the buttons of a field.
func choices(key string) []string {
	var all []string
	for _, row := range opening.Find(key).Rows {
		all = append(all, row...)
	}
	return all
}
