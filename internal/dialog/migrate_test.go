package dialog

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
)

// What the program stored of conversations before there were records: bytes
// written by that version.
const (
	firstHalf     = `{"v":1,"c":1,"t":1795595430,"a":["nation=england","date=2026-11-25","finish=plaster","sill=none","material=pvcu-white","width.top=1204","width.middle=1202","width.bottom=1203","height.left=1050","height.middle=1052","height.right=1051","diagonal.rising=1596","diagonal.falling=1597","layout=1","light.1=side-left"],"k":["nation=england","date=2026-11-25"],"h":["plaster=15"],"n":["plaster=15"]}`
	firstChanging = `{"v":1,"c":1,"t":1795595470,"a":["nation=england","date=2026-11-25","finish=plaster","sill=none","material=pvcu-white","height.left=1050","height.middle=1052","height.right=1051","diagonal.rising=1596","diagonal.falling=1597","layout=1","light.1=side-left","over=drill","room=bedroom","storey=1","floor=900","glass=4-20-4","vents=no","width.top=1104"],"k":["nation=england","date=2026-11-25"],"z":["nation=england","date=2026-11-25","finish=plaster","sill=none","material=pvcu-white","width.top=1204","width.middle=1202","width.bottom=1203","height.left=1050","height.middle=1052","height.right=1051","diagonal.rising=1596","diagonal.falling=1597","layout=1","light.1=side-left","over=drill","room=bedroom","storey=1","floor=900","glass=4-20-4","vents=no"],"w":1,"o":"AAAAAC","x":["FB2wlw","5Jvg6g","rjGNEg","1zZhYg","KfeJSA","L/RagA","ahKPQA","d7JTdA","GWNIlQ","qzxNRw","BlGDfA"],"h":["plaster=15"],"n":["plaster=15"],"b":["AAAAAC"],"j":"AAAAAC","e":1}`
	firstJob      = `{"v":1,"ref":"AAAAAC","owner":{"chat":1,"person":1,"name":"fitter","role":"fitter"},"began":"2026-11-25T08:30:50Z","settings":{"tolerance":"3"},"openings":[{"id":1,"name":"Window 1","count":1,"record":{"answers":["nation=england","date=2026-11-25","finish=plaster","sill=none","material=pvcu-white","width.top=1204","width.middle=1202","width.bottom=1203","height.left=1050","height.middle=1052","height.right=1051","diagonal.rising=1596","diagonal.falling=1597","layout=1","light.1=side-left","over=drill","room=bedroom","storey=1","floor=900","glass=4-20-4","vents=no"],"plan":{"name":"Window 1","nation":"england","date":"2026-11-25","finish":"plaster","material":"pvcu-white","widths":["1204","1202","1203"],"heights":["1050","1052","1051"],"rising":"1596","falling":"1597","layout":{"lights":[{"hinge":"side-left"}]},"room":"bedroom","storey":1,"above_floor":"900","panes":["4","4"],"settings":{"plaster_thickness":"15"}},"make_up":"4-20-4"},"state":"survey","since":"2026-11-25T08:30:50Z","edition":1,"measured":{"role":"fitter","name":"fitter","person":1,"at":"2026-11-25T08:30:50Z"}}],"last_id":1,"seq":2}`
	firstSecond   = `{"v":1,"c":2,"t":1795595490,"a":["width.top=1304","width.middle=!1302"],"k":["nation=wales","date=2026-11-25"],"p":[{"r":"PDYMNW","c":"lead","o":9}],"m":{"r":"PDYMNW","i":1,"n":"kitchen","w":["nation=wales","date=2026-11-25","finish=bare"]}}`
)

func stored(t *testing.T, raw string) State {
	t.Helper()
	var s State
	require.NoError(t, json.Unmarshal([]byte(raw), &s))
	return s
}

func TestConversationsOfTheFirstSchema(t *testing.T) {
	s := stored(t, firstHalf)
	require.Equal(t, []string{
		"nation=england", "date=2026-11-25", "finish=plaster", "sill=none", "material=pvcu-white",
		"width.top=1204", "width.middle=1202", "width.bottom=1203", "height.left=1050", "height.middle=1052", "height.right=1051",
		"diagonal.rising=1596", "diagonal.falling=1597", "layout=1", "light.1=side-left",
	}, answersOf(s))
	k := s.known()
	require.Equal(t, "15", k.Value("crew.plaster"), "the crew's setting goes with the window")
	require.Equal(t, "sill.fall", (&turn{State: s}).open(), "a question that was not asked then")
	s = stored(t, asJSON(t, s))
	s, _ = playAll(s, "undo")
	require.Len(t, answersOf(s), 15, "what was said before has no act to take back")
	s, _ = playAll(s, "level", "undo")
	require.Len(t, answersOf(s), 15)

	lead := stored(t, firstSecond)
	require.Equal(t, []string{"width.top=1304", "width.middle=1302 sure"}, answersOf(lead))
	require.Equal(t, "width.bottom", (&turn{State: lead}).open())
	lead, _ = playAll(stored(t, asJSON(t, lead)), "cancel")
	require.Equal(t, []string{"nation=wales", "date=2026-11-25", "finish=bare"}, answersOf(lead), "the survey that waited")
}

// A change half made in the conversation goes into the window of the job.
func TestAHalfMadeChangeOfTheFirstSchema(t *testing.T) {
	s := stored(t, firstChanging)
	j, err := job.Stored{Head: []byte(firstJob)}.Decode()
	require.NoError(t, err)
	s.Job = &j
	in := typed("send")
	in.Chat, in.User = 1, 1
	s, replies := Step(s, in)
	require.NotEmpty(t, replies)
	require.Equal(t, "width.middle", (&turn{State: s}).open())
	o, _ := s.Job.Find(1)
	k := o.Known()
	require.Equal(t, "1104", k.Value("width.top"))
	require.Equal(t, []string{"width.middle", "width.bottom"}, o.Lacks())
	require.Zero(t, s.Job.Order.Revision, "the old size was not ordered")
	require.False(t, s.Old)
}
