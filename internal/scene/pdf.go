package scene

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"time"
	"unicode/utf16"
)

// PDF is scenes as the pages of an A4 document. Its fonts are embedded and
// subset and its text can be searched and copied. The same scenes, title and
// moment give the same bytes.
func PDF(pages []*Scene, title string, made time.Time) ([]byte, error) {
	var out bytes.Buffer
	d := NewDocument(&out, made)
	order := make([]Page, len(pages))
	for i, s := range pages {
		order[i] = d.Add(s)
	}
	if err := d.Close(title, order, nil); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// Page is a page of a document.
type Page int // the object with what is drawn on it

// The numbers of the objects that others lean on.
const (
	pagesObject = iota + 1
	resourcesObject
)

// A4, in printer's points.
const a4 = "[0 0 595.28 841.89]"

// NewDocument begins a document that is made at that moment.
func NewDocument(out io.Writer, made time.Time) *Document {
	d := &Document{out: out, made: made, objects: make([]int64, resourcesObject), pen: newPen()}
	d.packer = zlib.NewWriter(&d.packed)
	d.printf("%%PDF-1.5\n%%\xB5\xB6\xB7\xB8\n") // bytes above 127 say that it is no text
	return d
}

// Add writes what a page shows, besides its foot.
func (d *Document) Add(s *Scene) Page {
	d.pen.begin()
	s.Draw(&d.pen)
	return Page(d.stream("", d.pen.content.Bytes()))
}

// Close ends the document with its pages in order. The foot of each, by its
// index, is drawn over it; nil: none has one. The error is the first of the
// writer, or of the fonts.
func (d *Document) Close(title string, order []Page, foot func(i int) *Scene) error {
	kids := make([]int, len(order))
	for i, page := range order {
		contents := fmt.Sprintf("[%d 0 R]", page)
		if foot != nil {
			contents = fmt.Sprintf("[%d 0 R %d 0 R]", page, d.Add(foot(i)))
		}
		kids[i] = d.object(fmt.Sprintf("<</Type/Page/Parent %d 0 R/Resources %d 0 R/Contents %s>>", pagesObject, resourcesObject, contents))
	}
	d.begin(pagesObject)
	d.printf("<</Type/Pages/MediaBox %s/Count %d/Kids[", a4, len(kids))
	for _, n := range kids {
		d.printf("%d 0 R\n", n)
	}
	d.printf("]>>\nendobj\n")
	fonts, err := d.fonts()
	if err != nil {
		return err
	}
	d.begin(resourcesObject)
	d.printf("<</ProcSet[/PDF/Text]/Font<<%s>>>>\nendobj\n", fonts)
	when := d.made.Format("D:20060102150405")
	info := d.object(fmt.Sprintf("<</Producer(sillbot)/Title %s/CreationDate(%s)/ModDate(%s)>>", hexText(title), when, when))
	root := d.object(fmt.Sprintf("<</Type/Catalog/Pages %d 0 R>>", pagesObject))
	d.table(info, root)
	return d.err
}

// table ends the file with where each object begins.
func (d *Document) table(info, root int) {
	at := d.at
	d.printf("xref\n0 %d\n0000000000 65535 f \n", len(d.objects)+1)
	for _, begins := range d.objects {
		d.printf("%010d 00000 n \n", begins)
	}
	d.printf("trailer\n<</Size %d/Root %d 0 R/Info %d 0 R>>\nstartxref\n%d\n%%%%EOF\n", len(d.objects)+1, root, info, at)
}

// hexText is text as a PDF has it outside of pages.
func hexText(s string) string {
	out := "<FEFF"
	for _, unit := range utf16.Encode([]rune(s)) {
		out += fmt.Sprintf("%04X", unit)
	}
	return out + ">"
}
