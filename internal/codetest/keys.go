package codetest

import (
	"go/constant"
	"go/token"
	"go/types"
	"maps"
	"slices"
	"strings"

	"golang.org/x/tools/go/ssa"
)

// Key is one place of the code that names a sentence of the catalogue.
type Key struct {
	// Name is the key; a part that only the run shows is a star: button.*
	Name string
	// Places are what the code fills, as far as it can be followed from there;
	// a star among them is a place whose name only the run shows.
	Places []string
	// Built are the forms of the joins that the key goes through, the outermost
	// first: button.* button.sill.depth.*
	Built []string
	// Form is true when the key is not named here but only joined: its last part
	// comes from elsewhere.
	Form bool
	// At is where the key or its last part stands, as FILE:LINE.
	At string
}

// Keys follows what the catalogue is asked for back to the constants that it
// is made of: through variables, fields, lists, maps, calls and results. What
// is joined to one of the families, such as name.*, is not followed further.
// Groups of words that people type are given as words.GROUP.*.
func (s *Source) Keys(families []string) []Key {
	f := newFlow(s)
	for _, name := range families {
		f.listed[name] = true
	}
	for _, p := range s.Packages {
		if p.Path == Module+"/locales" {
			catalogue := types.NewPointer(p.Types.Scope().Lookup("Catalogue").Type())
			f.callers(f.prog.LookupMethod(catalogue, p.Types, "Match"), 2, step{before: "words.", after: ".*"})
		}
		if p.Path != Module+"/internal/phrase" {
			continue
		}
		text := p.Types.Scope().Lookup("Text").Type()
		of := f.prog.FuncValue(p.Types.Scope().Lookup("Of").(*types.Func))
		word := f.prog.LookupMethod(text, p.Types, "Word")
		f.phrase = of.Pkg
		f.callers(of, 0, step{})
		f.callers(word, 2, step{})
		f.field(text.Underlying().(*types.Struct).Field(0), step{})
	}
	slices.SortFunc(f.found, func(a, b Key) int { return strings.Compare(a.Name+a.At, b.Name+b.At) })
	return f.found
}

// step is what is known on the way back from a sentence to its key.
type step struct {
	before, after string // of the key
	path          string // e: an element of what is looked at; k: a key of the map
	places        string // sorted, each with a space behind it
	built         string // as Key.Built
	// calls are those whose results are being looked into, the innermost first:
	// a parameter met there is what that call gives.
	calls [3]ssa.CallInstruction
}

func (s step) with(places map[string]bool) step {
	for _, p := range strings.Fields(s.places) {
		places[p] = true
	}
	s.places = ""
	for _, p := range slices.Sorted(maps.Keys(places)) {
		s.places += p + " "
	}
	return s
}

// once reports whether the way has not been gone yet.
func (f *flow) once(what any, s step) bool {
	type way struct {
		what any
		step
	}
	w := way{what, s}
	if f.seen[w] || len(s.before)+len(s.after) > 80 || len(s.path) > 4 {
		return false
	}
	f.seen[w] = true
	return true
}

// callers goes on to what callers give for parameter n.
func (f *flow) callers(fn *ssa.Function, n int, s step) {
	node := f.graph.Nodes[fn]
	if node == nil {
		return
	}
	for _, e := range node.In {
		common := e.Site.Common()
		i := n
		if common.IsInvoke() {
			i--
		}
		if i < 0 || i >= len(common.Args) {
			continue
		}
		places := map[string]bool{}
		if s.path == "" {
			for _, other := range common.Args {
				f.mapNames(other, places)
			}
			if v := e.Site.Value(); v != nil {
				f.ahead(v, places, map[ssa.Value]bool{})
			}
			if fn.Pkg == f.phrase && fn.Name() == "Word" {
				places = map[string]bool{} // those of the sentence around it
			}
		}
		s.calls = [3]ssa.CallInstruction{}
		f.back(common.Args[i], e.Site.Pos(), s.with(places))
	}
}

// argument goes on to what the call gives whose result is being looked into; ok
// is false when it is none of the parameter's function.
func (f *flow) argument(v *ssa.Parameter, pos token.Pos, s step) (ok bool) {
	call := s.calls[0]
	if call == nil || !slices.Contains(f.callees(call), v.Parent()) {
		return false
	}
	n := slices.Index(v.Parent().Params, v)
	if call.Common().IsInvoke() {
		n--
	}
	if n < 0 || n >= len(call.Common().Args) {
		return false
	}
	s.calls = [3]ssa.CallInstruction{s.calls[1], s.calls[2]}
	f.back(call.Common().Args[n], pos, s)
	return true
}

