package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os/exec"
	"runtime"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"spareamps/host/runner"
)

func (p *program) newServe() *cobra.Command {
	var addr string
	var open, api bool
	c := &cobra.Command{
		Use:   "serve",
		Short: "the page for the phone, from this machine",
		Long: `Builds the module and the page where their sources have changed, and serves
them to a browser. Once a browser has opened the page it works there without
this server, and without a network.

Building needs the source tree, Go, Node 20 or newer and npm. A phone keeps a
page for offline use only from an address with https or from its own machine: to
put the page there, run ` + "`spareamps export DIR`" + ` and give DIR to any web host.

With --api it answers programs instead, over HTTP, as the worker at the edge
does. That needs neither sources nor Node.`,
		Example: `spareamps serve
spareamps serve --addr 127.0.0.1:9000 --open
spareamps serve --api`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			if api {
				if open {
					return &usageError{"--api has no page to open", "leave --open out"}
				}
				return p.serveAPI(addr)
			}
			s, err := p.site()
			if err != nil {
				return err
			}
			return p.serve(s, addr, open)
		},
	}
	c.Flags().StringVar(&addr, "addr", "127.0.0.1:8080", "listen at `HOST:PORT`; port 0 takes a free one")
	c.Flags().BoolVar(&open, "open", false, "open the page in a browser")
	c.Flags().BoolVar(&api, "api", false, "answer programs over HTTP instead of serving the page")
	return c
}

// serve serves the site until interrupted.
func (p *program) serve(s *site, addr string, open bool) error {
	return p.listen(s.handler(), addr, func(url string) {
		p.note("page %s; Ctrl-C stops it, and what browsers have kept goes on working", s.Version)
		if open {
			if err := browse(p.ctx, url); err != nil {
				p.note("no browser opened: %v", err)
			}
		}
	})
}

// listen serves a handler until interrupted; ready is called once it answers.
func (p *program) listen(handler http.Handler, addr string, ready func(url string)) error {
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return &runner.HintError{Err: err, Hint: "--addr 127.0.0.1:0 takes a free port"}
	}
	url := "http://" + shownAddress(listener.Addr()) + "/"
	// At once, not with the rest of the data: this run does not end by itself.
	fmt.Fprintln(p.out, url)
	server := &http.Server{Handler: handler, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	ready(url)
	select {
	case err := <-failed:
		return err
	case <-p.ctx.Done():
	}
	stop, cancel := context.WithTimeout(context.WithoutCancel(p.ctx), 2*time.Second)
	defer cancel()
	if err := server.Shutdown(stop); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return nil
}

// shownAddress is where a browser on this machine reaches a listener.
func shownAddress(a net.Addr) string {
	tcp, ok := a.(*net.TCPAddr)
	if !ok {
		return a.String()
	}
	host := tcp.IP.String()
	if tcp.IP.IsUnspecified() {
		host = "127.0.0.1"
	}
	return net.JoinHostPort(host, strconv.Itoa(tcp.Port))
}

// browse opens an address in the person's browser.
func browse(ctx context.Context, url string) error {
	name, args := "xdg-open", []string{url}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", url}
	}
	tool, err := exec.LookPath(name)
	if err != nil {
		return err
	}
	return exec.CommandContext(ctx, tool, args...).Start()
}
