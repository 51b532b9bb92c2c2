package client

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
)

// An Error is what a service answered instead of numbers.
type Error struct {
	Service  string
	Status   int
	Code     string // stable, see the package comment of service
	Detail   string
	Problems []Problem

	most int // rows that would have been taken, if it says so
}

// A Problem is one thing wrong with a request.
type Problem struct {
	Code    string `json:"code"`
	Field   string `json:"field"`
	Value   string `json:"value"`
	Allowed string `json:"allowed"`
	Message string `json:"message"`
}

func (e *Error) Error() string {
	s := e.Detail
	if s == "" {
		s = http.StatusText(e.Status)
	}
	return fmt.Sprintf("%s answered %d: %s", e.Service, e.Status, s)
}

// again says whether a later attempt may fare better.
func (e *Error) again() bool {
	switch e.Status {
	case http.StatusRequestTimeout, http.StatusTooManyRequests, http.StatusBadGateway, http.StatusServiceUnavailable, http.StatusGatewayTimeout:
		return true
	}
	// Proxies and platforms in front of a service have numbers of their own;
	// 500 with a code is the service's own word, and final.
	return e.Status >= 500 && e.Code == "" || e.Code == "body"
}

// tooMany says whether a block was refused for its length alone.
func tooMany(err error) bool {
	e := (*Error)(nil)
	return errors.As(err, &e) && e.Status == http.StatusRequestEntityTooLarge
}

// errorOf reads the error of an answer; any text will do.
func errorOf(service string, status int, text []byte) *Error {
	e := &Error{Service: service, Status: status}
	var p struct {
		Code     string    `json:"code"`
		Detail   string    `json:"detail"`
		Problems []Problem `json:"problems"`
	}
	if json.Unmarshal(text, &p) == nil {
		e.Code, e.Detail, e.Problems = p.Code, p.Detail, p.Problems
	}
	if e.Code == "too_many_points" && len(e.Problems) == 1 {
		if n, ok := strings.CutPrefix(e.Problems[0].Allowed, "at most "); ok {
			e.most, _ = strconv.Atoi(n)
		}
	}
	return e
}
