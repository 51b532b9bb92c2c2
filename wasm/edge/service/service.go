package service

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"spareamps/core"
	"spareamps/wasm/edge/schema"
)

// Options bound what one client may take from others. Zero values mean the
// defaults stated.
type Options struct {
	MaxBody   int64 // bytes of a sweep's body; 0: MaxBody. Other bodies are the core's: at most 1 MiB
	MaxPoints int   // of one sweep, weighed as by Points; 0: MaxPoints
	MaxSteps  int   // of one fit, weighed as by Steps; 0: MaxSteps

	// Time bounds computing one request, looked at between parts of it;
	// 0: none. BodyTime bounds the wait for a body; 0: none.
	Time, BodyTime time.Duration

	Computing int // requests computed at once; 0: one
	Waiting   int // requests accepted at once, computed or not; 0: 64

	// AllowOrigin is the origin whose pages may read answers, "*" for all;
	// "": none but the service's own.
	AllowOrigin string
}

// The defaults of Options.
const (
	MaxBody   = 8 << 20
	MaxPoints = 200_000

	// maxValues bounds the numbers of a sweep, to either side.
	maxValues = 1 << 20
	// maxText is the most the core reads as a request.
	maxText = 1 << 20
)

// A Service is the handler. Make one with New.
type Service struct {
	Options
	routes    map[string]route
	advisors  sync.Pool // *core.Advisor
	blocks    sync.Pool // *prepared
	last      atomic.Pointer[seen]
	computing chan struct{}
	waiting   atomic.Int64
}

// A route is what one path answers to.
type route struct {
	method string
	answer func(s *Service, r *http.Request) (reply, *problem)
}

// A reply is an answer ready to be sent.
type reply struct {
	kind string // content type
	body []byte
	etag string // for what may be kept
}

// New makes a service.
func New(o Options) *Service {
	if o.MaxBody <= 0 {
		o.MaxBody = MaxBody
	}
	if o.MaxPoints <= 0 {
		o.MaxPoints = MaxPoints
	}
	if o.MaxSteps <= 0 {
		o.MaxSteps = MaxSteps
	}
	if o.Waiting <= 0 {
		o.Waiting = 64
	}
	s := &Service{Options: o, computing: make(chan struct{}, max(1, o.Computing))}
	s.advisors.New = func() any { return new(core.Advisor) }
	s.blocks.New = func() any { return new(prepared) }
	s.routes = map[string]route{
		"/v1/ceiling":      {http.MethodPost, (*Service).ceiling},
		"/v1/day":          {http.MethodPost, (*Service).day},
		"/v1/fit":          {http.MethodPost, (*Service).fit},
		"/v1/sweep":        {http.MethodPost, (*Service).sweep},
		"/v1/about":        {http.MethodGet, document(jsonType, func() ([]byte, error) { return core.AboutJSON(), nil })},
		"/v1/schema":       {http.MethodGet, document(schema.SchemaType, schemaText)},
		"/v1/openapi.json": {http.MethodGet, document(schema.OpenAPIType, s.openAPI)},
		"/healthz":         {http.MethodGet, (*Service).healthz},
	}
	return s
}

const jsonType = schema.JSONType

