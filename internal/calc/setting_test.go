package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
)

func tiltOf(t Tilt, err error) *Tilt {
	if err != nil {
		panic(err)
	}
	return &t
}

func gapOf(length, gap string, to TiltTo) *Tilt { return tiltOf(GapUnder(dec(length), dec(gap), to)) }

func fallOf(mm string, to TiltTo) *Tilt { return tiltOf(FallPerMetre(dec(mm), to)) }

// A white window of 1190 × 990 in its opening: 5 mm all round.
func setPlaces(t require.TestingT) (Size, []PackerPlace) {
	o, p := packers(t, plain(1200, 1000, PVCUWhite), Layout{})
	return o.Size, p.Places
}

func mustSet(t require.TestingT, req SetRequest) SetResult {
	out, err := Set(req)
	require.NoError(t, err)
	return out
}

func verdictOf(t require.TestingT, s SetState, what SetWhat) SetVerdict {
	for _, v := range s.Verdicts {
		if v.What == what {
			return v
		}
	}
	require.Fail(t, "no verdict", what)
	return SetVerdict{}
}

// A gap of 1.6 mm under a level of 600 is 2.67 mm per m.
func TestATiltIsRiseOverRun(t *testing.T) {
	equalDec(t, "2.67", gapOf("600", "1.6", LeftEndLow).PerMetre())
	equalDec(t, "2.67", gapOf("1200", "3.2", LeftEndLow).PerMetre())
	equalDec(t, "10", tiltOf(BubbleOff(dec("2"), decimal.Zero, LeansIn)).PerMetre())
	equalDec(t, "0.6", tiltOf(BubbleOff(dec("2"), dec("0.3"), LeansIn)).PerMetre())
	equalDec(t, "1.4", fallOf("1.4", LeansIn).PerMetre())
	require.Equal(t, Practice, tiltOf(BubbleOff(dec("2"), decimal.Zero, LeansIn)).Mark)
}

// The bed packer of the low end takes what the sill is low by, and the tops of the jambs
// go over by as much as the frame turns: a sill that falls 3 mm to the right over 1130
// between its bed packers.
func TestARightEndThatIsLow(t *testing.T) {
	size, places := setPlaces(t)
	r := mustSet(t, SetRequest{Frame: size, Places: places, Readings: SetReadings{
		Sill: gapOf("600", "1.6", RightEndLow), Left: fallOf("2.7", LeansRight),
	}})
	t.Logf("%+v", r.Now.Stance)
	for _, c := range r.Now.Corners {
		t.Log(c)
	}
	for _, c := range r.Changes {
		t.Log(c)
	}
	for _, b := range r.Blocked {
		t.Log(b)
	}
	t.Logf("%+v", r.After.Stance)
	for _, v := range r.After.Verdicts {
		t.Logf("%+v", v)
	}
}
