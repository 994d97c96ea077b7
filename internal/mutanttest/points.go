package main

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/token"
	"go/types"
	"slices"
	"strings"

	"golang.org/x/tools/go/packages"
)

// A mutant is one change to one expression. What names it stays the same when
// lines are put in above it: package, function, text, change, and which one of
// those that are alike in the function.
type mutant struct {
	id     int // within its package, from 1
	pkg    string
	fn     string
	text   string // of the expression, on one line
	change string
	nth    int // from 1
	place  string
}

// key is what a mutant is listed by: its names between tabs.
func (m mutant) key() string {
	return fmt.Sprintf("%s\t%s\t%s\t%s\t%d", m.pkg, m.fn, m.text, m.change, m.nth)
}

// file is the one that the mutant stands in.
func (m mutant) file() string {
	file, _, _ := strings.Cut(m.place, ":")
	return file
}

func (m mutant) String() string {
	return fmt.Sprintf("%s %s: `%s` %s", m.place, m.fn, m.text, m.change)
}

// A point is an expression with the mutants it can become. With core the
// expression is taken apart into that helper's arguments; each wrap is a helper
// that the whole goes through.
type point struct {
	node  ast.Expr
	core  string // helper, "" for none
	id    int    // of core
	args  []ast.Expr
	lazy  bool // the second argument is evaluated by the helper
	deref bool // the first argument is a pointer
	more  string
	wraps []wrap
}

type wrap struct {
	helper string
	id     int
}

// finder collects the points of one package.
type finder struct {
	pkg     *packages.Package
	short   string // the package's name in reports
	fn      string
	results *types.Tuple // of the function at hand
	points  map[ast.Expr]*point
	mutants []mutant
	seen    map[string]int
	source  map[string][]byte
}

// start forgets the points of the file before.
func (f *finder) start() { f.points = map[ast.Expr]*point{} }

// find walks the functions of a file.
func (f *finder) find(file *ast.File) {
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Body != nil {
				f.fn, f.results = nameOf(d), f.resultsOf(d.Name)
				f.walk(d.Body)
			}
		case *ast.GenDecl:
			if d.Tok == token.VAR {
				f.fn, f.results = "var", nil
				f.walk(d)
			}
		}
	}
}

func nameOf(d *ast.FuncDecl) string {
	if d.Recv == nil || len(d.Recv.List) == 0 {
		return d.Name.Name
	}
	t := d.Recv.List[0].Type
	if s, ok := t.(*ast.StarExpr); ok {
		t = s.X
	}
	if i, ok := t.(*ast.IndexExpr); ok {
		t = i.X
	}
	return fmt.Sprintf("%v.%s", t, d.Name.Name)
}

func (f *finder) resultsOf(name *ast.Ident) *types.Tuple {
	fn, ok := f.pkg.TypesInfo.Defs[name].(*types.Func)
	if !ok {
		return nil
	}
	return fn.Signature().Results()
}

func (f *finder) walk(root ast.Node) {
	ast.Inspect(root, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.FuncLit:
			f.walkLiteral(n)
			return false
		case *ast.IfStmt:
			f.condition(n.Cond)
		case *ast.SwitchStmt:
			if n.Tag == nil {
				f.cases(n)
			}
		case *ast.ReturnStmt:
			f.returned(n)
		case *ast.AssignStmt:
			f.increment(n)
		case *ast.BinaryExpr:
			f.binary(n)
		case *ast.CallExpr:
			f.call(n)
		}
		return true
	})
}

// walkLiteral walks a function within the function, whose returns are its own.
func (f *finder) walkLiteral(lit *ast.FuncLit) {
	outer := f.results
	if sig, ok := f.pkg.TypesInfo.TypeOf(lit).(*types.Signature); ok {
		f.results = sig.Results()
	}
	f.walk(lit.Body)
	f.results = outer
}

