package client

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net/http"
	"strconv"
	"time"

	"spareamps/wasm/edge/schema"
)

// part asks for one part of a block until it is answered, refused, or has been
// tried often enough.
func (c *Client) part(ctx context.Context, h *Header, in []float64, rows int) ([]float64, error) {
	body, err := encode(h, in, rows)
	if err != nil {
		return nil, err
	}
	for attempt := 1; ; attempt++ {
		s, wait := c.choose()
		if err := sleep(ctx, wait); err != nil {
			return nil, err
		}
		out, after, err := c.attempt(ctx, s, h, body, rows)
		if err == nil {
			c.answered(s)
			return out, nil
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if e := (*Error)(nil); errors.As(err, &e) && !e.again() || errors.As(err, new(*versionError)) {
			return nil, err
		}
		if attempt >= c.o.Attempts {
			return nil, fmt.Errorf("%w (tried %d times)", err, attempt)
		}
		wait = c.backOff(attempt)
		if after > wait {
			wait = min(after, c.o.LongestWait)
		}
		c.avoid(s, wait)
		if c.o.Retry != nil {
			c.o.Retry(s.url, attempt, err, wait)
		}
		if len(c.services) == 1 {
			continue // choose waits
		}
		// Another service need not be waited for as long.
		if err := sleep(ctx, c.backOff(1)); err != nil {
			return nil, err
		}
	}
}

// choose gives the next service in turn that is not to be left alone, or the
// one that is so for the shortest time, and how long that is.
func (c *Client) choose() (*place, time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := time.Now()
	var best *place
	for i := range c.services {
		s := c.services[(c.next+i)%len(c.services)]
		if best == nil || s.until.Before(best.until) && best.until.After(now) {
			best = s
		}
	}
	c.next = (c.next + 1) % len(c.services)
	return best, max(0, best.until.Sub(now))
}

// avoid leaves a service alone for a while.
func (c *Client) avoid(s *place, wait time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if until := time.Now().Add(wait); until.After(s.until) {
		s.until = until
	}
}

func (c *Client) answered(s *place) {
	c.mu.Lock()
	defer c.mu.Unlock()
	s.until = time.Time{}
}

// backOff is the wait after so many attempts: twice as long each time up to the
// longest, and of that anything between a half and the whole, so that many who
// failed together do not come again together.
func (c *Client) backOff(attempt int) time.Duration {
	wait := min(float64(c.o.FirstWait)*math.Pow(2, float64(attempt-1)), float64(c.o.LongestWait))
	return time.Duration(wait * (1 + rand.Float64()) / 2)
}

func sleep(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// attempt asks once. An answer counts only if it is whole, of the right
// length, and of the right version; after is what the service asks to wait.
func (c *Client) attempt(ctx context.Context, s *place, h *Header, body []byte, rows int) (out []float64, after time.Duration, err error) {
	select {
	case c.slots <- struct{}{}:
		defer func() { <-c.slots }()
	case <-ctx.Done():
		return nil, 0, ctx.Err()
	}
	ctx, cancel := context.WithTimeout(ctx, c.o.Timeout)
	defer cancel()
	q, err := http.NewRequestWithContext(ctx, http.MethodPost, s.url+"/v1/sweep", bytes.NewReader(body))
	if err != nil {
		return nil, 0, err
	}
	q.Header.Set("Content-Type", schema.BlockType)
	r, err := c.o.HTTP.Do(q)
	if err != nil {
		return nil, 0, err
	}
	defer r.Body.Close()
	after = retryAfter(r.Header.Get("Retry-After"), time.Now())
	if r.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(io.LimitReader(r.Body, 1<<20))
		return nil, after, errorOf(s.url, r.StatusCode, text)
	}
	if kind := r.Header.Get("Content-Type"); kind != schema.BlockType {
		return nil, after, fmt.Errorf("%s answered with %q, want numbers", s.url, kind)
	}
	want := 8 * (len(h.Outputs) + 1) * rows
	text := make([]byte, want+1) // one more shows an answer that is too long
	n, err := io.ReadFull(r.Body, text)
	switch {
	case err != io.ErrUnexpectedEOF && err != io.EOF && err != nil:
		return nil, after, err
	case n != want || err == nil:
		return nil, after, fmt.Errorf("%s answered with %d bytes, want %d", s.url, n, want)
	}
	if err := c.sameVersion(s, r.Header.Get("Spareamps-Version")); err != nil {
		return nil, 0, err
	}
	out = make([]float64, want/8)
	for i := range out {
		out[i] = math.Float64frombits(binary.LittleEndian.Uint64(text[8*i:]))
	}
	return out, after, nil
}

// A versionError is an answer of another core than the others'.
type versionError struct{ service, got, want string }

func (e *versionError) Error() string {
	return fmt.Sprintf("%s has version %q of the core, want %q: numbers of two versions are not mixed", e.service, e.got, e.want)
}

func (c *Client) sameVersion(s *place, got string) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.version == "" {
		c.version = got
	}
	if got != c.version {
		return &versionError{s.url, got, c.version}
	}
	return nil
}

// retryAfter reads the header of that name: seconds or a date.
func retryAfter(text string, now time.Time) time.Duration {
	if seconds, err := strconv.Atoi(text); err == nil && seconds >= 0 && seconds < 1<<31 {
		return time.Duration(seconds) * time.Second
	}
	if at, err := http.ParseTime(text); err == nil {
		return max(0, at.Sub(now))
	}
	return 0
}

// encode writes the body of a block.
func encode(h *Header, in []float64, rows int) ([]byte, error) {
	head, err := json.Marshal(struct {
		Request json.RawMessage `json:"request"`
		Inputs  []string        `json:"inputs"`
		Outputs []string        `json:"outputs"`
		Rows    int             `json:"rows"`
	}{h.Request, h.Inputs, h.Outputs, rows})
	if err != nil {
		return nil, fmt.Errorf("the request is not JSON: %w", err)
	}
	body := make([]byte, 0, 16+len(head)+8*len(in))
	body = binary.LittleEndian.AppendUint32(body, uint32(len(head)))
	body = append(body, head...)
	for len(body)%8 != 0 {
		body = append(body, 0)
	}
	for _, v := range in {
		body = binary.LittleEndian.AppendUint64(body, math.Float64bits(v))
	}
	return body, nil
}
