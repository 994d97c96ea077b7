package scene

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"time"
)

// Document is a PDF that is written page by page, in any order: what it holds
// grows by a few bytes a page. Errors of the writer come at the end.
type Document struct {
	out     io.Writer
	at      int64
	err     error
	objects []int64 // where each begins, from number 1; 0: not written yet
	made    time.Time
	pen     pen
	packer  *zlib.Writer
	packed  bytes.Buffer
}

func (d *Document) printf(format string, args ...any) {
	if d.err != nil {
		return
	}
	n, err := fmt.Fprintf(d.out, format, args...)
	d.at += int64(n)
	if err != nil {
		d.err = fmt.Errorf("scene: writing the PDF: %w", err)
	}
}

// begin begins the object of that number.
func (d *Document) begin(number int) {
	d.objects[number-1] = d.at
	d.printf("%d 0 obj\n", number)
}

// object writes the next object and gives its number.
func (d *Document) object(body string) int {
	d.objects = append(d.objects, 0)
	d.begin(len(d.objects))
	d.printf("%s\nendobj\n", body)
	return len(d.objects)
}

// stream writes data, packed, as the next object; more stands with its length.
func (d *Document) stream(more string, data []byte) int {
	d.packed.Reset()
	d.packer.Reset(&d.packed)
	_, _ = d.packer.Write(data) // into memory
	_ = d.packer.Close()
	return d.object(fmt.Sprintf("<</Filter/FlateDecode/Length %d%s>>\nstream\n%s\nendstream", d.packed.Len(), more, d.packed.Bytes()))
}
