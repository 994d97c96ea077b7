package locales_test

import (
	"cmp"
	"go/ast"
	"go/token"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/require"

	"sillbot/internal/codetest"
)

// itself are the keys that the catalogue reads for itself.
var itself = []string{"number.comma", "list.separator"}

// retired are keys that earlier releases said: they may wait in an outbox.
var retired = []string{"finding.edition_new", "plan.screw", "warnings.gone", "why.fixing_screw", "why.joint_least", "why.joint_backing", "why.joint_porous", "why.joint_disagree", "why.joint_disagree_class", "finding.glass_bath", "finding.escape_less", "finding.escape_small", "customer.lacks", "job.refused.customer"}

// TestTheCodeAndTheCatalogueAgree: every key that the code names has a
// sentence, every place of it is filled there, and every sentence is named.
func TestTheCodeAndTheCatalogueAgree(t *testing.T) {
	src := source(t)
	c := check{T: t, needs: catalogue(t), named: map[string]bool{}, filled: map[string][]string{}, declared: map[string]family{}}
	var closed []string
	for _, f := range families(t, src) {
		require.NotContains(t, c.declared, f.key)
		c.declared[f.key] = f
		if !f.followed {
			closed = append(closed, f.key)
		}
	}
	for _, key := range append(itself, retired...) {
		c.named[key] = true
	}
	for _, k := range src.Keys(closed) {
		c.key(k)
	}
	c.families()
	for key := range c.needs {
		if !c.named[key] {
			t.Errorf("nothing names %q", key)
		}
	}
}

var loaded *codetest.Source

// source is the code, which takes seconds to load, for all the tests of it.
func source(t *testing.T) *codetest.Source {
	if loaded == nil {
		loaded = codetest.Load(t, "..")
	}
	return loaded
}

// TestNoKeyGrows: a key is named whole where it is said, so that it can be
// looked for.
func TestNoKeyGrows(t *testing.T) {
	src := source(t)
	for _, p := range src.Packages {
		for _, file := range p.Files {
			ast.Inspect(file, func(n ast.Node) bool {
				grows, ok := n.(*ast.AssignStmt)
				if !ok || grows.Tok != token.ADD_ASSIGN {
					return true
				}
				field, ok := grows.Lhs[0].(*ast.SelectorExpr)
				if ok && p.Info.TypeOf(field.X).String() == codetest.Module+"/internal/phrase.Text" {
					t.Errorf("%s: the key of a text grows", src.Fset.Position(n.Pos()))
				}
				return true
			})
		}
	}
}

type check struct {
	*testing.T
	needs    map[string][]string // of each sentence its places
	declared map[string]family
	named    map[string]bool
	filled   map[string][]string // of each family that is built, the places that are filled
}

// key is one place of the code.
func (c check) key(k codetest.Key) {
	if _, declared := c.declared[k.Name]; declared && (k.Form || strings.HasPrefix(k.Name, "words.")) {
		c.filled[k.Name] = append(c.filled[k.Name], append(k.Places, "")...)
		return
	}
	family := c.family(k)
	switch {
	case k.Form:
	case k.Name == "": // says nothing
	case family.followed && slices.Contains(family.but, cmp.Or(family.code(k.Name), "-")):
	case !strings.Contains(k.Name, "*"):
		c.name(k.Name, k.At, k.Places)
	case len(k.Built) > 0 && !family.followed:
		c.Errorf("%s: what is joined to %s comes from where it can't be followed: declare the family", k.At, k.Built[len(k.Built)-1])
	}
}

// family is the declared one that a key goes through.
func (c check) family(k codetest.Key) family {
	for _, form := range k.Built {
		if f, ok := c.declared[form]; ok {
			return f
		}
	}
	return family{}
}

// code is what stands in the place of the star.
func (f family) code(key string) string {
	before, after, _ := strings.Cut(f.key, "*")
	return strings.TrimSuffix(strings.TrimPrefix(key, before), after)
}

func (c check) name(key, at string, places []string) {
	c.named[key] = true
	needs, ok := c.needs[key]
	if !ok {
		c.Errorf("%s names %q: the catalogue has no such sentence", at, key)
	}
	for _, place := range needs {
		if !slices.Contains(places, place) && !slices.Contains(places, "*") {
			c.Errorf("%s names %q and does not fill {{.%s}}", at, key, place)
		}
	}
}

// families demands every code of every family, and that the family is built.
func (c check) families() {
	for key, f := range c.declared {
		places, built := c.filled[key]
		if !built && !strings.HasPrefix(key, "words.") { // package hear reads the words, and its test knows their groups
			c.Errorf("nothing builds %s: take the family out", key)
		}
		for _, code := range f.codes {
			if name := strings.Replace(key, "*", code, 1); f.followed {
				c.name(name, "the family "+key, []string{"*"})
			} else {
				c.name(name, "the family "+key, append(places, f.filled...))
			}
		}
	}
}

// catalogue gives the places of each sentence of the English catalogue, those
// of all its plural forms.
func catalogue(t *testing.T) map[string][]string {
	var all map[string]any
	_, err := toml.DecodeFile("en.toml", &all)
	require.NoError(t, err)
	needs := map[string][]string{}
	for key, value := range all {
		needs[key] = nil
		forms, _ := value.(map[string]any)
		if text, ok := value.(string); ok {
			forms = map[string]any{"": text}
		}
		for _, text := range forms {
			for _, found := range regexp.MustCompile(`{{\.(\w+)}}`).FindAllStringSubmatch(text.(string), -1) {
				if !slices.Contains(needs[key], found[1]) {
					needs[key] = append(needs[key], found[1])
				}
			}
		}
	}
	return needs
}
