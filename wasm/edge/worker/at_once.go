//go:build js && wasm

package main

import (
	"bytes"
	"encoding/binary"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"syscall/js"
)

// atOnce gives the glue a function that answers a whole request before it
// returns:
//
//	answer(method, path, "name:value\n…", Uint8Array or null)
//	  -> Uint8Array: 4 bytes, the length of the head, little-endian; the head,
//	     "status\nname:value\n…"; the body
//
// Beside it stands maxBody, the most bytes worth reading. Nothing is awaited in
// between. So no promise, timer or stream of one request is ever waited for in
// another, which the platform forbids, and one instance can serve all requests
// of an isolate. Few values cross, since each that does costs microseconds.
func atOnce(handler http.Handler, maxBody int64) {
	array := js.Global().Get("Uint8Array")
	answer := func(_ js.Value, args []js.Value) any {
		target, err := url.ParseRequestURI(args[1].String())
		if err != nil {
			target = &url.URL{} // which is nowhere
		}
		r := &http.Request{
			Method: args[0].String(), URL: target,
			Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1, Header: http.Header{}, Body: http.NoBody,
		}
		for line := range strings.SplitSeq(args[2].String(), "\n") {
			if name, value, ok := strings.Cut(line, ":"); ok {
				r.Header.Set(name, value)
			}
		}
		if given := args[3]; !given.IsNull() {
			body := make([]byte, given.Length())
			js.CopyBytesToGo(body, given)
			r.Body, r.ContentLength = io.NopCloser(bytes.NewReader(body)), int64(len(body))
		}
		w := &answered{header: http.Header{}, status: http.StatusOK}
		handler.ServeHTTP(w, r)
		text := w.text()
		out := array.New(len(text))
		js.CopyBytesToJS(out, text)
		return out
	}
	binding := js.Global().Get("context").Get("binding")
	binding.Set("maxBody", maxBody)
	binding.Set("answer", js.FuncOf(answer))
}

// answered is what a handler wrote.
type answered struct {
	header http.Header
	status int
	body   []byte
}

func (w *answered) Header() http.Header { return w.header }

func (w *answered) WriteHeader(status int) { w.status = status }

func (w *answered) Write(data []byte) (int, error) {
	w.body = append(w.body, data...)
	return len(data), nil
}

// text is head and body in the form the glue takes.
func (w *answered) text() []byte {
	text := append(make([]byte, 4, 512+len(w.body)), strconv.Itoa(w.status)...)
	for name, values := range w.header {
		for _, value := range values {
			text = append(append(append(append(text, '\n'), name...), ':'), value...)
		}
	}
	binary.LittleEndian.PutUint32(text, uint32(len(text)-4))
	return append(text, w.body...)
}
