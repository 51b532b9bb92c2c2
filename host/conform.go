package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"runtime"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spareamps/host/runner"
	"spareamps/testdata"
)

// minors are the versions of the interface that brought something.
var minors = []string{"1.0", "1.1", "1.2", "1.3"}

func (p *program) newConform() *cobra.Command {
	var backend backendFlags
	var edge, until string
	var print, asJSON bool
	c := &cobra.Command{
		Use:   "conform",
		Short: "whether a module or a service answers as it must",
		Long: `Asks the conformance vectors, requests with answers known to the bit: of the
module built from source, of a module FILE, of a service at an address, or of
the core in this program. Answers may hold more than a vector names, as later
minor versions of the interface do. Exit code 1 if one differs.

--print gives the vectors, one JSON object a line, to hosts in other languages.`,
		Example: `spareamps conform
spareamps conform --backend native --json
spareamps conform --until 1.0
spareamps conform --print`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			if until != "" && !slices.Contains(minors, until) {
				return &usageError{"--until is " + until + ", allowed is " + joinOr(minors), ""}
			}
			if print {
				p.data.Write(testdata.ConformanceText())
				return nil
			}
			if edge != "" && (backend.module != "" || c.Flags().Changed("backend")) {
				return &usageError{"--edge asks a service, not a module or the core", "leave one of them out"}
			}
			return p.conform(&backend, edge, until, asJSON)
		},
	}
	backend.add(c, "wasm", "native", "wasm")
	c.Flags().StringVar(&edge, "edge", "", "ask the service at `URL`, such as http://127.0.0.1:8080")
	c.Flags().StringVar(&until, "until", "", "only what a caller of interface `VERSION` relies on: "+joinOr(minors))
	c.Flags().BoolVar(&print, "print", false, "print the vectors instead")
	c.Flags().BoolVar(&asJSON, "json", false, "the result as one JSON object")
	return c
}

// fusedTolerance is how far native answers may lie from the vectors where the
// compiler fuses multiply and add.
const fusedTolerance = 1e-9

// conform puts all vectors to what the flags name and prints what came of it.
func (p *program) conform(b *backendFlags, edge, until string, asJSON bool) error {
	vectors, err := testdata.Vectors(until)
	if err != nil {
		return err
	}
	target, tolerance := edge, 0.0
	var ask func(ctx context.Context, v *testdata.Vector) ([]byte, error)
	switch {
	case edge != "":
		s := edgeService{url: strings.TrimRight(edge, "/")}
		if u, err := url.Parse(edge); err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
			return &usageError{"--edge is " + edge + ", allowed is an address such as http://127.0.0.1:8080", ""}
		}
		ask = s.ask
	default:
		var e runner.Engine = new(runner.Native)
		target = "native"
		if b.backend == "native" && runtime.GOARCH != "amd64" {
			tolerance = fusedTolerance
		}
		if b.backend == "wasm" {
			module, sum, err := runner.Module(p.ctx, b.module)
			if err != nil {
				return err
			}
			target = "module " + sum[:16]
			if e, err = runner.New(p.ctx, module, runner.Options{CacheDir: runner.CacheDir(), Instances: 1}); err != nil {
				return err
			}
		}
		defer e.Close(context.WithoutCancel(p.ctx))
		ask = func(ctx context.Context, v *testdata.Vector) ([]byte, error) { return askEngine(ctx, e, v) }
	}

	var rows []object
	failed, skipped := 0, 0
	for i := range vectors {
		v := &vectors[i]
		verdict, why := "ok", ""
		got, err := ask(p.ctx, v)
		switch {
		case p.ctx.Err() != nil:
			return p.ctx.Err()
		case errors.Is(err, errNotOffered):
			verdict = "not offered"
			skipped++
		case err != nil:
			return err
		default:
			if why = v.Check(got, tolerance); why != "" {
				verdict = "differs"
				failed++
				if !asJSON {
					g := p.newPage()
					g.para("", v.Name+" differs: "+plainText(why))
				}
			}
		}
		row := object{{"vector", v.Name}, {"call", v.Call}, {"since", v.Since}, {"verdict", verdict}}
		if why != "" {
			row = append(row, pair{"why", why})
		}
		rows = append(rows, row)
	}
	met := len(vectors) - failed - skipped
	if asJSON {
		err := p.object(object{{"target", target}, {"vectors", rows},
			{"summary", object{{"met", met}, {"differ", failed}, {"not_offered", skipped}, {"vectors", len(vectors)}}}})
		if err != nil {
			return err
		}
	} else {
		g := p.newPage()
		s := fmt.Sprintf("%s: %d of %d vectors met", target, met, len(vectors))
		if skipped > 0 {
			s += fmt.Sprintf(", %d not offered there", skipped)
		}
		if tolerance > 0 {
			s += ", to 9 digits: this processor fuses multiply and add"
		}
		g.line(s)
	}
	if failed > 0 {
		p.complain(fmt.Sprintf("%d of %d vectors differ", failed, len(vectors)))
		return errTold
	}
	return nil
}

