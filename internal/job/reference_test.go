package job

import (
	"encoding/binary"
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func reference(n uint64) string {
	return NewReference(binary.BigEndian.AppendUint64(nil, n))
}

// The promise of the alphabet, sign by sign.
func TestReferenceHasNoSignsThatAreTakenForEachOther(t *testing.T) {
	for _, pair := range []string{"O0", "I1", "IL", "1L", "S5", "B8", "Z2"} {
		both := strings.ContainsRune(alphabet, rune(pair[0])) && strings.ContainsRune(alphabet, rune(pair[1]))
		require.False(t, both, pair)
	}
	for _, c := range alphabet {
		require.Equal(t, 1, strings.Count(alphabet, string(c)))
	}
	require.True(t, big.NewInt(int64(len(alphabet))).ProbablyPrime(10), "the check needs a prime number of signs")
}

// ISO/IEC 7064, pure system: Σ aᵢ·rⁱ ≡ 1 (mod M), places counted from the
// right, from memory. Written out here with powers, not by the recurrence that
// the program uses.
func TestReferenceCheckIsThePureSystem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ref := reference(rapid.Uint64().Draw(t, "n"))
		require.Len(t, ref, referenceLength)
		sum := new(big.Int)
		for i := range len(ref) {
			power := new(big.Int).Exp(big.NewInt(2), big.NewInt(int64(len(ref)-1-i)), nil)
			sum.Add(sum, power.Mul(power, big.NewInt(int64(strings.IndexByte(alphabet, ref[i])))))
		}
		require.Equal(t, int64(1), sum.Mod(sum, big.NewInt(23)).Int64(), ref)
	})
}

func TestReferenceEveryWrongSignAndSwapIsFound(t *testing.T) {
	tried := 0
	for n := uint64(0); n < 23*23*23*23*23; n += 20_011 {
		ref := reference(n)
		got, err := ParseReference(ref)
		require.NoError(t, err)
		require.Equal(t, ref, got)
		for i := range len(ref) {
			for _, c := range alphabet {
				if wrong := ref[:i] + string(c) + ref[i+1:]; wrong != ref {
					_, err := ParseReference(wrong)
					require.Error(t, err, "%s for %s", wrong, ref)
					tried++
				}
			}
		}
		for i := range len(ref) - 1 {
			if wrong := ref[:i] + ref[i+1:i+2] + ref[i:i+1] + ref[i+2:]; wrong != ref {
				_, err := ParseReference(wrong)
				require.Error(t, err, "%s for %s", wrong, ref)
				tried++
			}
		}
	}
	require.Greater(t, tried, 40_000)
}

func TestParseReferenceAsTyped(t *testing.T) {
	ref := reference(1_234_567)
	low := strings.ToLower(ref)
	for _, typed := range []string{ref, low, ref[:3] + "-" + ref[3:], " " + low[:2] + " " + low[2:4] + "\u2011" + low[4:] + "\n", ref[:3] + " – " + ref[3:]} {
		got, err := ParseReference(typed)
		require.NoError(t, err, "%q", typed)
		require.Equal(t, ref, got)
	}
	for typed, reason := range map[string]string{
		"": "reference_length", ref[:5]: "reference_length", ref + "A": "reference_length",
		"O" + ref[1:]: "reference_sign", "\u0410" + ref[1:]: "reference_sign", strings.Repeat("A", 4096): "reference_length",
	} {
		_, err := ParseReference(typed)
		var r *Refusal
		require.ErrorAs(t, err, &r)
		require.Equal(t, reason, r.Reason, "%q", typed)
	}
}

func TestReferenceUsesAllOfTheEntropy(t *testing.T) {
	seen := map[string]bool{}
	for n := range uint64(1000) {
		seen[reference(n)] = true
		seen[reference(n<<40)] = true
	}
	require.Len(t, seen, 1999, "only 0 and 0<<40 are one")
}

func FuzzParseReference(f *testing.F) {
	f.Add(reference(5))
	f.Add("k7m-4q x")
	f.Fuzz(func(t *testing.T, text string) {
		ref, err := ParseReference(text)
		if err != nil {
			require.Empty(t, ref)
			return
		}
		again, err := ParseReference(ref)
		require.NoError(t, err)
		require.Equal(t, ref, again)
		require.Len(t, ref, referenceLength)
	})
}
