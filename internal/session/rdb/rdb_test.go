package rdb

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The check value of this CRC for "123456789" stands in crc64.c of Redis' sources.
func TestTheChecksumIsRedis(t *testing.T) {
	require.EqualValues(t, uint64(0xe9c6d914c4b8d9ca), sum(0, []byte("123456789")))
	require.EqualValues(t, sum(0, []byte("123456789")), sum(sum(0, []byte("1234")), []byte("56789")))
}

// A snapshot of a redis-server 7.0.15 with a key of each kind, small and large, as
// DEBUG RELOAD's file had it, is in the real-server test of package session. Here a
// made one is cut and turned at every byte: none passes.
func TestADamagedSnapshotIsRefused(t *testing.T) {
	whole := made()
	keys, err := readAll(whole)
	require.NoError(t, err)
	require.Equal(t, []string{"sb:{5}:c:5", "sb:{5}:p"}, names(keys))
	require.Equal(t, Value{String, []string{"1 7 1 {}"}}, keys[0].Value)
	require.EqualValues(t, 1795712534979, keys[0].Expires.UnixMilli())
	require.Equal(t, Value{Hash, []string{"5", "1 0 0 "}}, keys[1].Value)
	for i := range whole {
		_, err := readAll(whole[:i])
		require.Error(t, err, "cut at %d", i)
		turned := bytes.Clone(whole)
		turned[i] ^= 1
		_, err = readAll(turned)
		require.Error(t, err, "turned at %d", i)
	}
	_, err = readAll(append(bytes.Clone(whole), 'x'))
	require.ErrorIs(t, err, ErrBroken)
	_, err = New(strings.NewReader("REDIS0009\xff"))
	require.ErrorContains(t, err, "Redis 7.0 or later")
}

func made() []byte {
	b := []byte("REDIS0010\xfa\x05redis\x067.0.15\xfe\x00\xfb\x02\x01")
	b = binary.LittleEndian.AppendUint64(append(b, 0xfc), 1795712534979)
	b = append(b, "\x00\x0asb:{5}:c:5\x081 7 1 {}"...)
	pack := "\x05\x02\x861 0 0 \x07\xff"
	pack = string([]byte{byte(6 + len(pack)), 0, 0, 0, 2, 0}) + pack
	b = append(b, "\x10\x08sb:{5}:p"...)
	b = append(append(b, byte(len(pack))), pack...)
	b = append(b, 0xff)
	return binary.LittleEndian.AppendUint64(b, sum(0, b))
}

func readAll(b []byte) (keys []Key, err error) {
	r, err := New(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	for {
		k, err := r.Next()
		if errors.Is(err, io.EOF) && !errors.Is(err, ErrBroken) {
			return keys, nil
		}
		if err != nil {
			return keys, err
		}
		keys = append(keys, k)
	}
}

func names(keys []Key) (list []string) {
	for _, k := range keys {
		list = append(list, k.Name)
	}
	return list
}

// FuzzRead: whatever the bytes are, reading ends without a panic.
func FuzzRead(f *testing.F) {
	f.Add(made())
	f.Fuzz(func(t *testing.T, b []byte) { _, _ = readAll(b) })
}

// FuzzUnpack: LZF of any bytes never reads or writes outside.
func FuzzUnpack(f *testing.F) {
	f.Add([]byte("\x04abcde\x20\x04"), uint16(8))
	f.Fuzz(func(t *testing.T, b []byte, whole uint16) {
		if text, ok := unpack(b, int(whole)); ok {
			require.Len(t, text, int(whole))
		}
	})
}
