package codetest

import (
	"fmt"
	"go/ast"
	"path/filepath"
	"slices"
	"strings"
)

// Arrow says that one file of a package uses what another declares.
type Arrow struct {
	From, To string
	Uses     []string // the names, sorted
}

func (a Arrow) String() string {
	return fmt.Sprintf("%s uses %s of %s", a.From, strings.Join(a.Uses, ", "), a.To)
}

// Circle is the largest set of files of the package that all lean on each
// other, sorted, with the arrows inside it. Both are nil when the arrows
// between files run downwards only.
func Circle(src *Source, p *Package) (files []string, arrows []Arrow) {
	all := fileArrows(src, p)
	reach := map[string]map[string]bool{}
	for from := range all {
		reach[from] = map[string]bool{}
		follow(all, from, reach[from])
	}
	for from := range reach {
		var round []string
		for to := range reach[from] {
			if reach[to][from] {
				round = append(round, to)
			}
		}
		slices.Sort(round)
		if len(round) > len(files) || len(round) == len(files) && slices.Compare(round, files) < 0 {
			files = round
		}
	}
	for _, from := range files {
		for _, to := range files {
			if uses := all[from][to]; len(uses) > 0 {
				slices.Sort(uses)
				arrows = append(arrows, Arrow{from, to, slices.Compact(uses)})
			}
		}
	}
	return files, arrows
}

func follow(all map[string]map[string][]string, from string, seen map[string]bool) {
	for to := range all[from] {
		if !seen[to] {
			seen[to] = true
			follow(all, to, seen)
		}
	}
}

// fileArrows are, for each file, the files whose objects it uses, methods and
// fields too, with their names.
func fileArrows(src *Source, p *Package) map[string]map[string][]string {
	all := map[string]map[string][]string{}
	for _, f := range p.Files {
		from := fileOf(src, f)
		ast.Inspect(f, func(n ast.Node) bool {
			id, ok := n.(*ast.Ident)
			if !ok {
				return true
			}
			used := p.Info.Uses[id]
			if used == nil || used.Pkg() != p.Types || !used.Pos().IsValid() {
				return true
			}
			if to := filepath.Base(src.Fset.Position(used.Pos()).Filename); to != from {
				if all[from] == nil {
					all[from] = map[string][]string{}
				}
				all[from][to] = append(all[from][to], used.Name())
			}
			return true
		})
	}
	return all
}

func fileOf(src *Source, f *ast.File) string {
	return filepath.Base(src.Fset.Position(f.Package).Filename)
}
