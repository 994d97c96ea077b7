package terminal

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

const (
	// mostLine is the longest line read, in bytes. The rest of a longer one is
	// passed over; other chats go on.
	mostLine = 1 << 20
	// mostText is the longest message of the platform, in UTF-16 code units.
	mostText = 4096
)

// line is one line of the input. long: it was longer than mostLine, and text is
// its beginning.
type line struct {
	text string
	long bool
}

// read delivers the lines through a channel, so that Ctrl-C works while one is
// awaited.
func read(ctx context.Context, in io.Reader) (<-chan line, <-chan error) {
	lines, failed := make(chan line), make(chan error, 1)
	go func() {
		defer close(lines)
		reader := bufio.NewReader(in)
		for {
			l, err := readLine(reader)
			if err == nil || l.text != "" {
				select {
				case lines <- l:
				case <-ctx.Done():
					return
				}
			}
			if err != nil {
				if err == io.EOF {
					err = nil
				}
				failed <- err
				return
			}
		}
	}()
	return lines, failed
}

// readLine reads to the end of a line and keeps mostLine bytes of it.
func readLine(in *bufio.Reader) (line, error) {
	var text []byte
	long := false
	for {
		part, err := in.ReadSlice('\n')
		if room := mostLine + 2 - len(text); len(part) > room { // 2: a line end
			part = part[:room]
		}
		text = append(text, part...)
		if err == bufio.ErrBufferFull {
			continue
		}
		text = bytes.TrimSuffix(bytes.TrimSuffix(text, []byte("\n")), []byte("\r"))
		if long = len(text) > mostLine; long {
			text = text[:mostLine]
		}
		return line{strings.ToValidUTF8(string(text), "�"), long}, err
	}
}

// pieces cuts a text into messages as the platform has them: mostText UTF-16
// code units each at most, after the last line end that fits, else after the
// last space, else where the room ends. A text that fits stays as it is.
func pieces(text string) []string {
	var parts []string
	for whole := text; ; {
		cut := fitting(text)
		if cut == len(whole) {
			return []string{whole}
		}
		if part := strings.TrimSpace(text[:cut]); part != "" {
			parts = append(parts, part)
		}
		if text = text[cut:]; text == "" {
			break
		}
	}
	if parts == nil {
		return []string{""} // blanks alone
	}
	return parts
}

// fitting is how many bytes of a text make its first message.
func fitting(text string) int {
	room, at, space, end := mostText, 0, 0, 0
	for at < len(text) {
		r, size := utf8.DecodeRuneInString(text[at:])
		if room -= utf16.RuneLen(r); room < 0 {
			break
		}
		at += size
		switch r {
		case '\n':
			end = at
		case ' ':
			space = at
		}
	}
	switch {
	case at == len(text):
		return at
	case end > 0:
		return end
	case space > 0:
		return space
	}
	return at
}
