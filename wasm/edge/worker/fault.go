//go:build js && wasm && fault

package main

import (
	"net/http"
	"os"
)

// faulty adds ways to break an instance off, for the test of what the glue
// does then.
func faulty(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/fault/panic":
			panic("the handler's own")
		case "/fault/goroutine":
			done := make(chan int)
			go func() { panic("another goroutine's") }()
			<-done
		case "/fault/exit":
			os.Exit(3)
		case "/fault/stack":
			_ = deeper(1)
		case "/fault/memory":
			grow()
		}
		next.ServeHTTP(w, r)
	})
}

func deeper(n int) int { return deeper(n+1) + n }

// grow takes more memory than the glue lets an instance keep.
func grow() {
	held = make([]byte, 100<<20)
	for i := 0; i < len(held); i += 4096 {
		held[i] = 1
	}
	held = nil
}

var held []byte
