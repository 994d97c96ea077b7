package job

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/locales"
)

// Every sentence and word that this package can ask for is in the catalogue.
// The keys are read out of the source, so that a new one can't be forgotten.
func TestEveryKeyIsInTheCatalogue(t *testing.T) {
	words, err := locales.Load()
	require.NoError(t, err)
	var missing []string
	for key := range sourceKeys(t) {
		if !words.Has(locales.Default, key) {
			missing = append(missing, key)
		}
	}
	sort.Strings(missing)
	require.Empty(t, missing)
}

func sourceKeys(t *testing.T) map[string]bool {
	keys := map[string]bool{"job.none": true, "job.yes": true, "job.no": true, "job.words": true, "job.refused.read": true, "job.refused.again_already": true}
	for _, role := range []Role{Fitter, Lead, Desk} {
		keys["role."+string(role)] = true
	}
	for _, m := range []calc.Material{calc.PVCUWhite, calc.PVCUColour, calc.Timber, calc.Steel, calc.Aluminium} {
		keys["job.material."+string(m)] = true
	}
	for _, h := range []calc.Hinge{calc.FixedLight, calc.SideLeft, calc.SideRight, calc.TopHung, calc.BottomHung, calc.TiltTurnLeft, calc.TiltTurnRight} {
		keys["job.hinge."+string(h)] = true
		for _, f := range hardware(calc.Layout{Lights: []calc.Light{{Hinge: h}}}) {
			keys["job.hardware."+f.What] = true
		}
	}
	for _, do := range Actions {
		keys["job.refused."+wrongState(Opening{}, do).Reason] = true
	}
	delete(keys, "job.refused.supersede")                               // of the whole order: never asked for
	for _, do := range []Action{DoRestore, DoStand, DoStandConfirmed} { // follow from what is as it was sent
		delete(keys, "job.refused."+string(do))
	}
	delete(keys, "job.refused.undo") // every state that can be deleted can be brought back
	for _, row := range Steps {
		if row.Day {
			keys["job.step."+string(row.Do)] = true        // what comes next
			keys["button.job.step."+string(row.Do)] = true // its button
		}
		if row.Day && row.Do != DoHandOver || row.Do == DoBack || row.Do == DoReject {
			keys["words.step."+string(row.Do)] = true // what is typed
		}
	}
	for _, name := range opening.ReadingKeys {
		keys[readingWord(name)] = true
	}
	sources, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, source := range sources {
		if strings.HasSuffix(source, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), source, nil, 0)
		require.NoError(t, err)
		addKeys(file, keys)
	}
	delete(keys, "job.event."+string(LinePromised))
	for _, what := range []string{"day", "price", "both"} {
		keys["job.event."+string(LinePromised)+"."+what] = true
	}
	require.Greater(t, len(keys), 150)
	return keys
}

// addKeys takes the reasons of refuse("reason") and the values of constants
// whose type has sentences.
func addKeys(file *ast.File, keys map[string]bool) {
	prefix := map[string]string{"EventKind": "job.event.", "ChangeKind": "job.change.", "State": "job.state."}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			name, ok := n.Fun.(*ast.Ident)
			if ok && name.Name == "refuse" && len(n.Args) == 1 {
				if text, ok := literal(n.Args[0]); ok {
					keys["job.refused."+text] = true
				}
			}
		case *ast.ValueSpec:
			kind, ok := n.Type.(*ast.Ident)
			if !ok || prefix[kind.Name] == "" {
				break
			}
			text, _ := literal(n.Values[0])
			keys[prefix[kind.Name]+text] = true
		}
		return true
	})
}

func literal(e ast.Expr) (string, bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(lit.Value)
	return text, err == nil
}
