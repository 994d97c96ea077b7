package dialog

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"regexp"
	"slices"
	"strconv"
	"time"
)

// phone says which accounts of the platform are one person's. All that a person has is
// kept under the number of the first, in whose conversation it is; that of each other
// account says only where that is, and what is written there is taken here. So one
// commit, of this conversation, moves a person.
type phone struct {
	// Home and Now stay the first, see Account. Home: this is another account of the
	// person who has everything under that number.
	Home int64 `json:"h,omitempty"`
	// Now is the account that the person uses; 0: the one of this number.
	Now int64 `json:"n,omitempty"`
	// Was are the accounts that lead here, or led, besides Now.
	Was []int64 `json:"w,omitempty"`
	At  int64   `json:"t,omitempty"` // when it was moved last, Unix seconds
	// Back is the account that can take it back for backFor.
	Back int64 `json:"b,omitempty"`
	// Code is a hash of the code that is out, and Until is when it ends, Unix seconds.
	Code  string `json:"c,omitempty"`
	Until int64  `json:"u,omitempty"`
	// Lost: the code came of the crew's owner, because the phone before is lost or is
	// somebody else's, and must not take anything back.
	Lost bool `json:"l,omitempty"`
}

// How long a code for a new phone can be opened, and how long the phone before can take
// everything back. Common practice, no source.
const (
	PhoneFor = 30 * time.Minute
	backFor  = 24 * time.Hour
)

// accountHead is the beginning of a conversation of somebody with several accounts.
var accountHead = regexp.MustCompile(`^\{"v":\d+,"ph":\{(?:"h":(-?\d+))?(?:"n":(-?\d+))?`)

// Account says, by the beginning of a person's stored conversation, under which number
// they have everything, and which account they use; 0 each: this one.
func Account(conversation []byte) (home, now int64) {
	if !bytes.Contains(conversation[:min(len(conversation), 40)], []byte(`,"ph":{`)) {
		return 0, 0 // most have no other account
	}
	m := accountHead.FindSubmatch(conversation)
	if m == nil {
		return 0, 0
	}
	home, _ = strconv.ParseInt(string(m[1]), 10, 64) // 0 where nothing stands
	now, _ = strconv.ParseInt(string(m[2]), 10, 64)
	return home, now
}

// account is the one that the person of a private chat uses.
func (p *phone) account(chat int64) int64 {
	if p == nil || p.Now == 0 {
		return chat
	}
	return p.Now
}

// others are the accounts that lead here.
func (p *phone) others(chat int64) []int64 {
	if p == nil {
		return nil
	}
	all := slices.DeleteFunc(append(slices.Clone(p.Was), p.Now), func(a int64) bool { return a == 0 || a == chat })
	slices.Sort(all)
	return slices.Compact(all)
}

// knows is whether an account is the person's.
func (p *phone) knows(account, chat int64) bool {
	return account == chat || slices.Contains(p.others(chat), account)
}

// codeHash hides a code as the key of its link does.
func codeHash(token string) string {
	sum := sha256.Sum256([]byte(token))
	return base64.RawURLEncoding.EncodeToString(sum[:16])
}
