package codetest

import (
	"go/token"
	"go/types"

	"golang.org/x/tools/go/callgraph"
	"golang.org/x/tools/go/callgraph/cha"
	"golang.org/x/tools/go/callgraph/vta"
	"golang.org/x/tools/go/ssa"
	"golang.org/x/tools/go/ssa/ssautil"
)

// flow is the program with every call and every store to a field known, and
// how far its keys were followed.
type flow struct {
	src    *Source
	prog   *ssa.Program
	phrase *ssa.Package
	graph  *callgraph.Graph
	stores map[*types.Var][]*ssa.Store // to a field
	loads  map[*types.Var][]ssa.Value  // of a field
	global map[*ssa.Global][]*ssa.Store
	bound  map[*ssa.Function][]*ssa.MakeClosure
	listed map[string]bool // families that need not be followed
	// counting is true while the constants are looked for that a value may be.
	counting bool
	seen     map[any]bool
	found    []Key
}

func newFlow(s *Source) *flow {
	f := &flow{src: s, prog: ssa.NewProgram(s.Fset, ssa.InstantiateGenerics), listed: map[string]bool{}, seen: map[any]bool{},
		stores: map[*types.Var][]*ssa.Store{}, loads: map[*types.Var][]ssa.Value{},
		global: map[*ssa.Global][]*ssa.Store{}, bound: map[*ssa.Function][]*ssa.MakeClosure{}}
	made := map[*types.Package]bool{}
	for _, p := range s.Packages {
		made[p.Types] = true
	}
	for _, p := range s.Packages {
		for _, imported := range p.Types.Imports() {
			f.outside(imported, made)
		}
		f.prog.CreatePackage(p.Types, p.Files, p.Info, true)
	}
	f.prog.Build()
	f.graph = vta.CallGraph(ssautil.AllFunctions(f.prog), cha.CallGraph(f.prog))
	for fn := range f.graph.Nodes {
		if fn == nil {
			continue
		}
		for _, b := range fn.Blocks {
			for _, i := range b.Instrs {
				f.note(i)
			}
		}
	}
	return f
}

// outside makes the packages that are not ours known, without their bodies.
func (f *flow) outside(p *types.Package, made map[*types.Package]bool) {
	if made[p] {
		return
	}
	made[p] = true
	for _, imported := range p.Imports() {
		f.outside(imported, made)
	}
	f.prog.CreatePackage(p, nil, nil, true)
}

func (f *flow) note(i ssa.Instruction) {
	switch i := i.(type) {
	case *ssa.Store:
		switch to := i.Addr.(type) {
		case *ssa.FieldAddr:
			v := fieldOf(to.X.Type(), to.Field)
			f.stores[v] = append(f.stores[v], i)
		case *ssa.Global:
			f.global[to] = append(f.global[to], i)
		}
	case *ssa.UnOp:
		if from, ok := i.X.(*ssa.FieldAddr); ok && i.Op == token.MUL {
			v := fieldOf(from.X.Type(), from.Field)
			f.loads[v] = append(f.loads[v], i)
		}
	case *ssa.Field:
		v := fieldOf(i.X.Type(), i.Field)
		f.loads[v] = append(f.loads[v], i)
	case *ssa.MakeClosure:
		fn := i.Fn.(*ssa.Function)
		f.bound[fn] = append(f.bound[fn], i)
	}
}

func fieldOf(t types.Type, n int) *types.Var {
	if p, ok := t.Underlying().(*types.Pointer); ok {
		t = p.Elem()
	}
	return t.Underlying().(*types.Struct).Field(n).Origin()
}

func (f *flow) callees(call ssa.CallInstruction) []*ssa.Function {
	if fn := call.Common().StaticCallee(); fn != nil {
		return []*ssa.Function{fn}
	}
	var all []*ssa.Function
	if node := f.graph.Nodes[call.Parent()]; node != nil {
		for _, e := range node.Out {
			if e.Site == call {
				all = append(all, e.Callee.Func)
			}
		}
	}
	return all
}
