package service

import (
	"bytes"
	"errors"
	"io"
	"mime"
	"net/http"
	"os"
	"strconv"
	"time"
)

// mediaType says which of kinds the body is. A body without a type is refused:
// that is what keeps pages of other origins, which may send plain text and
// forms unasked, from using the service behind their reader's back.
func mediaType(r *http.Request, kinds ...string) (string, *problem) {
	if encoding := r.Header.Get("Content-Encoding"); encoding != "" && encoding != "identity" {
		return "", &problem{Status: http.StatusUnsupportedMediaType, Code: "encoding", Detail: "bodies are taken as they are, not compressed"}
	}
	given := r.Header.Get("Content-Type")
	kind, parameters, err := mime.ParseMediaType(given)
	if charset := parameters["charset"]; err == nil && (charset == "" || len(charset) == 5 && (charset[0]|0x20) == 'u') {
		for _, k := range kinds {
			if kind == k {
				return k, nil
			}
		}
	}
	detail := "this path takes " + kinds[0]
	for _, k := range kinds[1:] {
		detail += " and " + k
	}
	return "", &problem{Status: http.StatusUnsupportedMediaType, Code: "media_type", Detail: detail}
}

// body reads a body of at most so many bytes.
func (s *Service) body(r *http.Request, most int64) ([]byte, *problem) {
	if r.ContentLength > most {
		return nil, tooLarge(most)
	}
	if r.Body == nil {
		return nil, nil
	}
	var read bytes.Buffer
	if r.ContentLength > 0 {
		read.Grow(int(r.ContentLength) + bytes.MinRead)
	}
	_, err := read.ReadFrom(io.LimitReader(r.Body, most+1))
	switch {
	case int64(read.Len()) > most:
		return nil, tooLarge(most)
	case errors.Is(err, os.ErrDeadlineExceeded):
		return nil, &problem{Status: http.StatusRequestTimeout, Code: "slow_body", Detail: "the body did not come in time"}
	case err != nil || r.ContentLength > 0 && int64(read.Len()) != r.ContentLength:
		return nil, &problem{Status: http.StatusBadRequest, Code: "body", Detail: "the body broke off"}
	}
	return read.Bytes(), nil
}

func tooLarge(most int64) *problem {
	return &problem{Status: http.StatusRequestEntityTooLarge, Code: "too_large", Detail: "the body is longer than " + strconv.FormatInt(most, 10) + " bytes"}
}

// hurry sets the time by which the body has to be there, where the server can.
// It is lifted with the body's end: a server takes it for the connection's end.
func (s *Service) hurry(w http.ResponseWriter, r *http.Request) {
	if s.BodyTime <= 0 || r.ContentLength == 0 {
		return
	}
	c := http.NewResponseController(w)
	if c.SetReadDeadline(time.Now().Add(s.BodyTime)) == nil {
		r.Body = &hurried{r.Body, func() { _ = c.SetReadDeadline(time.Time{}) }}
	}
}

type hurried struct {
	io.ReadCloser
	calm func()
}

func (h *hurried) Read(p []byte) (int, error) {
	n, err := h.ReadCloser.Read(p)
	if err == io.EOF {
		h.calm()
	}
	return n, err
}
