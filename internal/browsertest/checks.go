package browsertest

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"strings"
)

// axe looks for what keeps people out of a page: axe-core, as it is published,
// licence beside it.
//
//go:embed testdata/axe.min.js
var axe string

// Troubles are the errors on the page's console since the last call, broken content
// security policies among them. What is not asked for fails the test at its end.
func (p *Page) Troubles() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	troubles := p.troubles
	p.troubles = nil
	return troubles
}

// Sound demands that the page fits its width and that axe-core finds nothing in it.
func (p *Page) Sound() {
	p.t.Helper()
	if wide := p.Sideways(); wide != "" {
		p.t.Errorf("%d pixels wide: %s", p.look.Width, wide)
	}
	for _, barrier := range p.Barriers() {
		p.t.Errorf("dark %v, %d pixels wide: %s", p.look.Dark, p.look.Width, barrier)
	}
}

// Sideways says what makes the page scroll sideways; "": nothing does.
func (p *Page) Sideways() string {
	p.t.Helper()
	return Eval[string](p, `(() => {
		const page = document.documentElement;
		if (page.scrollWidth <= page.clientWidth) return "";
		const out = [...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > page.clientWidth + 0.5);
		return page.scrollWidth + " of " + page.clientWidth + " pixels: " + out.slice(0, 3).map(e => e.outerHTML.slice(0, 120)).join(" | ");
	})()`)
}

// violation is one finding of axe-core.
type violation struct {
	ID     string `json:"id"`
	Impact string `json:"impact"`
	Help   string `json:"help"`
	Nodes  []struct {
		HTML    string `json:"html"`
		Summary string `json:"failureSummary"`
	} `json:"nodes"`
}

// Barriers is what axe-core finds in the page: its rules for WCAG 2 A and AA and those
// that it calls best practice.
func (p *Page) Barriers() []string {
	p.t.Helper()
	if !Eval[bool](p, "!!window.axe") {
		Eval[bool](p, axe+"\n;true")
	}
	found := Eval[string](p, `axe.run(document, {preload: false, resultTypes: ["violations"]}).then(r => JSON.stringify(r.violations))`)
	var all []violation
	if err := json.Unmarshal([]byte(found), &all); err != nil {
		p.t.Fatalf("what axe-core found: %v", err)
	}
	var said []string
	for _, v := range all {
		lines := []string{fmt.Sprintf("%s (%s): %s", v.ID, v.Impact, v.Help)}
		for _, node := range v.Nodes[:min(len(v.Nodes), 3)] {
			lines = append(lines, fmt.Sprintf("  %.200s\n  %s", node.HTML, node.Summary))
		}
		said = append(said, strings.Join(lines, "\n"))
	}
	return said
}
