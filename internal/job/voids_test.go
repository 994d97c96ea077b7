package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/plan"
)

// A change voids the lead's signature and the customer's word alike, and both are told:
// neither hides the other.
func TestAChangeVoidsTheSignatureAndTheCustomersWord(t *testing.T) {
	j := must(t)(must(t)(checking(t).Look(lead, noon, 1)).Sign(lead, noon, 1, version(checking(t))))
	j, _, err := j.CustomerPage(fitter, noon, 1)
	require.NoError(t, err)
	j = must(t)(j.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-04", 1))
	require.Equal(t, Signed, stateOf(t, j, 1))
	_, events, err := j.Describe(fitter, noon, 1, value("light.1", "side-right"))
	require.NoError(t, err)
	require.Equal(t, []EventKind{SignatureVoid, CustomerVoid}, kindsOf(events))
}

// A name makes no other window, by whichever rules it was told.
func TestANameIsNoOtherWindowByOlderRules(t *testing.T) {
	j := toldBy(sent(t, 1), plan.Rules-1, "same", "same")
	require.Equal(t, Ordered, stateOf(t, j, 1))
	j, _ = told(t, LineRenamed)(j.Rename(fitter, noon, 1, "Attic"))
	require.Equal(t, Ordered, stateOf(t, j, 1))
	j = must0(recolour(t, j, 1, "grey"))
	require.Equal(t, Changed, stateOf(t, j, 1))
}

// A late fault is of a piece that is fitted, and that one stays; a broken piece is one
// that is not.
func TestALateFaultIsOfTheFurthestPiece(t *testing.T) {
	j := must(t)(alike(t).Advance(fitter, noon, 1, DoDeliver))
	j = must(t)(j.AdvancePieces(fitter, noon, 1, DoTakeOut, 1))
	j = must(t)(j.Advance(fitter, noon, 1, DoFit))
	before := []Part{{Delivered, 2}, {Fitted, 1}}
	require.Equal(t, before, partsOf(t, j, 1))
	late := must(t)(j.Fault(fitter, noon, 1, 1, "cracked", "again"))
	require.Equal(t, before, partsOf(t, late, 1))
	broken := must(t)(j.Break(fitter, noon, 1, 1, "smashed", "again"))
	require.Equal(t, []Part{{Delivered, 1}, {Fitted, 1}}, partsOf(t, broken, 1))
	require.Equal(t, 1, broken.List()[0].Replaced())
}
