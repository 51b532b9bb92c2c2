// A reactor whose trials go through everything for which Go's runtime looks
// into its tables of functions.
package main

import (
	"errors"
	"runtime"
	"unsafe"
)

func main() {}

var said string // by the last trial; kept alive

//go:wasmexport trials
func trials() uint32 { return uint32(len(list)) }

//go:wasmexport trial
func trial(k uint32) uint64 {
	said = list[k]()
	return uint64(uintptr(unsafe.Pointer(unsafe.StringData(said))))<<32 | uint64(len(said))
}

// crash waits for what never comes.
//
//go:wasmexport crash
func crash() { <-make(chan int) }

var list = []func() string{
	func() string { return caught(func() { _ = index[seven()] }) },
	func() string { return caught(func() { _ = index[seven()-8:] }) },
	func() string { return caught(func() { var p *box; p.next = p }) },
	func() string { return caught(func() { var m map[string]int; m["a"]++ }) },
	func() string { return caught(func() { _ = any(seven()).(error) }) },
	func() string { return caught(func() { _ = any(box{odd: index}) == any(box{odd: index}) }) },
	func() string { return caught(func() { _ = seven() / (seven() - 7) }) },
	func() string { return caught(func() { panic(errors.New("ours")) }) },
	func() string { return caught(func() { panic(nil) }) },
	func() string { return caught(func() { close((chan int)(nil)) }) },
	valueMethodOfNil,
	twice,
	insteadOf,
	func() string { return caught(deferredHelper) },
	func() string { return caught(helperInDeferred) },
	func() string { return caught(helperInlined) },
	func() string { return caught(deferredBetween) },
	func() string { return caught(deferredBuiltin) },
	func() string { return caught(inLoop) },
	func() string { return caught(method) },
	goexit,
	deep,
	garbage,
	goroutines,
	func() string { return caught(func() { deepPanic(3000) }) },
	finalized,
	branches,
	selects,
}

var index = []int{1, 2, 3}

//go:noinline
func seven() int { return 7 }

type box struct {
	next *box
	odd  any
}

func text(r any) string {
	switch r := r.(type) {
	case nil:
		return "nothing"
	case error:
		return "error " + r.Error()
	case string:
		return r
	}
	return "something"
}

func caught(f func()) (s string) {
	defer func() { s += text(recover()) }()
	f()
	return "returned, then "
}

// The runtime takes the name of the method apart.
type value struct{ a, b, c int }

func (v value) Error() string { return "value" }

func valueMethodOfNil() string {
	return caught(func() { read((*value)(nil)) })
}

//go:noinline
func read(e error) { _ = e.Error() }

func twice() (s string) {
	defer func() { s += text(recover()) }()
	defer func() { s += text(recover()) + ", "; panic("second") }()
	panic("first")
}

func insteadOf() (s string) {
	defer func() { s += text(recover()) + ", " + text(recover()) }()
	defer func() { panic("second") }()
	panic("first")
}

// Recover works in the function that was deferred, whatever is inlined into
// what, and not in one that it calls.
var from string

func helper()         { from += text(recover()) + ", " }
func helperOf(n *int) { *n++; from += text(recover()) + ", " }

//go:noinline
func separate() { from += text(recover()) + ", " }

func deferredHelper() {
	n := 0
	defer func() { panic(from) }()
	from = "deferredHelper: "
	defer helperOf(&n)
	panic("x")
}

func helperInDeferred() {
	from = "helperInDeferred: "
	defer func() { panic(from) }()
	defer func() { separate() }()
	panic("x")
}

func helperInlined() {
	from = "helperInlined: "
	defer func() { panic(from) }()
	defer func() { helper() }()
	panic("x")
}

// What defer calls here is a wrapper into which between is inlined.
func deferredBetween() {
	n := 0
	defer func() { panic(from) }()
	from = "deferredBetween: "
	defer between(&n)
	panic("x")
}

func between(n *int) { *n++; separate() }

func deferredBuiltin() {
	defer recover()
	panic("x")
}

func inLoop() {
	from = "inLoop: "
	defer func() { panic(from) }()
	for range 3 {
		defer helper()
		defer func() { helper(); separate() }()
	}
	panic("x")
}

type hooks struct{ n int }

func (h hooks) Leave()  { from += text(recover()) + ", " }
func (h *hooks) leave() { from += text(recover()) + ", " }

type leaver interface{ Leave() }