func (f *finder) cases(s *ast.SwitchStmt) {
	for _, c := range s.Body.List {
		for _, e := range c.(*ast.CaseClause).List {
			f.condition(e)
		}
	}
}

// condition is what an if or a case hangs on. Turning an equality round is
// that expression's own mutant already.
func (f *finder) condition(e ast.Expr) {
	if !f.isBool(e) {
		return
	}
	if !f.turnsItself(e) {
		f.wrap(e, "mutantNot", "negated")
	}
	f.wrap(e, "mutantFalse", "never")
}

func (f *finder) turnsItself(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.BinaryExpr:
		return e.Op == token.EQL || e.Op == token.NEQ
	case *ast.CallExpr:
		s, ok := swaps[f.decimalMethod(e)]
		return ok && s.turns
	}
	return false
}

// returned finds errors that a guard returns, and the yes and no of a test.
func (f *finder) returned(r *ast.ReturnStmt) {
	if f.results == nil || len(r.Results) == 0 || f.results.Len() != len(r.Results) {
		return
	}
	for i, e := range r.Results {
		if id, ok := e.(*ast.Ident); ok && (id.Name == "true" || id.Name == "false") {
			f.wrap(e, "mutantNot", "returned turned round")
		}
		isError := types.Identical(f.results.At(i).Type(), types.Universe.Lookup("error").Type())
		if isError && !f.pkg.TypesInfo.Types[e].IsNil() {
			f.wrap(e, "mutantNoError", "no error")
		}
	}
}

// increment finds x += y of integers. A bare number takes the type of x.
func (f *finder) increment(a *ast.AssignStmt) {
	if (a.Tok != token.ADD_ASSIGN && a.Tok != token.SUB_ASSIGN) || !f.isInteger(a.Rhs[0]) {
		return
	}
	helper := "mutantNegative"
	if f.pkg.TypesInfo.Types[a.Rhs[0]].Value != nil {
		t, ok := f.pkg.TypesInfo.TypeOf(a.Lhs[0]).(*types.Basic)
		if !ok {
			return
		}
		helper += "[" + t.Name() + "]"
	}
	f.wrap(a.Rhs[0], helper, "added with the other sign")
}

var comparisons = map[token.Token]struct{ helper, change string }{
	token.LSS: {"mutantLess", "< becomes <="},
	token.LEQ: {"mutantLessOrEqual", "<= becomes <"},
	token.GTR: {"mutantMore", "> becomes >="},
	token.GEQ: {"mutantMoreOrEqual", ">= becomes >"},
}

var sums = map[token.Token]struct{ helper, change string }{
	token.ADD: {"mutantPlus", "+ becomes -"},
	token.SUB: {"mutantMinus", "- becomes +"},
	token.MUL: {"mutantTimes", "* becomes /"},
	token.QUO: {"mutantOver", "/ becomes *"},
}

func (f *finder) binary(b *ast.BinaryExpr) {
	if f.pkg.TypesInfo.Types[b].Value != nil {
		return // a constant
	}
	if c, ok := comparisons[b.Op]; ok {
		f.core(b, c.helper, c.change, b.X, b.Y)
	}
	if s, ok := sums[b.Op]; ok && f.isInteger(b) {
		f.core(b, s.helper, s.change, b.X, b.Y)
	}
	switch b.Op {
	case token.EQL:
		f.wrap(b, "mutantNot", "== becomes !=")
	case token.NEQ:
		f.wrap(b, "mutantNot", "!= becomes ==")
	case token.LAND:
		f.core(b, "mutantAnd", "&& becomes ||", b.X, b.Y).lazy = true
		f.drop(b, "mutantTrue", "left out of &&")
	case token.LOR:
		f.core(b, "mutantOr", "|| becomes &&", b.X, b.Y).lazy = true
		f.drop(b, "mutantFalse", "left out of ||")
	}
}

