package codetest

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"testing"

	"github.com/stretchr/testify/require"
)

const phraseSource = `package phrase

type Text struct {
	Key string
	Say map[string]string
}

func Of(key string) Text { return Text{Key: key} }

func (t Text) Saying(name, words string) Text { t.Say = map[string]string{name: words}; return t }

func (t Text) Word(name, key string) Text { return t.Saying(name, Of(key).Key) }
`

const sayingSource = `package p

import "sillbot/internal/phrase"

type Colour string

type reason struct {
	Rule  string
	Words map[string]string
}

func say(phrase.Text) {}

func chain() { say(phrase.Of("chain").Saying("a", "x").Saying("b", "y")) }

func later(long bool) {
	key := "short"
	if long {
		key = "long"
	}
	t := phrase.Of(key).Word("word", "inner")
	t = t.Saying("c", "z")
	say(t)
}

func joined(c Colour) { say(phrase.Of("colour." + string(c)).Saying("d", "")) }

func rules() []reason {
	one := reason{Rule: "one", Words: map[string]string{"e": ""}}
	one.Words["f"] = ""
	return []reason{one, two("two")}
}

func two(rule string) reason { return reason{Rule: rule} }

func text(r reason) phrase.Text { return phrase.Text{Key: "why." + r.Rule, Say: r.Words} }

func All() {
	chain()
	later(true)
	joined(Colour("red"))
	for _, r := range rules() {
		say(text(r).Saying("g", ""))
	}
}
`

// TestKeysAreFollowed to where they are made, with the places on the way.
func TestKeysAreFollowed(t *testing.T) {
	src := &Source{Fset: token.NewFileSet()}
	checked := map[string]*types.Package{}
	for _, p := range [][2]string{{"/internal/phrase", phraseSource}, {"/p", sayingSource}} {
		f, err := parser.ParseFile(src.Fset, p[0]+".go", p[1], 0)
		require.NoError(t, err)
		pkg := &Package{Path: Module + p[0], Info: newInfo(), Files: []*ast.File{f}}
		conf := types.Config{Importer: importFunc(func(path string) (*types.Package, error) { return checked[path], nil })}
		pkg.Types, err = conf.Check(pkg.Path, src.Fset, pkg.Files, pkg.Info)
		require.NoError(t, err)
		checked[pkg.Path] = pkg.Types
		src.Packages = append(src.Packages, pkg)
	}
	places := map[string][]string{}
	for _, k := range src.Keys([]string{"colour.*"}) {
		places[k.Name] = append(places[k.Name], k.Places...)
	}
	require.Equal(t, map[string][]string{
		"chain": {"a", "b"}, "short": {"c", "word"}, "long": {"c", "word"}, "inner": nil,
		"colour.*": {"d"}, "why.*": {"g"}, "why.one": {"e", "f", "g"}, "why.two": {"g"},
	}, places)
}
