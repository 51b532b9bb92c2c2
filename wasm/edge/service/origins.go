package service

import (
	"net/http"
	"strings"
)

// allow lets pages of other origins read the answer, where they may. Answers
// are the same for everybody, so credentials are never asked for.
func (s *Service) allow(h http.Header) {
	if s.AllowOrigin == "" {
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		return
	}
	h.Set("Cross-Origin-Resource-Policy", "cross-origin")
	h.Set("Access-Control-Allow-Origin", s.AllowOrigin)
	h.Set("Access-Control-Expose-Headers", "ETag, Retry-After, Spareamps-Version")
}

// preflight answers a browser that asks what it may send.
func (s *Service) preflight(h http.Header, method string) {
	h.Set("Allow", allowed(method))
	if s.AllowOrigin == "" {
		return
	}
	h.Set("Access-Control-Allow-Methods", method)
	h.Set("Access-Control-Allow-Headers", "Content-Type, If-None-Match")
	h.Set("Access-Control-Max-Age", "86400")
}

// allowed are the methods of a path.
func allowed(method string) string {
	if method == http.MethodGet {
		method = "GET, HEAD"
	}
	return method + ", OPTIONS"
}

// matches says whether an If-None-Match header names a tag.
func matches(header, tag string) bool {
	for name := range strings.SplitSeq(header, ",") {
		name = strings.TrimPrefix(strings.TrimSpace(name), "W/")
		if name == tag || name == "*" {
			return true
		}
	}
	return false
}
