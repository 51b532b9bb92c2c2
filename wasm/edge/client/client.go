package client

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"
)

// Options of a client; zero values mean the defaults stated.
type Options struct {
	Concurrency int           // requests under way at once; 0: 4 for each service
	Attempts    int           // for one part of a block; 0: 12
	Timeout     time.Duration // for one attempt; 0: 2 minutes
	FirstWait   time.Duration // before the second attempt, at most; 0: 100 ms. Each further wait is twice as long
	LongestWait time.Duration // the most a wait grows to, or a service may ask for; 0: 30 s
	HTTP        *http.Client  // 0: one of its own
	Version     string        // of the core that services must have; "": that of the first answer

	// Retry, if set, hears of every attempt that is to be repeated.
	Retry func(service string, attempt int, err error, wait time.Duration)
}

// A Header is what a block says beside its numbers. Rows are counted by the
// client.
type Header struct {
	Request json.RawMessage // the request whose values the columns replace
	Inputs  []string        // paths of the input columns
	Outputs []string        // paths of the output columns
}

// A Client sends blocks. It is safe for use by many goroutines.
type Client struct {
	o        Options
	services []*place
	slots    chan struct{}

	mu      sync.Mutex
	next    int    // place to begin with
	version string // of the core, once known
	most    map[string]int
}

// A place is one service to ask, and until when it had better be left alone.
type place struct {
	url   string
	until time.Time
}

// New makes a client of services by their addresses: "https://host", with a
// path if the service has one in front of /v1.
func New(services []string, o Options) (*Client, error) {
	if o.Concurrency <= 0 {
		o.Concurrency = 4 * len(services)
	}
	if o.Attempts <= 0 {
		o.Attempts = 12
	}
	if o.Timeout <= 0 {
		o.Timeout = 2 * time.Minute
	}
	if o.FirstWait <= 0 {
		o.FirstWait = 100 * time.Millisecond
	}
	if o.LongestWait <= 0 {
		o.LongestWait = 30 * time.Second
	}
	if o.HTTP == nil {
		transport := http.DefaultTransport.(*http.Transport).Clone()
		transport.MaxIdleConnsPerHost = o.Concurrency
		o.HTTP = &http.Client{Transport: transport}
	}
	own := *o.HTTP
	own.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	o.HTTP = &own
	c := &Client{o: o, slots: make(chan struct{}, o.Concurrency), version: o.Version, most: map[string]int{}}
	for _, address := range services {
		u, err := url.Parse(address)
		if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.RawQuery != "" || u.Fragment != "" {
			return nil, fmt.Errorf("%q is not the address of a service: want http or https, a host, and no query", address)
		}
		c.services = append(c.services, &place{url: strings.TrimRight(u.String(), "/")})
	}
	if len(c.services) == 0 {
		return nil, errors.New("no service is named")
	}
	return c, nil
}

// Block answers a block. The columns of in, of which there are as many as
// inputs, stand one behind the other, as do those of out: the outputs, and then
// the status; see `block` in wasm/ABI.md. Without inputs it has one row.
//
// Its error is that of ctx, an *Error of a service, or says what could not be
// reached however often it was tried.
func (c *Client) Block(ctx context.Context, h Header, in []float64) (out []float64, err error) {
	rows := 1
	if len(h.Inputs) > 0 {
		rows = len(in) / len(h.Inputs)
	}
	if len(in) != rows*len(h.Inputs) {
		return nil, fmt.Errorf("%d numbers are not %d columns of one length", len(in), len(h.Inputs))
	}
	columns := len(h.Outputs) + 1
	if most := c.longest(&h); rows <= most {
		out, err = c.part(ctx, &h, in, rows)
		if !tooMany(err) || rows <= 1 {
			return out, err
		}
		c.shorten(&h, rows, err)
	}
	out = make([]float64, columns*rows)
	for from := 0; from < rows; {
		n := min(c.longest(&h), rows-from)
		part := make([]float64, 0, n*len(h.Inputs))
		for i := range h.Inputs {
			part = append(part, in[i*rows+from:i*rows+from+n]...)
		}
		got, err := c.part(ctx, &h, part, n)
		if tooMany(err) && n > 1 {
			c.shorten(&h, n, err)
			continue
		}
		if err != nil {
			return nil, err
		}
		for i := range columns {
			copy(out[i*rows+from:i*rows+from+n], got[i*n:])
		}
		from += n
	}
	return out, nil
}

// longest is the most rows that services are known to take of such columns.
func (c *Client) longest(h *Header) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	if most, ok := c.most[h.columns()]; ok {
		return most
	}
	return int(^uint(0) >> 1)
}

// shorten remembers that so many rows are too many.
func (c *Client) shorten(h *Header, rows int, err error) {
	most := rows / 2
	if e := (*Error)(nil); errors.As(err, &e) && e.most > 0 && e.most < rows {
		most = e.most
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if known, ok := c.most[h.columns()]; !ok || most < known {
		c.most[h.columns()] = most
	}
}

func (h *Header) columns() string {
	return strings.Join(h.Inputs, "\n") + "\n\n" + strings.Join(h.Outputs, "\n")
}
