package job

import (
	"strings"
	"unicode"
)

// alphabet has no two signs that are taken for each other on paper: no O or 0,
// no I, 1 or L, no S or 5, no B or 8, no Z or 2. It is without E and U so that
// few words come about, and so that its length is a prime number, which the
// check character needs.
const alphabet = "ACDFGHJKMNPQRTVWXY34679"

// referenceLength is with the check character, which is the last.
const referenceLength = 6

// NewReference is a job's reference made of random bytes, at least 8 of them.
// There are 23⁵, some 6.4 million, so a caller has to look whether one is in
// use. It opens nothing by itself.
func NewReference(entropy []byte) string {
	space := 1
	for range referenceLength - 1 {
		space *= len(alphabet)
	}
	n := 0
	for _, b := range entropy {
		n = (n*256 + int(b)) % space
	}
	var ref [referenceLength]byte
	for i := range referenceLength - 1 {
		ref[i] = alphabet[n%len(alphabet)]
		n /= len(alphabet)
	}
	for _, c := range alphabet {
		ref[referenceLength-1] = byte(c)
		if checks(string(ref[:])) {
			break
		}
	}
	return string(ref[:])
}

// checks is the test of a pure system of ISO/IEC 7064 with one check
// character: the sum of each value times 2 to the power of its place, counted
// from the right, is 1 modulo 23. The standard's own pairs of modulus and
// radix belong to its own alphabets (11 and 2 for digits, 37 and 2 for letters
// and digits); this is the same construction for 23 signs. Because 23 is prime
// and all values are below it, one wrong sign changes the sum by 2^i (a−b),
// and two neighbours swapped by 2^i (a−b), neither of which is 0 modulo 23.
func checks(ref string) bool {
	sum := 0
	for i := range len(ref) {
		sum = (2*sum + strings.IndexByte(alphabet, ref[i])) % len(alphabet)
	}
	return sum == 1
}

// ParseReference reads a reference that a person typed: in any case, with
// spaces and hyphens anywhere. The error is a *Refusal that says whether the
// length, a sign or the check is wrong.
func ParseReference(text string) (string, error) {
	var ref []byte
	for _, r := range text {
		if unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) {
			continue
		}
		r = unicode.ToUpper(r)
		if r > unicode.MaxASCII || !strings.ContainsRune(alphabet, r) {
			return "", refuse("reference_sign").say("sign", string(r))
		}
		if len(ref) == referenceLength {
			return "", refuse("reference_length").num("length", referenceLength)
		}
		ref = append(ref, byte(r))
	}
	if len(ref) < referenceLength {
		return "", refuse("reference_length").num("length", referenceLength)
	}
	if !checks(string(ref)) {
		return "", refuse("reference_check").say("ref", string(ref))
	}
	return string(ref), nil
}
