package orderpage

import (
	"html/template"

	"sillbot/internal/sheet"
)

// sheetOf is what the template takes of every page.
type sheetOf struct {
	Lang, Title string
	Lines       []string // of a page that says something and does nothing
	Open        *opener
	Order       *view
}

// opener is the page that opens a link.
type opener struct{ To, What, Code, Button, Manual string }

// view is a page as the template takes it.
type view struct {
	At, CSRF, Once, Stamp string
	Heading               string
	Notices               []string // what has to be known first
	News                  string   // what was said to the page last
	Wrong                 []string // why a form that was sent was not taken
	Changed               string   // heading of Changes
	Changes               []string
	Lines                 []line
	All                   *form // what is done to all lines
	Open                  []string
	Papers                []link
	PapersTitle           string
	SaidTitle             string
	Said                  []said
	Others                []link
	OthersTitle           string
	Close                 *form
	Words                 map[string]string // of the script
	Follows, Reload       string
}

type link struct{ To, Label string }

type said struct{ When, Words string }

// line is one window.
type line struct {
	N       int
	Heading string
	Done    string // that it is confirmed or agreed to
	Drawing template.HTML
	Facts   []string
	Rows    []sheet.Row
	Forms   []form
}

// form is one thing to do: a button alone, or in a fold with fields over it.
type form struct {
	Do, Fold, What, Button string
	Line                   int
	Typed                  bool    // it was sent and not taken
	Values                 []value // hidden
	Fields                 []field
}

type value struct{ Name, Value string }

type field struct {
	Name, Label, Value string
	Kind               string // text, money, day or words
	Required, Typed    bool   // Typed: Value was typed and is nowhere else
}
