package rdb

import (
	"encoding/binary"
	"strconv"
)

// intset reads a set of whole numbers: the size of one, how many, the numbers.
func intset(text string) (list []string, ok bool) {
	b := []byte(text)
	if len(b) < 8 {
		return nil, false
	}
	size, n := int(binary.LittleEndian.Uint32(b)), int(binary.LittleEndian.Uint32(b[4:]))
	b = b[8:]
	if size != 2 && size != 4 && size != 8 || len(b) != n*size {
		return nil, false
	}
	for ; len(b) > 0; b = b[size:] {
		list = append(list, strconv.FormatInt(signed(b[:size]), 10))
	}
	return list, true
}

// signed is a number of 1, 2, 3, 4 or 8 bytes, the lowest first.
func signed(b []byte) int64 {
	var v uint64
	for i, one := range b {
		v |= uint64(one) << (8 * i)
	}
	unused := 64 - 8*len(b)
	return int64(v<<unused) >> unused
}

// listpack reads the entries of a listpack: bytes in all, how many, each entry with its
// length behind it, 255.
func listpack(text string) (list []string, ok bool) {
	b := []byte(text)
	if len(b) < 7 || int(binary.LittleEndian.Uint32(b)) != len(b) || b[len(b)-1] != 255 {
		return nil, false
	}
	for b = b[6:]; len(b) > 1; {
		item, size, ok := packedEntry(b)
		back := backLength(size)
		if !ok || size+back >= len(b) {
			return nil, false
		}
		list = append(list, item)
		b = b[size+back:]
	}
	return list, true
}

// backLength is in how many bytes the length of an entry is written behind it.
func backLength(size int) int {
	n := 1
	for _, most := range []int{127, 16382, 2097150, 268435454} {
		if size > most {
			n++
		}
	}
	return n
}

// packedEntry reads an entry and says in how many bytes it is written.
func packedEntry(b []byte) (item string, size int, ok bool) {
	number := func(n int) (string, int, bool) {
		if len(b) < 1+n {
			return "", 0, false
		}
		return strconv.FormatInt(signed(b[1:1+n]), 10), 1 + n, true
	}
	text := func(head int, n uint64) (string, int, bool) {
		if n > uint64(len(b)-head) {
			return "", 0, false
		}
		return string(b[head : head+int(n)]), head + int(n), true
	}
	switch first := b[0]; {
	case first < 0x80: // 7 bits
		return strconv.Itoa(int(first)), 1, true
	case first < 0xc0: // up to 63 bytes
		return text(1, uint64(first&0x3f))
	case first < 0xe0 && len(b) > 1: // 13 bits with sign
		v := int(first&0x1f)<<8 | int(b[1])
		return strconv.Itoa(v - v>>12<<13), 2, true
	case first >= 0xe0 && first < 0xf0 && len(b) > 1: // up to 4095 bytes
		return text(2, uint64(first&0x0f)<<8|uint64(b[1]))
	case first == 0xf0 && len(b) > 4:
		return text(5, uint64(binary.LittleEndian.Uint32(b[1:])))
	case first == 0xf1:
		return number(2)
	case first == 0xf2:
		return number(3)
	case first == 0xf3:
		return number(4)
	case first == 0xf4:
		return number(8)
	}
	return "", 0, false
}

// unpack undoes LZF: runs of bytes as they are, and copies of what came before.
func unpack(in []byte, whole int) (string, bool) {
	out := make([]byte, 0, min(whole, len(in)*264+1)) // no more than it can become
	for i := 0; i < len(in); {
		ctrl := int(in[i])
		i++
		if ctrl < 32 {
			if i+ctrl+1 > len(in) {
				return "", false
			}
			out = append(out, in[i:i+ctrl+1]...)
			i += ctrl + 1
			continue
		}
		n := ctrl >> 5
		if n == 7 {
			if i >= len(in) {
				return "", false
			}
			n += int(in[i])
			i++
		}
		if i >= len(in) {
			return "", false
		}
		from := len(out) - (ctrl&0x1f)<<8 - int(in[i]) - 1
		i++
		if from < 0 || len(out)+n+2 > whole {
			return "", false
		}
		for range n + 2 {
			out = append(out, out[from])
			from++
		}
	}
	return string(out), len(out) == whole
}
