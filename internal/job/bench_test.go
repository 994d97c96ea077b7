package job

import (
	"fmt"
	"testing"
)

// many is how many openings a job of the benchmarks has.
const many = 200

func BenchmarkList(b *testing.B) {
	j := begun(b, many)
	for b.Loop() {
		if len(j.List()) != many {
			b.Fatal("rows are missing")
		}
	}
}

// A list as a chat asks for it: the job is read from its record first.
func BenchmarkDecodeAndList(b *testing.B) {
	stored, err := begun(b, many).Encode()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		j, err := stored.Decode()
		if err != nil || len(j.List()) != many {
			b.Fatal(err)
		}
	}
}

// A turn that changes one window: the head and that window are read and written.
func BenchmarkChangeOfOneWindow(b *testing.B) {
	for _, windows := range []int{1, many} {
		b.Run(fmt.Sprint(windows), func(b *testing.B) {
			whole, err := begun(b, windows).Encode()
			if err != nil {
				b.Fatal(err)
			}
			part := Stored{Head: whole.Head, Parts: map[int][]byte{1: whole.Parts[1]}}
			for b.Loop() {
				j, err := part.Decode()
				if err != nil {
					b.Fatal(err)
				}
				if j, _, err = j.SetCount(fitter, noon, 1, 5); err != nil {
					b.Fatal(err)
				}
				if _, err := j.Encode(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkStore(b *testing.B) {
	j := begun(b, many)
	r := measured()
	r.Plan.Widths[0] = mm(1201)
	for b.Loop() {
		if _, _, err := j.Store(fitter, noon, many/2, r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSendAndConfirm(b *testing.B) {
	j := begun(b, many)
	for b.Loop() {
		sent, _, err := j.Send(fitter, noon, calc0)
		if err != nil {
			b.Fatal(err)
		}
		if _, _, err = sent.ConfirmAll(desk, noon, "A"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOrderCopy(b *testing.B) {
	j, _, err := begun(b, many).Send(fitter, noon, calc0)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if len(j.OrderCopy().Lines) != many {
			b.Fatal("lines are missing")
		}
	}
}