// field goes on to whatever is stored in a field anywhere.
func (f *flow) field(v *types.Var, s step) {
	s.calls = [3]ssa.CallInstruction{}
	if !f.once(v, s) {
		return
	}
	for _, store := range f.stores[v] {
		base := store.Addr.(*ssa.FieldAddr).X
		if fn := store.Parent(); fn.Pkg == f.phrase {
			continue // begun with
		}
		places := map[string]bool{}
		if s.path == "" {
			seen := map[ssa.Value]bool{}
			f.ahead(base, places, seen)
			f.inside(base, places, map[ssa.Value]bool{})
		}
		f.back(store.Val, store.Pos(), s.with(places))
	}
	if s.path != "" {
		for _, load := range f.loads[v] {
			f.made(load, load.Pos(), s) // a map that is filled in its place
		}
	}
	if len(f.stores[v]) == 0 {
		f.add(v.Pos(), "*", s)
	}
}

func (f *flow) add(pos token.Pos, part string, s step) { f.put(pos, part, s, false) }

func (f *flow) put(pos token.Pos, part string, s step, form bool) {
	at := f.src.Fset.Position(pos)
	name := at.Filename[strings.LastIndex(at.Filename, "/")+1:]
	k := Key{Name: s.before + part + s.after, Places: strings.Fields(s.places), Built: strings.Fields(s.built), Form: form, At: name}
	k.At += ":" + constant.MakeInt64(int64(at.Line)).String()
	f.found = append(f.found, k)
}

// back follows a value to what it is made of.
func (f *flow) back(v ssa.Value, pos token.Pos, s step) {
	if !f.once(v, s) {
		return
	}
	if v.Pos().IsValid() {
		pos = v.Pos()
	}
	switch v := v.(type) {
	case *ssa.Const:
		if v.Value != nil && v.Value.Kind() == constant.String && s.path == "" {
			f.add(pos, constant.StringVal(v.Value), s)
		}
	case *ssa.Phi:
		for _, e := range v.Edges {
			f.back(e, pos, s)
		}
	case *ssa.BinOp:
		f.joined(v, pos, s)
	case *ssa.ChangeType:
		f.back(v.X, pos, s)
	case *ssa.Convert:
		f.back(v.X, pos, s)
	case *ssa.MakeInterface:
		f.back(v.X, pos, s)
	case *ssa.TypeAssert:
		f.back(v.X, pos, s)
	case *ssa.Slice:
		f.back(v.X, pos, s)
	case *ssa.Field:
		f.field(fieldOf(v.X.Type(), v.Field), s)
	case *ssa.Index:
		f.back(v.X, pos, s.of("e"))
	case *ssa.Lookup:
		f.back(v.X, pos, s.of("e"))
	case *ssa.UnOp:
		f.load(v, pos, s)
	case *ssa.Alloc, *ssa.MakeSlice, *ssa.MakeMap:
		f.made(v, pos, s)
	case *ssa.Extract:
		f.part(v, pos, s)
	case *ssa.Call:
		f.result(v, 0, pos, s)
	case *ssa.Parameter:
		if f.argument(v, pos, s) {
			return
		}
		f.callers(v.Parent(), slices.Index(v.Parent().Params, v), s)
		if node := f.graph.Nodes[v.Parent()]; v.Parent().Synthetic == "" && (node == nil || len(node.In) == 0) {
			f.add(pos, "*", s)
		}
	case *ssa.FreeVar:
		n := slices.Index(v.Parent().FreeVars, v)
		for _, c := range f.bound[v.Parent()] {
			f.back(c.Bindings[n], pos, s)
		}
	default:
		f.add(pos, "*", s)
	}
}

func (s step) of(what string) step {
	s.path = what + s.path
	return s
}

// joined follows the part of a + b that is not constant; of two such the
// first is counted up.
func (f *flow) joined(v *ssa.BinOp, pos token.Pos, s step) {
	if text, ok := v.Type().Underlying().(*types.Basic); !ok || text.Info()&types.IsString == 0 || v.Op != token.ADD {
		f.add(pos, "*", s)
		return
	}
	if !f.counting && s.before == "" && shape(v)[0] == '*' { // no key begins so
		f.add(pos, "*", s)
		return
	}
	s.built += s.before + shape(v) + s.after + " "
	f.put(pos, shape(v), s, true)
	if f.listed[s.before+shape(v)+s.after] {
		return
	}
	next := s
	if c, ok := v.Y.(*ssa.Const); ok {
		next.after = constant.StringVal(c.Value) + s.after
		f.back(v.X, pos, next)
		return
	}
	for _, first := range f.values(v.X) {
		if strings.Contains(first, "*") {
			f.add(pos, shape(v), s)
			continue
		}
		next.before = s.before + first
		if _, ok := v.X.(*ssa.Const); !ok {
			next.built = s.built + next.before + "*" + s.after + " "
			f.put(pos, "*", next, true)
			if f.listed[next.before+"*"+next.after] {
				continue
			}
		}
		f.back(v.Y, pos, next)
	}
}

