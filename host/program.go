package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/spf13/cobra"
)

// Exit codes; the help of the program lists them.
const (
	exitOK          = 0
	exitFailed      = 1
	exitUsage       = 2
	exitBadInput    = 3
	exitOutside     = 4
	exitInterrupted = 130
)

// streams are what a run is connected to.
type streams struct {
	in       io.Reader
	out, err io.Writer
	env      func(string) string
	terminal bool // out is one
	width    int  // of the terminal, in columns; 0: not known
}

// A program is one run of the command line.
type program struct {
	streams
	ctx  context.Context
	data bytes.Buffer // all that goes to out, or to the file of -o
	root *cobra.Command

	outFile string
	quiet   bool
	ascii   bool
}

// run runs a command line and returns its exit code.
func run(ctx context.Context, args []string, s streams) int {
	p := &program{streams: s, ctx: ctx}
	p.root = p.newRoot()
	p.root.SetArgs(args)
	p.root.SetIn(s.in)
	p.root.SetOut(&p.data)
	p.root.SetErr(s.err)
	ran, err := p.root.ExecuteContextC(ctx)
	if ctx.Err() != nil {
		err = ctx.Err()
	}
	code := p.report(ran, err)
	if err := p.deliver(code); err != nil {
		p.complain(err.Error())
		return exitFailed
	}
	return code
}

// deliver writes the data. A file of -o is only touched by an answer.
func (p *program) deliver(code int) error {
	if p.outFile == "" || p.outFile == "-" || code != exitOK && code != exitOutside {
		if p.data.Len() == 0 {
			return nil // a sweep has written, and told if it could not
		}
		_, err := p.out.Write(p.data.Bytes())
		return err
	}
	if err := writeFile(p.outFile, p.data.Bytes()); err != nil {
		return fmt.Errorf("write the output: %w", err)
	}
	return nil
}

// writeFile writes a file whole or not at all; what is no regular file is
// written as it stands.
func writeFile(name string, data []byte) error {
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return os.WriteFile(name, data, 0o644)
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".spareamps-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}

// note says something on the side.
func (p *program) note(format string, args ...any) {
	if !p.quiet {
		fmt.Fprintf(p.err, "note: %s\n", plainText(fmt.Sprintf(format, args...)))
	}
}

func (p *program) complain(message string) { fmt.Fprintf(p.err, "error: %s\n", plainText(message)) }

func (p *program) hint(hint string) {
	if hint != "" {
		fmt.Fprintf(p.err, "hint: %s\n", plainText(hint))
	}
}

// plainText takes what moves a terminal's cursor or its colours out of a text
// that may come from outside.
func plainText(s string) string {
	return strings.Map(func(r rune) rune {
		if r != '\n' && !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, s)
}

// readFile reads a file, or standard input for "-", unless interrupted.
func (p *program) readFile(name string) ([]byte, error) {
	in := p.in
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		in = f
	}
	type result struct {
		text []byte
		err  error
	}
	done := make(chan result, 1)
	go func() {
		text, err := io.ReadAll(io.LimitReader(in, 2<<20)) // the core refuses more than 1 MiB
		done <- result{text, err}
	}()
	select {
	case r := <-done:
		return r.text, r.err
	case <-p.ctx.Done():
		return nil, p.ctx.Err()
	}
}

var errInterrupted = errors.New("interrupted")