func method() {
	from = "method: "
	defer func() { panic(from) }()
	h := &hooks{seven()}
	for _, f := range []func(){h.leave, h.Leave, leaver(h).Leave, leaver(*h).Leave} {
		func() {
			defer func() { from += text(recover()) + "; " }()
			defer f()
			panic("y")
		}()
	}
	func() {
		defer func() { from += text(recover()) + "; " }()
		defer leaver(h).Leave()
		panic("z")
	}()
}

func goexit() string {
	done := make(chan string)
	go func() {
		s := "left"
		defer func() { done <- s }()
		defer func() { s += text(recover()) }()
		runtime.Goexit()
	}()
	return <-done
}

// Pointers into a growing stack, with what is collected beneath.
//
//go:noinline
func down(n int, b *box) int {
	here := box{next: b}
	var room [40]int
	room[n%40] = n
	if n%500 == 0 {
		runtime.GC()
	}
	if n == 0 {
		k := 0
		for p := &here; p != nil; p = p.next {
			k++
		}
		return k
	}
	return down(n-1, &here) + room[(n+1)%40] + room[n%40] - n
}

func deep() string { return number(down(5000, nil)) }

//go:noinline
func deepPanic(n int) {
	defer func() {
		if r := recover(); r != nil {
			panic(r)
		}
	}()
	if n == 0 {
		runtime.GC()
		panic("from below")
	}
	if n%10 == 0 {
		deepPanic(n - 10)
	} else {
		deepPanic(n - 1)
	}
}

func garbage() string {
	m := map[int]*box{}
	sum := 0
	for n := range 50_000 {
		m[n%1000] = &box{next: m[(n+1)%1000], odd: []int{n}}
		if n%3 == 0 {
			m[n%1000].next = nil
		}
		if n%10_000 == 0 {
			runtime.GC()
		}
	}
	for k := range 1000 {
		for p := m[k]; p != nil; p = p.next {
			sum += p.odd.([]int)[0]
		}
	}
	return number(sum)
}

func goroutines() string {
	out := make(chan int)
	for k := range 50 {
		go func() {
			defer func() { recover(); out <- down(k*20, nil) }()
			_ = index[k+3]
		}()
	}
	sum := 0
	for range 50 {
		sum += <-out
	}
	return number(sum)
}

func finalized() string {
	n := 0
	for range 100 {
		b := &box{}
		runtime.SetFinalizer(b, func(*box) { n++ })
	}
	for range 5 {
		runtime.GC()
		runtime.Gosched()
	}
	return caught(func() { panic(number(min(n, 90))) })
}

func number(n int) string {
	s := ""
	for {
		s = string(rune('0'+n%10)) + s
		if n /= 10; n == 0 {
			return s
		}
	}
}

// branches goes through loops within loops, left and begun again from within,
// jumps back and ahead, and calls between them.
func branches() string {
	sum, n := 0, seven()
outer:
	for a := 0; a < 200; a++ {
		for b := a; ; b += 3 {
			switch {
			case b%11 == n:
				continue outer
			case b%13 == 2, a&b == 5:
				break outer
			case b > 900:
				sum += a
				break
			default:
				if sum += b * n; sum > 1_000_000 && seven() == n {
					sum -= 999_983
				}
			}
			if b > 1000 {
				break
			}
		}
		for x := float64(a); x > 1; x /= 2 {
			if x == float64(int(x)) {
				sum++
			} else if x < 1.5 || sum%2 == 0 {
				sum += 3
			}
		}
	}
again:
	switch sum % 7 {
	case 0:
		sum++
		goto again
	case 1, 2:
		sum += seven() + 1
		if sum%3 > 0 {
			goto again
		}
	case 5:
		goto done
	default:
		for sum%5 > 0 {
			sum--
		}
	}
	sum *= 2
done:
	return number(sum)
}

// selects waits for one of several, and gives way in between.
func selects() string {
	left, right, end := make(chan int), make(chan int, 3), make(chan bool)
	go func() {
		defer close(end)
		for n := range 300 {
			select {
			case left <- n:
			case right <- 2 * n:
			}
			if n%50 == 0 {
				runtime.Gosched()
			}
		}
	}()
	sum, count := 0, 0
	for count < 300 {
		select {
		case n := <-left:
			sum, count = sum+n%2, count+1
		case n := <-right:
			sum, count = sum+n/2%2, count+1
		default:
			runtime.Gosched()
		}
	}
	<-end
	return number(sum)
}
