package session

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"time"
)

// A record is its schema version, a number, for most kinds a name, and a
// payload, separated by single spaces. The number is a conversation's revision,
// and the time in ms of anything else. A reply or update is removed by its
// name; a conversation's name is the time, in s, at which its chat's seen marks
// were last trimmed. The scripts read what stands before the payload, so no
// later schema may change it.

// ErrNewer is a record written by a later version of the program.
var ErrNewer = errors.New("record of a later schema")

// ErrBroken is a record that nothing can read.
var ErrBroken = errors.New("broken record")

// A ladder converts the payload of an old schema to the present one, one
// version at a time: its first rung makes 2 out of 1. Without rungs the present
// schema is 1.
type ladder []func([]byte) ([]byte, error)

// seal is a record of the present schema.
func (l ladder) seal(number int64, payload []byte) []byte {
	return append(l.head(number, len(payload)), payload...)
}

// sealNamed is a record of the present schema with a name, which has no space.
func (l ladder) sealNamed(number int64, name string, payload []byte) []byte {
	b := append(l.head(number, len(name)+1+len(payload)), name...)
	return append(append(b, ' '), payload...)
}

// head is what goes before a payload, with room for it.
func (l ladder) head(number int64, room int) []byte {
	b := make([]byte, 0, 24+room)
	b = append(strconv.AppendInt(b, int64(len(l))+1, 10), ' ')
	return append(strconv.AppendInt(b, number, 10), ' ')
}

// open gives a record's number and its payload in the present schema. The
// number is right even where err is ErrNewer.
func (l ladder) open(raw []byte) (number int64, payload []byte, err error) {
	schema, number, payload, err := split(raw)
	if err != nil {
		return number, nil, err
	}
	payload, err = l.climb(schema, payload)
	return number, payload, err
}

// openNamed does as open for a record with a name.
func (l ladder) openNamed(raw []byte) (number int64, name string, payload []byte, err error) {
	schema, number, rest, err := split(raw)
	if err != nil {
		if m := scriptName.FindSubmatch(raw); m != nil {
			name = string(m[1])
		}
		return number, name, nil, err
	}
	first, payload, ok := bytes.Cut(rest, []byte{' '})
	if !ok {
		return number, "", nil, ErrBroken
	}
	payload, err = l.climb(schema, payload)
	return number, string(first), payload, err
}

// recordHead is what goes before the payload, as the scripts read it.
var recordHead = regexp.MustCompile(`^([0-9]+) 0*([0-9]+) `)

// scriptName is the name of a record as the scripts read it, whatever its numbers are.
var scriptName = regexp.MustCompile(`^[0-9]+ [0-9]+ ([^ ]+) `)

// mostDigits is how long a record's numbers are at the most, so that others follow.
const (
	most       = 18
	mostDigits = "18"
)

// split reads what goes before the payload: where the scripts see no number, it
// is 0.
func split(raw []byte) (schema int, number int64, rest []byte, err error) {
	m := recordHead.FindSubmatch(raw)
	if m == nil {
		return 0, 0, nil, ErrBroken
	}
	schema, err1 := strconv.Atoi(string(m[1]))
	number, err2 := strconv.ParseInt(string(m[2]), 10, 64)
	if max(len(m[1]), len(m[2])) > most {
		number, err2 = 0, ErrBroken
	}
	if err1 != nil || err2 != nil || schema < 1 {
		return 0, number, nil, ErrBroken
	}
	return schema, number, raw[len(m[0]):], nil
}

func (l ladder) climb(schema int, payload []byte) ([]byte, error) {
	if schema > len(l)+1 {
		return nil, ErrNewer
	}
	var err error
	for ; schema <= len(l); schema++ {
		if payload, err = l[schema-1](payload); err != nil {
			return nil, fmt.Errorf("%w: from schema %d: %v", ErrBroken, schema, err)
		}
	}
	return payload, nil
}

// revAfter is the revision after rev. The first is the time in µs, so that a
// conversation deleted and begun again is never taken for the old one.
func revAfter(rev int64, now time.Time) int64 {
	if rev == 0 {
		return now.UnixMicro()
	}
	return rev + 1
}