// shape is a join with a star for what is no constant.
func shape(v ssa.Value) string {
	switch v := v.(type) {
	case *ssa.BinOp:
		return shape(v.X) + shape(v.Y)
	case *ssa.Const:
		if v.Value.Kind() == constant.String {
			return constant.StringVal(v.Value)
		}
	}
	return "*"
}

// values are the constants that a value may be, with a star where it may be
// something else.
func (f *flow) values(v ssa.Value) []string {
	side := *f
	side.seen, side.found, side.counting = map[any]bool{}, nil, true
	side.back(v, v.Pos(), step{})
	var all []string
	for _, k := range side.found {
		if !k.Form {
			all = append(all, k.Name)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// load follows what is behind a pointer.
func (f *flow) load(v *ssa.UnOp, pos token.Pos, s step) {
	if v.Op != token.MUL {
		f.add(pos, "*", s)
		return
	}
	switch from := v.X.(type) {
	case *ssa.FieldAddr:
		f.field(fieldOf(from.X.Type(), from.Field), s)
	case *ssa.IndexAddr:
		f.back(from.X, pos, s.of("e"))
	case *ssa.Global:
		for _, store := range f.global[from] {
			f.back(store.Val, store.Pos(), s)
		}
	default:
		f.back(v.X, pos, s)
	}
}

// made follows what is put into a variable, a list or a map that is made here.
func (f *flow) made(v ssa.Value, pos token.Pos, s step) {
	for _, r := range *v.Referrers() {
		switch r := r.(type) {
		case *ssa.Store:
			if r.Addr == v {
				f.back(r.Val, r.Pos(), s)
			}
		case *ssa.IndexAddr:
			for _, use := range *r.Referrers() {
				if store, ok := use.(*ssa.Store); ok && store.Addr == r && s.path != "" {
					f.back(store.Val, store.Pos(), s.inner())
				}
			}
		case *ssa.MapUpdate:
			switch {
			case r.Map != v || s.path == "":
			case s.path[0] == 'k':
				f.back(r.Key, r.Pos(), s.inner())
			default:
				f.back(r.Value, r.Pos(), s.inner())
			}
		}
	}
}

func (s step) inner() step {
	s.path = s.path[1:]
	return s
}

// part follows one of several results.
func (f *flow) part(v *ssa.Extract, pos token.Pos, s step) {
	switch from := v.Tuple.(type) {
	case *ssa.Call:
		f.result(from, v.Index, pos, s)
	case *ssa.Lookup:
		f.back(from.X, pos, s.of("e"))
	case *ssa.TypeAssert:
		f.back(from.X, pos, s)
	case *ssa.Next:
		of, ok := from.Iter.(*ssa.Range)
		switch {
		case !ok || from.IsString:
			f.add(pos, "*", s)
		case v.Index == 1:
			f.back(of.X, pos, s.of("k"))
		default:
			f.back(of.X, pos, s.of("e"))
		}
	default:
		f.add(pos, "*", s)
	}
}

// result follows what a call gives. Of functions outside the project that give
// the kind of list or map that they take, such as slices.Concat, it is what
// they take.
func (f *flow) result(v *ssa.Call, n int, pos token.Pos, s step) {
	known := false
	into := s
	into.calls = [3]ssa.CallInstruction{v, s.calls[0], s.calls[1]}
	for _, fn := range f.callees(v) {
		for _, b := range fn.Blocks {
			if ret, ok := b.Instrs[len(b.Instrs)-1].(*ssa.Return); ok {
				f.back(ret.Results[n], ret.Pos(), into)
			}
		}
		known = known || len(fn.Blocks) > 0
	}
	if known {
		return
	}
	passed := false
	for _, arg := range v.Call.Args {
		if s.path != "" && types.Identical(arg.Type(), v.Type()) {
			passed = true
			f.back(arg, pos, s)
		}
	}
	if !passed {
		f.add(pos, "*", s)
	}
}
