package job

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The token of an offer is as long as that of a share, and not one of a share.
func TestAnOfferNeedsATokenOfItsOwn(t *testing.T) {
	j := begun(t, 1)
	for _, token := range []string{"short", leadToken} {
		_, err := j.Offer(fitter, noon, token, noon.Add(time.Hour))
		var r *Refusal
		require.ErrorAs(t, err, &r, token)
		require.Equal(t, "share_token", r.Reason)
	}
	_, err := j.Offer(lead, noon, "fourth-fourth-fourth-fourth", noon.Add(time.Hour))
	require.Error(t, err, "the job is the fitter's to give")
	offered, err := j.Offer(fitter, noon, "fourth-fourth-fourth-fourth", noon.Add(time.Hour))
	require.NoError(t, err)
	offered, err = offered.Offer(fitter, noon, "fifth-fifth-fifth-fifth-fifth", noon.Add(time.Hour))
	require.NoError(t, err)
	require.Len(t, offered.Shares, len(j.Shares)+1, "one of before ends")
}

// A job whose windows are all there is whole.
func TestAJobIsWholeWithAllItsWindows(t *testing.T) {
	s, whole := begun(t, 2).Whole()
	require.True(t, whole)
	require.Len(t, s.Parts, 2)
	head, err := Stored{Head: s.Head}.Decode()
	require.NoError(t, err)
	_, whole = head.Whole()
	require.False(t, whole, "its windows are not loaded")
}

func TestWhatWasNeverSentIsAsTold(t *testing.T) {
	require.True(t, Opening{}.asTold())
}

// Who has a chair is told of once, and which links nobody has used, but for one that
// hands the job over.
func TestChairsAndUnusedLinks(t *testing.T) {
	j := Job{Shares: []Share{
		{Role: Lead, UsedBy: 7}, {Role: Desk}, {Role: Fitter}, {Role: Desk, UsedBy: 7}, {Role: Lead, UsedBy: 9, Revoked: true}, {Role: Lead, Revoked: true},
	}}
	chats, unused := j.Chairs()
	require.Equal(t, []int64{7}, chats)
	require.Equal(t, []Share{{Role: Desk}}, unused)
}
