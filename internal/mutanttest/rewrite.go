package main

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/token"
	"maps"
	"slices"
	"strings"
)

// swap is a decimal operation and what it becomes.
type swap struct {
	name     string // helper, after "mutant"
	becomes  string
	params   string // after the number of the mutant
	result   string
	is, as   string // bodies
	turns    bool   // the change is the negation
	function bool   // of the package, not of a decimal
}

func (s swap) helper() string { return "mutant" + s.name }
func (s swap) change() string { return s.name + " becomes " + s.becomes }

// swaps holds the decimal operations by name.
var swaps = decimalSwaps()

func decimalSwaps() map[string]swap {
	out := map[string]swap{}
	two := func(name, becomes, result string) {
		out[name] = swap{name: name, becomes: becomes, params: "x, y decimal.Decimal", result: result,
			is: "x." + name + "(y)", as: "x." + becomes + "(y)"}
	}
	places := func(name, becomes string) {
		out[name] = swap{name: name, becomes: becomes, params: "x decimal.Decimal, n int32", result: "decimal.Decimal",
			is: "x." + name + "(n)", as: "x." + becomes + "(n)"}
	}
	one := func(name, becomes, result, as string) {
		out[name] = swap{name: name, becomes: becomes, params: "x decimal.Decimal", result: result,
			is: "x." + name + "()", as: as}
	}
	for _, p := range [][2]string{{"Add", "Sub"}, {"Mul", "Div"}} {
		two(p[0], p[1], "decimal.Decimal")
		two(p[1], p[0], "decimal.Decimal")
	}
	for _, p := range [][2]string{{"GreaterThan", "GreaterThanOrEqual"}, {"LessThan", "LessThanOrEqual"}} {
		two(p[0], p[1], "bool")
		two(p[1], p[0], "bool")
	}
	places("RoundUp", "RoundDown")
	places("RoundDown", "RoundUp")
	places("RoundCeil", "RoundFloor")
	places("RoundFloor", "RoundCeil")
	places("Round", "RoundDown")
	places("Truncate", "RoundUp")
	one("Floor", "Ceil", "decimal.Decimal", "x.Ceil()")
	one("Ceil", "Floor", "decimal.Decimal", "x.Floor()")
	one("Neg", "itself", "decimal.Decimal", "x")
	one("Abs", "itself", "decimal.Decimal", "x")
	one("IsPositive", "zero or more", "bool", "!x.IsNegative()")
	one("IsNegative", "zero or less", "bool", "!x.IsPositive()")
	one("IsZero", "not zero", "bool", "!x.IsZero()")
	s := out["IsZero"]
	s.turns = true
	out["IsZero"] = s
	out["Equal"] = swap{name: "Equal", becomes: "not equal", params: "x, y decimal.Decimal", result: "bool",
		is: "x.Equal(y)", as: "!x.Equal(y)", turns: true}
	out["Cmp"] = swap{name: "Cmp", becomes: "the other way round", params: "x, y decimal.Decimal", result: "int",
		is: "x.Cmp(y)", as: "y.Cmp(x)"}
	out["DivRound"] = swap{name: "DivRound", becomes: "rounded down", params: "x, y decimal.Decimal, n int32",
		result: "decimal.Decimal", is: "x.DivRound(y, n)", as: "x.DivRound(y, n+8).RoundDown(n)"}
	for _, p := range [][2]string{{"Max", "Min"}, {"Min", "Max"}} {
		out[p[0]] = swap{name: p[0], becomes: p[1], params: "x decimal.Decimal, more ...decimal.Decimal",
			result: "decimal.Decimal", function: true,
			is: "decimal." + p[0] + "(x, more...)", as: "decimal." + p[1] + "(x, more...)"}
	}
	return out
}

// rewritten is a file with every point able to become its mutants.
func (f *finder) rewritten(file *ast.File) string {
	sorted := slices.SortedFunc(maps.Values(f.points), func(a, b *point) int {
		// The outer one first where two begin at one place.
		return cmp.Or(cmp.Compare(a.node.Pos(), b.node.Pos()), cmp.Compare(b.node.End(), a.node.End()))
	})
	out := f.render(sorted, file.FileStart, file.FileEnd, nil)
	for _, i := range file.Imports {
		if strings.Trim(i.Path.Value, `"`) == decimalPath && i.Name == nil {
			out += "\nvar _ decimal.Decimal // its other uses may all be in the helpers\n"
		}
	}
	return out
}