// askEngine puts a vector to an engine.
func askEngine(ctx context.Context, e runner.Engine, v *testdata.Vector) ([]byte, error) {
	switch v.Call {
	case "ceiling":
		return e.Ceiling(ctx, v.Question())
	case "day":
		return e.Day(ctx, v.Question())
	case "fit":
		return e.Fit(ctx, v.Question())
	case "quantity":
		return e.Quantity(ctx, v.Question())
	case "block":
		in, out, rows := v.Block()
		err := e.Block(ctx, v.Question(), v.Names(), in, out, rows)
		var refused *runner.RefusedError
		if errors.As(err, &refused) {
			return refused.JSON, nil
		}
		return testdata.ColumnsJSON(out, rows), err
	}
	return nil, fmt.Errorf("vector %s: there is no call %q", v.Name, v.Call)
}

var errNotOffered = errors.New("not offered")

// An edgeService is one at the edge, by its address.
type edgeService struct{ url string }

// ask puts a vector to a service, and its refusals into the form of the core's.
func (s *edgeService) ask(ctx context.Context, v *testdata.Vector) ([]byte, error) {
	body := v.Question()
	path := v.Call
	switch v.Call {
	case "quantity":
		return nil, errNotOffered
	case "block":
		path = "sweep"
		request, columns := body, v.Columns
		if columns == nil {
			columns = [][]float64{} // one row without inputs
		}
		if v.Text != nil {
			request, _ = json.Marshal(*v.Text)
		}
		var err error
		body, err = json.Marshal(struct {
			Request json.RawMessage `json:"request"`
			Inputs  []string        `json:"inputs"`
			Outputs []string        `json:"outputs"`
			Columns [][]float64     `json:"columns"`
		}{request, v.Inputs, v.Outputs, columns})
		if err != nil {
			return nil, err
		}
	}
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	q, err := http.NewRequestWithContext(ctx, http.MethodPost, s.url+"/v1/"+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	q.Header.Set("Content-Type", "application/json")
	r, err := http.DefaultClient.Do(q)
	if err != nil {
		return nil, &runner.HintError{Err: err, Hint: "`spareamps serve --api` starts a service on this machine"}
	}
	defer r.Body.Close()
	text, err := io.ReadAll(io.LimitReader(r.Body, 16<<20))
	if err != nil {
		return nil, err
	}
	if r.StatusCode != http.StatusOK {
		var problem struct {
			Code     string          `json:"code"`
			Problems json.RawMessage `json:"problems"`
		}
		if json.Unmarshal(text, &problem) != nil || problem.Code == "" {
			return nil, fmt.Errorf("%s answered %s, and not as a service of ours", s.url, r.Status)
		}
		if problem.Code == "not_found" {
			return nil, errNotOffered // of a version from before this call
		}
		return json.Marshal(map[string]any{"error": problem})
	}
	if v.Call == "block" {
		var sweep struct {
			Columns []json.RawMessage `json:"columns"`
			Status  json.RawMessage   `json:"status"`
		}
		if err := json.Unmarshal(text, &sweep); err != nil {
			return nil, err
		}
		return json.Marshal(append(sweep.Columns, sweep.Status))
	}
	return text, nil
}