// ServeHTTP answers a request.
func (s *Service) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Spareamps-Version", core.Version)
	h.Set("X-Content-Type-Options", "nosniff")
	s.allow(h)
	route, found := s.routes[r.URL.Path]
	var p *problem
	var answer reply
	switch {
	case !found:
		p = &problem{Status: http.StatusNotFound, Code: "not_found", Detail: "there is nothing at this path; see /v1/openapi.json"}
	case r.Method == http.MethodOptions:
		s.preflight(h, route.method)
		w.WriteHeader(http.StatusNoContent)
		return
	case r.Method != route.method && !(r.Method == http.MethodHead && route.method == http.MethodGet):
		h.Set("Allow", allowed(route.method))
		p = &problem{Status: http.StatusMethodNotAllowed, Code: "method", Detail: "this path takes " + route.method}
	default:
		s.hurry(w, r)
		answer, p = s.safely(route, r)
	}
	if p != nil {
		p.send(w)
		return
	}
	h.Set("Cache-Control", "no-store")
	if answer.etag != "" {
		h.Set("Cache-Control", "public, max-age=3600")
		h.Set("ETag", answer.etag)
		if matches(r.Header.Get("If-None-Match"), answer.etag) {
			w.WriteHeader(http.StatusNotModified)
			return
		}
	}
	h.Set("Content-Type", answer.kind)
	h.Set("Content-Length", strconv.Itoa(len(answer.body)))
	w.WriteHeader(http.StatusOK)
	if r.Method != http.MethodHead {
		_, _ = w.Write(answer.body)
	}
}

// safely answers within the bounds on requests at once. A panic of the core
// becomes a problem that tells nothing of the input.
func (s *Service) safely(route route, r *http.Request) (answer reply, p *problem) {
	if route.method == http.MethodPost {
		defer s.waiting.Add(-1)
		if s.waiting.Add(1) > int64(s.Waiting) {
			return reply{}, busy()
		}
	}
	defer func() {
		if recover() != nil {
			p = &problem{Status: http.StatusInternalServerError, Code: "internal", Detail: "the core met a defect of its own while computing"}
		}
	}()
	return route.answer(s, r)
}

// turn waits until it is this request's turn to compute. The returned context
// ends with the time for it.
func (s *Service) turn(r *http.Request) (ctx context.Context, done func(), p *problem) {
	select {
	case s.computing <- struct{}{}:
	default:
		select {
		case s.computing <- struct{}{}:
		case <-r.Context().Done():
			return nil, nil, busy()
		}
	}
	ctx, cancel := r.Context(), context.CancelFunc(func() {})
	if s.Time > 0 {
		ctx, cancel = context.WithTimeout(ctx, s.Time)
	}
	return ctx, func() { cancel(); <-s.computing }, nil
}

func (s *Service) ceiling(r *http.Request) (reply, *problem) {
	return s.ask(r, (*core.Advisor).CeilingJSON)
}

func (s *Service) day(r *http.Request) (reply, *problem) {
	return s.ask(r, func(a *core.Advisor, request []byte) []byte {
		return a.DayJSON(request)
	})
}

// ask puts a question of text to the core.
func (s *Service) ask(r *http.Request, question func(*core.Advisor, []byte) []byte) (reply, *problem) {
	if _, p := mediaType(r, jsonType); p != nil {
		return reply{}, p
	}
	body, p := s.body(r, maxText)
	if p != nil {
		return reply{}, p
	}
	_, done, p := s.turn(r)
	if p != nil {
		return reply{}, p
	}
	defer done()
	advisor := s.advisors.Get().(*core.Advisor)
	text := bytes.Clone(question(advisor, body)) // after a panic the advisor is not used again
	s.advisors.Put(advisor)
	if p := ofCore(text); p != nil {
		return reply{}, p
	}
	return reply{kind: jsonType, body: text}, nil
}

// healthz computes one point, so that "ok" says that the core answers.
func (s *Service) healthz(*http.Request) (reply, *problem) {
	demo := core.Demo()
	block, text := core.NewBlock(demo.JSON(), []byte("moment.engine_rpm\n\nnominal.input_A"))
	if text != nil {
		return reply{}, ofCore(text)
	}
	var out [2]float64
	block.Run([]float64{demo.Moment.EngineRpm}, out[:], 1)
	if !(out[0] > 0) || out[1] != 0 {
		return reply{}, &problem{Status: http.StatusInternalServerError, Code: "internal", Detail: "the core does not answer its own example"}
	}
	text, _ = json.Marshal(struct {
		Status  string `json:"status"`
		Version string `json:"version"`
	}{"ok", core.Version})
	return reply{kind: jsonType, body: text}, nil
}
