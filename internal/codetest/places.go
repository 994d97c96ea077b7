package codetest

import (
	"go/constant"
	"go/types"
	"slices"

	"golang.org/x/tools/go/ssa"
)

// ahead collects the places that are filled in a sentence, or in what will
// become one, from here on: by its methods, by maps put into its fields, in
// the functions it is given to and in those it is returned to.
func (f *flow) ahead(v ssa.Value, places map[string]bool, seen map[ssa.Value]bool) {
	if seen[v] || v.Referrers() == nil || !f.carries(v.Type()) {
		return
	}
	seen[v] = true
	for _, r := range *v.Referrers() {
		switch r := r.(type) {
		case ssa.CallInstruction:
			f.given(v, r, places, seen)
		case *ssa.Store:
			if r.Val == v {
				f.kept(r.Addr, places, seen)
			}
		case *ssa.FieldAddr:
			f.mapField(r, places)
		case *ssa.UnOp, *ssa.Phi, *ssa.ChangeType, *ssa.MakeInterface, *ssa.TypeAssert, *ssa.Extract:
			f.ahead(r.(ssa.Value), places, seen)
		case *ssa.Return:
			for _, e := range f.graph.Nodes[r.Parent()].In {
				f.returned(e.Site.Value(), slices.Index(r.Results, v), places, seen)
			}
		}
	}
}

// carries reports whether a value can have places: a struct of the project
// with a map, a pointer to one, or an interface.
func (f *flow) carries(t types.Type) bool {
	if p, ok := t.Underlying().(*types.Pointer); ok {
		t = p.Elem()
	}
	switch u := t.Underlying().(type) {
	case *types.Tuple:
		return true
	case *types.Struct:
		for i := range u.NumFields() {
			if _, ok := u.Field(i).Type().Underlying().(*types.Map); ok {
				return true
			}
		}
	}
	return false
}

// given is v as an argument: of a method that fills a place of it and gives it
// back, or of a function that may.
func (f *flow) given(v ssa.Value, call ssa.CallInstruction, places map[string]bool, seen map[ssa.Value]bool) {
	args := call.Common().Args
	n := slices.Index(args, v)
	if n < 0 {
		return
	}
	if name := filling(call); name != nil && n == 0 {
		for _, place := range f.values(name) {
			places[place] = true
		}
		f.ahead(call.Value(), places, seen)
		return
	}
	for _, fn := range f.callees(call) {
		if fn.Pkg != f.phrase && n < len(fn.Params) {
			f.ahead(fn.Params[n], places, seen)
		}
	}
}

// filling gives the name of the place when the call is of a method that takes
// one first and gives its own kind back. Else nil.
func filling(call ssa.CallInstruction) ssa.Value {
	fn := call.Common().StaticCallee()
	if fn == nil || fn.Signature.Recv() == nil || len(call.Common().Args) < 3 {
		return nil
	}
	results := fn.Signature.Results()
	if results.Len() != 1 || !types.Identical(results.At(0).Type(), fn.Signature.Recv().Type()) {
		return nil
	}
	if b, ok := fn.Signature.Params().At(0).Type().(*types.Basic); !ok || b.Kind() != types.String {
		return nil
	}
	return call.Common().Args[1]
}

// kept is where a sentence is put: a variable, or a field, which is then read
// from elsewhere.
func (f *flow) kept(addr ssa.Value, places map[string]bool, seen map[ssa.Value]bool) {
	switch addr := addr.(type) {
	case *ssa.Alloc:
		f.ahead(addr, places, seen)
	case *ssa.FieldAddr:
		for _, load := range f.loads[fieldOf(addr.X.Type(), addr.Field)] {
			f.ahead(load, places, seen)
		}
	}
}

func (f *flow) returned(v *ssa.Call, n int, places map[string]bool, seen map[ssa.Value]bool) {
	if v == nil {
		return
	}
	if _, several := v.Type().(*types.Tuple); !several {
		f.ahead(v, places, seen)
		return
	}
	for _, r := range *v.Referrers() {
		if e, ok := r.(*ssa.Extract); ok && e.Index == n {
			f.ahead(e, places, seen)
		}
	}
}

// mapField collects the keys of maps put into a field, and those set in the
// map that is there.
func (f *flow) mapField(field *ssa.FieldAddr, places map[string]bool) {
	for _, r := range *field.Referrers() {
		switch r := r.(type) {
		case *ssa.Store:
			f.mapNames(r.Val, places)
		case *ssa.UnOp:
			f.mapNames(r, places)
		}
	}
}

// mapNames collects the keys set in a map of texts.
func (f *flow) mapNames(v ssa.Value, places map[string]bool) {
	m, ok := v.Type().Underlying().(*types.Map)
	if !ok || !types.Identical(m.Key(), types.Typ[types.String]) || v.Referrers() == nil {
		return
	}
	if phi, ok := v.(*ssa.Phi); ok {
		for _, e := range phi.Edges {
			if e != v {
				f.mapNames(e, places)
			}
		}
	}
	if call, ok := v.(*ssa.Call); ok { // such as with(m, name, value)
		for _, arg := range call.Call.Args {
			if c, ok := arg.(*ssa.Const); ok && c.Value != nil && c.Value.Kind() == constant.String {
				places[constant.StringVal(c.Value)] = true
			}
		}
	}
	if load, ok := v.(*ssa.UnOp); ok {
		if alloc, ok := load.X.(*ssa.Alloc); ok {
			for _, r := range *alloc.Referrers() {
				if store, ok := r.(*ssa.Store); ok {
					f.mapNames(store.Val, places)
				}
			}
		}
	}
	for _, r := range *v.Referrers() {
		if u, ok := r.(*ssa.MapUpdate); ok && u.Map == v {
			if c, ok := u.Key.(*ssa.Const); ok {
				places[constant.StringVal(c.Value)] = true
			}
		}
	}
}

// inside collects the places that were filled before: in a variable, what was
// put into it as a whole, and how that was made.
func (f *flow) inside(v ssa.Value, places map[string]bool, seen map[ssa.Value]bool) {
	if seen[v] || !f.carries(v.Type()) {
		return
	}
	seen[v] = true
	switch v := v.(type) {
	case *ssa.Alloc:
		for _, r := range *v.Referrers() {
			switch r := r.(type) {
			case *ssa.Store:
				if r.Addr == v {
					f.inside(r.Val, places, seen)
				}
			case *ssa.FieldAddr:
				f.mapField(r, places)
			}
		}
	case *ssa.UnOp:
		f.inside(v.X, places, seen)
	case *ssa.Phi:
		for _, e := range v.Edges {
			f.inside(e, places, seen)
		}
	case *ssa.Extract:
		if call, ok := v.Tuple.(*ssa.Call); ok {
			f.insideResult(call, v.Index, places, seen)
		}
	case *ssa.Call:
		if name := filling(v); name != nil {
			for _, place := range f.values(name) {
				places[place] = true
			}
			f.inside(v.Call.Args[0], places, seen)
			return
		}
		f.insideResult(v, 0, places, seen)
	}
}

func (f *flow) insideResult(call *ssa.Call, n int, places map[string]bool, seen map[ssa.Value]bool) {
	for _, fn := range f.callees(call) {
		for _, b := range fn.Blocks {
			if ret, ok := b.Instrs[len(b.Instrs)-1].(*ssa.Return); ok && n < len(ret.Results) {
				f.inside(ret.Results[n], places, seen)
			}
		}
	}
}
