package job

// revisionLetters name the revisions. I and O are left out, as in drawing
// offices: on paper they are taken for 1 and 0.
const revisionLetters = "ABCDEFGHJKLMNPQRSTUVWXYZ"

// RevisionName is the name of the n-th revision as it is sent now: A … H, J … N,
// P … Z, AA, AB. It is empty for 0. What a revision was sent as is Order.Name.
func RevisionName(n int) string { return lettered(n, revisionLetters) }

// lettered counts in letters from 1 on; 0 is empty.
func lettered(n int, letters string) string {
	name, base := "", len(letters)
	for ; n > 0; n = (n - 1) / base {
		name = letters[(n-1)%base:][:1] + name
	}
	return name
}
