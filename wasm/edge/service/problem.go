package service

import (
	"bytes"
	"encoding/json"
	"net/http"
	"strconv"

	"spareamps/core"
	"spareamps/wasm/edge/schema"
)

// ProblemType is the media type of an error, by RFC 9457.
const ProblemType = schema.ProblemType

// A problem is an error as it is sent.
type problem struct {
	Type     string          `json:"type"`
	Title    string          `json:"title"`
	Status   int             `json:"status"`
	Detail   string          `json:"detail,omitempty"`
	Code     string          `json:"code"`
	Problems json.RawMessage `json:"problems,omitempty"`

	retryAfter int // s
}

func (p *problem) send(w http.ResponseWriter) {
	p.Type = "urn:spareamps:problem:" + p.Code
	p.Title = http.StatusText(p.Status)
	text, err := json.Marshal(p)
	if err != nil { // the core's list was no JSON, which it always is
		p.Problems = nil
		text, _ = json.Marshal(p)
	}
	h := w.Header()
	h.Set("Content-Type", ProblemType)
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Length", strconv.Itoa(len(text)))
	if p.retryAfter > 0 {
		h.Set("Retry-After", strconv.Itoa(p.retryAfter))
	}
	w.WriteHeader(p.Status)
	_, _ = w.Write(text)
}

// statusOf is the HTTP status of an error code of the core.
func statusOf(code string) int {
	switch code {
	case "json":
		return http.StatusBadRequest
	case "too_large", "too_many_steps":
		return http.StatusRequestEntityTooLarge
	case "bad_input":
		return http.StatusUnprocessableEntity
	}
	return http.StatusInternalServerError
}

// ofCore makes the problem of an error object; nil for any other answer.
func ofCore(text []byte) *problem {
	if !bytes.HasPrefix(text, []byte(`{"error":`)) {
		return nil
	}
	var e struct {
		Error struct {
			Code     string          `json:"code"`
			Problems json.RawMessage `json:"problems"`
		} `json:"error"`
	}
	var first []struct {
		Message string `json:"message"`
	}
	err := json.Unmarshal(text, &e)
	if err == nil {
		err = json.Unmarshal(e.Error.Problems, &first)
	}
	if err != nil {
		return &problem{Status: http.StatusInternalServerError, Code: "internal"}
	}
	p := &problem{Status: statusOf(e.Error.Code), Code: e.Error.Code, Problems: e.Error.Problems}
	if len(first) > 0 {
		p.Detail = first[0].Message
		if n := len(first) - 1; n > 0 {
			p.Detail += " (and " + strconv.Itoa(n) + " more)"
		}
	}
	return p
}

// refused makes a problem of this service with one entry, in the form of the
// core's.
func refused(status int, code, field, value, allowed, message string) *problem {
	p := ofCore(core.ErrorJSON(code, field, value, allowed, message))
	p.Status = status
	return p
}

// busy asks to come again: what is refused was not begun.
func busy() *problem {
	return &problem{Status: http.StatusServiceUnavailable, Code: "busy", Detail: "more requests than can be taken at once", retryAfter: 1}
}
