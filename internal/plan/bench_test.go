package plan

import (
	"bytes"
	"encoding/json"
	"io"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/locales"
)

// oneLight and fourLights are invented openings to time.
func oneLight() Opening {
	o := sample()
	o.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}}}
	return o
}

func fourLights() Opening {
	o := sample()
	joint := mm(40)
	o.Widths = [3]decimal.Decimal{mm(2804), mm(2802), mm(2803)}
	o.Rising, o.Falling = mm(3070), mm(3068)
	o.BedJoint = &joint
	o.Layout = calc.Layout{Lights: []calc.Light{
		{Column: 0, Hinge: calc.SideLeft}, {Column: 1, Hinge: calc.FixedLight}, {Column: 2, Hinge: calc.FixedLight}, {Column: 3, Hinge: calc.SideRight},
	}}
	return o
}

// everything is an opening with every optional part.
func everything() Opening {
	o := oneLight()
	o.FloorArea, o.Restrictor, o.Releasable = mm(14), mm(100), true
	o.Ug, o.Uf, o.Psi = decimal.New(11, -1), decimal.New(13, -1), decimal.New(4, -2)
	o.WindSpeed, o.ScrewAllows = mm(24), mm(600)
	o.Patches = []Patch{{Length: mm(600), Width: mm(200), Depth: mm(20)}}
	o.Trims = []decimal.Decimal{mm(1250), mm(1250), mm(1800)}
	o.Prices = []Price{{What: "window", Each: mm(480)}}
	o.VentArea, o.OldVents, o.VentEach = mm(4000), true, mm(2500)
	return o
}

func BenchmarkMake(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(300)) // as the program has it
	for name, o := range map[string]Opening{
		"one light": oneLight(), "six lights": sample(), "four lights in bricks": fourLights(), "everything": everything(),
	} {
		b.Run(name, func(b *testing.B) {
			s := calc.DefaultSettings()
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Make(o, s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// file is n openings as bot plan reads them.
func file(t testing.TB, n int) []byte {
	t.Helper()
	var out bytes.Buffer
	kinds := []Opening{oneLight(), sample(), fourLights()}
	encoder := json.NewEncoder(&out)
	for i := range n {
		require.NoError(t, encoder.Encode(kinds[i%len(kinds)]))
	}
	return out.Bytes()
}

// planAll reads, plans and reports a file as bot plan does.
func planAll(t testing.TB, in io.Reader, say func(phrase.Text) string, after func(n int)) {
	t.Helper()
	var total Total
	n := 0
	encoder := json.NewEncoder(io.Discard)
	err := Read(in, func(Job) error { return nil }, func(r Record) error {
		o, err := r.Opening()
		if err != nil {
			return err
		}
		p, err := Make(o, calc.DefaultSettings())
		if err != nil {
			return err
		}
		n++
		if after != nil {
			after(n)
		}
		if err := total.Add(p); err != nil {
			return err
		}
		return encoder.Encode(p.Report(say))
	})
	require.NoError(t, err)
	_, err = total.Report(say)
	require.NoError(t, err)
}

func BenchmarkThousandOpenings(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(300)) // as the program has it
	words, err := locales.Load()
	require.NoError(b, err)
	say := func(t phrase.Text) string { return words.Plain(locales.Default, t) }
	raw := file(b, 1000)
	b.ReportAllocs()
	for b.Loop() {
		planAll(b, bytes.NewReader(raw), say, nil)
	}
}

// repeated is one opening's JSON, over and over, without holding it.
func repeated(raw []byte, n int) io.Reader {
	readers := make([]io.Reader, n)
	for i := range readers {
		readers[i] = bytes.NewReader(raw)
	}
	return io.MultiReader(readers...)
}

// What is alive after 200 openings and after 2000 is the same, give or take
// what the runtime itself does.
func TestMemoryStaysFlat(t *testing.T) {
	raw := file(t, 1)
	alive := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	var early, late uint64
	planAll(t, repeated(raw, 2000), func(t phrase.Text) string { return strings.Clone(t.Key) }, func(n int) {
		switch n {
		case 200:
			early = alive()
		case 2000:
			late = alive()
		}
	})
	const slack = 256 << 10 // far below 1800 plans of some 50 KB
	require.Less(t, late, early+slack)
}