// render gives the text between two places with its points rewritten, but for
// the one that is being taken apart.
func (f *finder) render(sorted []*point, from, to token.Pos, but *point) string {
	var b strings.Builder
	at := from
	for _, p := range within(sorted, from, to, but) {
		b.WriteString(f.text(at, p.node.Pos()))
		b.WriteString(f.renderPoint(sorted, p))
		at = p.node.End()
	}
	b.WriteString(f.text(at, to))
	return b.String()
}

func (f *finder) renderPoint(sorted []*point, p *point) string {
	var out string
	if p.core == "" {
		out = f.render(sorted, p.node.Pos(), p.node.End(), p)
	} else {
		args := make([]string, len(p.args))
		for i, a := range p.args {
			args[i] = f.render(sorted, a.Pos(), a.End(), p)
		}
		if p.deref {
			args[0] = "*" + args[0]
		}
		if p.lazy {
			args[1] = "func() bool { return " + args[1] + " }"
		}
		out = fmt.Sprintf("%s(%d, %s%s)", p.core, p.id, strings.Join(args, ", "), p.more)
	}
	for _, w := range p.wraps {
		out = fmt.Sprintf("%s(%d, %s)", w.helper, w.id, out)
	}
	return out
}

// helpers is the file that every rewritten package gets.
func helpers(pkg string, mutants int, withDecimals bool) string {
	var b strings.Builder
	decimals := ""
	if withDecimals {
		decimals = `"` + decimalPath + `"`
	}
	fmt.Fprintf(&b, base, pkg, decimals, mutants+1)
	if !withDecimals {
		return b.String()
	}
	for _, name := range slices.Sorted(maps.Keys(swaps)) {
		s := swaps[name]
		fmt.Fprintf(&b, "func %s(id int, %s) %s {\n\tif mutantOn(id) {\n\t\treturn %s\n\t}\n\treturn %s\n}\n\n",
			s.helper(), s.params, s.result, s.as, s.is)
	}
	return b.String()
}

const base = `package %s

import (
	"cmp"
	"fmt"
	"os"
	"strconv"
	"sync/atomic"
	%s
)

var (
	mutantActive, _ = strconv.Atoi(os.Getenv("MUTANT"))
	mutantReached   = os.Getenv("MUTANT_REACHED")
	mutantSeen      [%d]atomic.Bool
)

func mutantOn(id int) bool {
	return id == mutantActive || mutantReached != "" && mutantNote(id)
}

// mutantNote writes the number of a mutant whose place was reached, once.
func mutantNote(id int) bool {
	if mutantSeen[id].Swap(true) {
		return false
	}
	file, err := os.OpenFile(mutantReached, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		panic(err)
	}
	fmt.Fprintln(file, id)
	file.Close()
	return false
}

type mutantInteger interface {
	~int | ~int8 | ~int16 | ~int32 | ~int64 | ~uint | ~uint8 | ~uint16 | ~uint32 | ~uint64
}

func mutantNot(id int, b bool) bool                      { return mutantOn(id) != b }
func mutantTrue(id int, b bool) bool                     { return mutantOn(id) || b }
func mutantFalse(id int, b bool) bool                    { return !mutantOn(id) && b }
func mutantAnd(id int, a bool, b func() bool) bool       { if mutantOn(id) { return a || b() }; return a && b() }
func mutantOr(id int, a bool, b func() bool) bool        { if mutantOn(id) { return a && b() }; return a || b() }
func mutantLess[T cmp.Ordered](id int, a, b T) bool        { if mutantOn(id) { return a <= b }; return a < b }
func mutantLessOrEqual[T cmp.Ordered](id int, a, b T) bool { if mutantOn(id) { return a < b }; return a <= b }
func mutantMore[T cmp.Ordered](id int, a, b T) bool        { if mutantOn(id) { return a >= b }; return a > b }
func mutantMoreOrEqual[T cmp.Ordered](id int, a, b T) bool { if mutantOn(id) { return a > b }; return a >= b }
func mutantPlus[T mutantInteger](id int, a, b T) T       { if mutantOn(id) { return a - b }; return a + b }
func mutantMinus[T mutantInteger](id int, a, b T) T      { if mutantOn(id) { return a + b }; return a - b }
func mutantTimes[T mutantInteger](id int, a, b T) T      { if mutantOn(id) { return a / b }; return a * b }
func mutantOver[T mutantInteger](id int, a, b T) T       { if mutantOn(id) { return a * b }; return a / b }
func mutantNegative[T mutantInteger](id int, a T) T      { if mutantOn(id) { return -a }; return a }
func mutantNoError(id int, err error) error              { if mutantOn(id) { return nil }; return err }

`
