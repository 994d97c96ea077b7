// Package rdb reads the snapshot of a Redis server, as a replica gets it: every key
// with its value in the form that RESTORE takes, and what is in the value.
//
// The form is that of the public sources of Redis 7 (rdb.c, rdb.h, listpack.c), RDB
// version 10 and later as far as the kinds of keys that the program uses. No library
// does: those that the Go module proxy has know no listpack, which is what a server of
// today writes nearly everything as. A kind that is not known here is an error, never
// a value left out.
package rdb

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc64"
	"io"
	"math"
	"strconv"
	"time"
)

// ErrBroken is a snapshot that is cut short or damaged.
var ErrBroken = errors.New("the snapshot is damaged")

// Key is one key of a snapshot.
type Key struct {
	DB      int
	Name    string
	Expires time.Time // zero: never
	// Dump is what RESTORE takes.
	Dump []byte
	// Value is what is in it.
	Value Value
}

// Value is what a key holds: of a string one item, of a list or a set its members, of
// a hash and a sorted set field and value, member and score, one after the other.
type Value struct {
	Kind  Kind
	Items []string
}

// Kind is what TYPE says of a key.
type Kind string

// The kinds of keys.
const (
	String Kind = "string"
	List   Kind = "list"
	Set    Kind = "set"
	Sorted Kind = "zset"
	Hash   Kind = "hash"
)

// The opcodes between keys, and the type bytes of values.
const (
	opFunction  = 245
	opFreq      = 249
	opIdle      = 248
	opAux       = 250
	opResize    = 251
	opExpiryMS  = 252
	opExpiryS   = 253
	opSelect    = 254
	opEnd       = 255
	opSlotInfo  = 244
	opModule    = 247
	typeString  = 0
	typeSet     = 2
	typeHash    = 4
	typeSorted  = 5
	typeIntset  = 11
	typeHashLP  = 16
	typeSortLP  = 17
	typeList    = 18
	typeSetLP   = 20
	plainNode   = 1
	mostString  = 512 << 20 // the server's own bound
	lowVersion  = 10        // Redis 7.0
	highVersion = 99
)

// Redis begins its CRC at 0 and ends it unturned; Go turns it before and after.
var table = crc64.MakeTable(0x95ac9329ac4bc9b5) // Jones' polynomial, reflected

func sum(crc uint64, b []byte) uint64 { return ^crc64.Update(^crc, table, b) }

// Reader reads one snapshot.
type Reader struct {
	in      *bufio.Reader
	version int
	crc     uint64
	summing bool
	kept    []byte // the value being read
	keeping bool
	db      int
	err     error
}

// New reads the head of a snapshot. The error is ErrBroken, or says that the server is
// too old.
func New(in io.Reader) (*Reader, error) {
	r := &Reader{in: bufio.NewReaderSize(in, 1<<16), summing: true}
	head := string(r.bytes(9))
	version, err := strconv.Atoi(head[min(5, len(head)):])
	switch {
	case r.err != nil:
		return nil, r.err
	case head[:5] != "REDIS" || err != nil:
		return nil, ErrBroken
	case version < lowVersion || version > highVersion:
		return nil, fmt.Errorf("the server writes snapshots of version %d; Redis 7.0 or later is needed", version)
	}
	r.version = version
	return r, nil
}

// Next gives the next key; io.EOF after the last one, when the checksum was right and
// nothing follows.
func (r *Reader) Next() (Key, error) {
	k := Key{DB: r.db}
	for r.err == nil {
		switch op := r.byte(); op {
		case opFreq:
			r.byte()
		case opIdle:
			r.length()
		case opAux:
			r.string()
			r.string()
		case opFunction:
			r.string()
		case opModule:
			r.skipModule()
		case opResize:
			r.length()
			r.length()
		case opSlotInfo:
			r.length()
			r.length()
			r.length()
		case opSelect:
			r.db = int(r.length())
			k.DB = r.db
		case opExpiryMS:
			k.Expires = time.UnixMilli(int64(binary.LittleEndian.Uint64(r.bytes(8))))
		case opExpiryS:
			k.Expires = time.Unix(int64(binary.LittleEndian.Uint32(r.bytes(4))), 0)
		case opEnd:
			return k, r.end()
		default:
			k.Name = r.string()
			r.keeping, r.kept = true, []byte{op}
			k.Value = r.value(op)
			k.Dump = r.dump()
			return k, r.err
		}
	}
	return k, r.err
}

// skipModule skips what a module keeps of its own: its number, when, and values until
// one of no kind.
func (r *Reader) skipModule() {
	r.length()
	r.length()
	r.length()
	for r.err == nil {
		switch r.length() {
		case 0:
			return
		case 1, 2:
			r.length()
		case 3:
			r.bytes(4)
		case 4:
			r.bytes(8)
		case 5:
			r.string()
		default:
			r.fail("a module's part is wrong")
		}
	}
}

// dump is the value that was read as DUMP gives it: its type, its bytes, the version,
// the checksum.
func (r *Reader) dump() []byte {
	d := binary.LittleEndian.AppendUint16(r.kept, uint16(r.version))
	r.keeping, r.kept = false, nil
	return binary.LittleEndian.AppendUint64(d, sum(0, d))
}

