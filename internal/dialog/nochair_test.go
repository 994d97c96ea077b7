package dialog

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
)

// Whatever somebody without a chair asks of a job's owner by mail, as who lost theirs
// can until they hear of it, shows them nothing of the job and changes nothing in it.
func TestWhoHasNoChairLearnsNothingOfAJob(t *testing.T) {
	owner := ownersState(t)
	const nobody = 77
	for i := range table {
		c := &table[i]
		if !c.mail || c.name == "leave" {
			continue
		}
		for _, role := range []job.Role{"", job.Fitter, job.Lead, job.Desk} {
			name := fmt.Sprint(c.name, " ", role)
			a := Ask{Who: job.Who{Chat: 1, Person: nobody, Role: role, Name: "Nobody"}, Do: c.name, Ref: owner.Ref, Opening: 2, Page: 1, Revision: "A", Token: "x", Words: "pdf", Lines: []int{2}}
			after, replies := Step(owner, Input{Kind: Mailed, Chat: 1, Now: firstDay, Mail: &Mail{From: nobody, To: 1, Ref: owner.Ref, Ask: &a}})
			require.Equal(t, fmt.Sprint(*owner.Job), fmt.Sprint(*after.Job), name)
			for _, r := range replies {
				require.NotNil(t, r.Mail, name)
				require.Equal(t, int64(nobody), r.Mail.To, name)
				require.True(t, r.Mail.Tape == nil || r.Mail.Tape.Not, name)
				require.Nil(t, r.Mail.Show.Document, name)
				require.NotContains(t, allSaid([]Reply{*r.Mail.Show}), "landing", name)
			}
		}
	}
}