// drop leaves each operand out by itself; a chain of one operator is one list.
func (f *finder) drop(b *ast.BinaryExpr, helper, change string) {
	for _, e := range []ast.Expr{b.X, b.Y} {
		inner, ok := ast.Unparen(e).(*ast.BinaryExpr)
		if !ok || inner.Op != b.Op {
			f.wrap(e, helper, change)
		}
	}
}

func (f *finder) call(c *ast.CallExpr) {
	s, ok := swaps[f.decimalMethod(c)]
	if !ok {
		return
	}
	sel := c.Fun.(*ast.SelectorExpr)
	args := c.Args
	if !s.function {
		args = append([]ast.Expr{sel.X}, args...)
	}
	p := f.core(c, s.helper(), s.change(), args...)
	if c.Ellipsis.IsValid() {
		p.more = "..."
	}
	_, p.deref = f.pkg.TypesInfo.TypeOf(args[0]).Underlying().(*types.Pointer)
}

const decimalPath = "github.com/shopspring/decimal"

// decimalMethod names the decimal operation that is called, "" for any other.
func (f *finder) decimalMethod(c *ast.CallExpr) string {
	sel, ok := c.Fun.(*ast.SelectorExpr)
	if !ok {
		return ""
	}
	fn, ok := f.pkg.TypesInfo.Uses[sel.Sel].(*types.Func)
	if !ok || fn.Pkg() == nil || fn.Pkg().Path() != decimalPath {
		return ""
	}
	if s, ok := f.pkg.TypesInfo.Selections[sel]; ok && len(s.Index()) > 1 {
		return "" // of an embedded decimal
	}
	return fn.Name()
}

func (f *finder) isBool(e ast.Expr) bool {
	tv := f.pkg.TypesInfo.Types[e]
	b, ok := tv.Type.(*types.Basic)
	return ok && b.Info()&types.IsBoolean != 0
}

func (f *finder) isInteger(e ast.Expr) bool {
	b, ok := f.pkg.TypesInfo.TypeOf(e).Underlying().(*types.Basic)
	return ok && b.Info()&types.IsInteger != 0
}

func (f *finder) pointOf(e ast.Expr) *point {
	p := f.points[e]
	if p == nil {
		p = &point{node: e}
		f.points[e] = p
	}
	return p
}

func (f *finder) core(e ast.Expr, helper, change string, args ...ast.Expr) *point {
	p := f.pointOf(e)
	p.core, p.args, p.id = helper, args, f.add(e, change)
	return p
}

func (f *finder) wrap(e ast.Expr, helper, change string) {
	p := f.pointOf(e)
	p.wraps = append(p.wraps, wrap{helper, f.add(e, change)})
}

func (f *finder) add(e ast.Expr, change string) int {
	at := f.pkg.Fset.Position(e.Pos())
	text := strings.Join(strings.Fields(f.text(e.Pos(), e.End())), " ")
	m := mutant{id: len(f.mutants) + 1, pkg: f.short, fn: f.fn, text: text, change: change,
		place: fmt.Sprintf("%s:%d", at.Filename[strings.LastIndexByte(at.Filename, '/')+1:], at.Line)}
	alike := m.key()
	f.seen[alike]++
	m.nth = f.seen[alike]
	f.mutants = append(f.mutants, m)
	return m.id
}

func (f *finder) text(from, to token.Pos) string {
	a, b := f.pkg.Fset.Position(from), f.pkg.Fset.Position(to)
	return string(f.source[a.Filename][a.Offset:b.Offset])
}

// within gives the outermost points between two places, in order, without the
// one that is being rendered itself.
func within(sorted []*point, from, to token.Pos, but *point) []*point {
	i, _ := slices.BinarySearchFunc(sorted, from, func(p *point, at token.Pos) int {
		return cmp.Compare(p.node.Pos(), at)
	})
	var out []*point
	for at := from; i < len(sorted) && sorted[i].node.Pos() < to; i++ {
		if p := sorted[i]; p != but && p.node.Pos() >= at && p.node.End() <= to {
			out = append(out, p)
			at = p.node.End()
		}
	}
	return out
}