// end compares the checksum and sees that nothing follows. A server that computes none
// writes 0, which can't be told from a snapshot that nobody looked after: it is refused.
func (r *Reader) end() error {
	want := r.crc
	r.summing = false
	got := binary.LittleEndian.Uint64(r.bytes(8))
	switch {
	case r.err != nil:
		return r.err
	case got == 0:
		return errors.New("the server writes no checksum: set rdbchecksum yes and start it again")
	case got != want:
		return fmt.Errorf("%w: its checksum is another one", ErrBroken)
	}
	if _, err := r.in.ReadByte(); err != io.EOF {
		return fmt.Errorf("%w: something follows its end", ErrBroken)
	}
	return io.EOF
}

func (r *Reader) byte() byte { return r.bytes(1)[0] }

// bytes reads n bytes; after an error they are 0.
func (r *Reader) bytes(n int) []byte {
	b := make([]byte, n)
	if r.err != nil {
		return b
	}
	if _, err := io.ReadFull(r.in, b); err != nil {
		r.fail("it ends too early")
		return b
	}
	if r.summing {
		r.crc = sum(r.crc, b)
	}
	if r.keeping {
		r.kept = append(r.kept, b...)
	}
	return b
}

func (r *Reader) fail(why string) {
	if r.err == nil {
		r.err = fmt.Errorf("%w: %s", ErrBroken, why)
	}
}

// The ways that a length is written, by its two highest bits.
const (
	len6 = iota
	len14
	len32
	encoded
)

// prefix reads a length, or with special how a string is encoded.
func (r *Reader) prefix() (n uint64, special bool) {
	first := r.byte()
	switch first >> 6 {
	case len6:
		return uint64(first & 0x3f), false
	case len14:
		return uint64(first&0x3f)<<8 | uint64(r.byte()), false
	case encoded:
		return uint64(first & 0x3f), true
	}
	if first == 0x81 {
		return binary.BigEndian.Uint64(r.bytes(8)), false
	}
	return uint64(binary.BigEndian.Uint32(r.bytes(4))), false
}

// length reads how many of something follow.
func (r *Reader) length() uint64 {
	n, special := r.prefix()
	if special || n > 1<<40 {
		r.fail("a length is wrong")
		return 0
	}
	return n
}

// string reads a string: its bytes, a number, or compressed.
func (r *Reader) string() string {
	n, special := r.prefix()
	switch {
	case !special && n <= mostString:
		return r.text(int(n))
	case special && n == 0:
		return strconv.Itoa(int(int8(r.byte())))
	case special && n == 1:
		return strconv.Itoa(int(int16(binary.LittleEndian.Uint16(r.bytes(2)))))
	case special && n == 2:
		return strconv.Itoa(int(int32(binary.LittleEndian.Uint32(r.bytes(4)))))
	case special && n == 3:
		packed, whole := r.length(), r.length()
		if packed > mostString || whole > mostString {
			break
		}
		text, ok := unpack([]byte(r.text(int(packed))), int(whole))
		if !ok {
			r.fail("a compressed text is wrong")
		}
		return text
	}
	r.fail("a text is wrong")
	return ""
}

// text reads bytes without making room for more than there are.
func (r *Reader) text(n int) string {
	var all []byte
	for n > 0 && r.err == nil {
		part := min(n, 1<<20)
		all = append(all, r.bytes(part)...)
		n -= part
	}
	return string(all)
}

// value reads a value of a type.
func (r *Reader) value(kind byte) Value {
	switch kind {
	case typeString:
		return Value{String, []string{r.string()}}
	case typeSet:
		return Value{Set, r.strings(r.length())}
	case typeHash:
		return Value{Hash, r.strings(2 * r.length())}
	case typeSorted:
		return Value{Sorted, r.scored(r.length())}
	case typeIntset:
		return Value{Set, r.packed(intset)}
	case typeSetLP:
		return Value{Set, r.packed(listpack)}
	case typeHashLP:
		return Value{Hash, r.packed(listpack)}
	case typeSortLP:
		return Value{Sorted, r.packed(listpack)}
	case typeList:
		v := Value{Kind: List}
		for n := r.length(); n > 0 && r.err == nil; n-- {
			if plain := r.length() == plainNode; plain {
				v.Items = append(v.Items, r.string())
			} else {
				v.Items = append(v.Items, r.packed(listpack)...)
			}
		}
		return v
	}
	if r.err == nil {
		r.err = fmt.Errorf("a key has type %d, which the program does not use and can't keep", kind)
	}
	return Value{}
}

func (r *Reader) strings(n uint64) (list []string) {
	for ; n > 0 && r.err == nil; n-- {
		list = append(list, r.string())
	}
	return list
}

// packed reads a value that is one text inside.
func (r *Reader) packed(read func(string) ([]string, bool)) []string {
	list, ok := read(r.string())
	if !ok {
		r.fail("a packed value is wrong")
	}
	return list
}

// scored reads the members of a sorted set with their scores, which the server writes
// as binary numbers. A score is given as the shortest text of that number.
func (r *Reader) scored(n uint64) (list []string) {
	for ; n > 0 && r.err == nil; n-- {
		list = append(list, r.string())
		score := math.Float64frombits(binary.LittleEndian.Uint64(r.bytes(8)))
		list = append(list, strconv.FormatFloat(score, 'g', 17, 64))
	}
	return list
}
