package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
)

func (p *program) newCeiling() *cobra.Command {
	request := requestFlags{part: "moment", sections: core.ForCeiling}
	var backend backendFlags
	var strict, print bool
	c := &cobra.Command{
		Use:   "ceiling",
		Short: "how hard the charger may draw now, and why",
		Long: `Says how hard the house battery may be charged from the alternator at a
moment: the setting for the charger, which limit sets it, how sure that is, and
what would allow more.

Without --rig and without an alternator in flags it answers for the demo rig.
With either, nothing comes from the demo: what must be known has to be given.
--rig FILE holds the object under "rig", or a whole request
{"rig":{...},"moment":{...}}; flags go over files.`,
		Example: `spareamps ceiling
spareamps ceiling --engine-rpm 850 --speed-kmh 0 --ambient-C 40
spareamps ceiling --print-request -o rig.json
spareamps ceiling --rig rig.json --engine-rpm 1800 --ambient-C 30 --json
spareamps ceiling --alternator-rated-current-A 90 \
    --engine-rpm 1500 --ambient-C 35`,
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error {
			q, err := p.request(&request)
			if err != nil {
				return err
			}
			if print {
				return p.indented(q.JSON())
			}
			return p.ceiling(q.JSON(), &request, &backend, strict)
		},
	}
	request.add(c, core.ForCeiling...)
	c.Flags().BoolVar(&request.json, "json", false, "the answer as one JSON object")
	c.Flags().BoolVar(&strict, "strict", false, "exit code 4 when the answer stands outside validity")
	c.Flags().BoolVar(&print, "print-request", false, "print the request that would be answered, as JSON")
	backend.add(c, "native", "native", "wasm")
	return c
}

// ceiling asks an engine and prints its answer.
func (p *program) ceiling(request []byte, f *requestFlags, b *backendFlags, strict bool) error {
	e, err := p.engine(b.backend, b.module)
	if err != nil {
		return err
	}
	defer e.close()
	text, a, err := p.asked(e.ceiling, request, f, "ceiling.input_A")
	if err != nil {
		return err
	}
	if f.json {
		if err := p.answerJSON(text, e); err != nil {
			return err
		}
	} else {
		g := p.newPage()
		g.ceiling(a)
	}
	return strictly(strict, a)
}

// asked puts a request to an engine and reads its answer, which must have a
// number at a path.
func (p *program) asked(ask func(context.Context, []byte) ([]byte, error), request []byte, f *requestFlags, path string) ([]byte, answer, error) {
	text, err := ask(p.ctx, request)
	if err != nil {
		return nil, answer{}, err
	}
	if bad := refused(text); bad != nil {
		bad.json = f.json
		if bad.code == "internal" {
			bad.hints = []string{"a fault of this program, not of yours: `spareamps " + f.command + " --print-request` with the same flags shows what to report"}
		}
		return nil, answer{}, bad
	}
	a, err := readAnswer(text)
	if err != nil {
		return nil, a, fmt.Errorf("read the answer: %w", err)
	}
	if _, ok := a.num(path); !ok {
		return nil, a, fmt.Errorf("the module's answer holds no %s", path)
	}
	return text, a, nil
}

// answerJSON prints an answer with what computed it.
func (p *program) answerJSON(text []byte, e engine) error {
	from, err := e.provenance(p.ctx)
	if err != nil {
		return err
	}
	return p.indented(withMember(text, "provenance", from))
}

// strictly refuses an answer outside validity where that is asked for.
func strictly(strict bool, a answer) error {
	if codes := outside(a); strict && len(codes) > 0 {
		return &strictError{codes}
	}
	return nil
}

// outside returns the codes of the remarks that put an answer outside
// validity. A remark that a part was not described ("cable_unknown") only says
// that its limits were not looked at.
func outside(a answer) (codes []string) {
	for _, v := range a.rows("validity") {
		if code := v.text("code"); !strings.HasSuffix(code, "_unknown") {
			codes = append(codes, code)
		}
	}
	return codes
}

// withMember appends a member to the JSON of an object.
func withMember(object []byte, name string, value any) []byte {
	member, err := json.Marshal(value)
	if err != nil {
		panic("host: " + err.Error()) // of our own types
	}
	object = bytes.TrimRight(object, " \n")
	out := append([]byte(nil), object[:len(object)-1]...)
	if len(out) > 1 {
		out = append(out, ',')
	}
	out = append(out, `"`+name+`":`...)
	return append(append(out, member...), '}')
}

// indented prints JSON for people and programs alike.
func (p *program) indented(text []byte) error {
	if err := json.Indent(&p.data, text, "", "  "); err != nil {
		return err
	}
	return p.data.WriteByte('\n')
}

// noArguments refuses words behind a command.
func noArguments(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	hint := "see `" + c.CommandPath() + " --help`"
	if strings.HasSuffix(args[0], ".json") && c.Flags().Lookup("rig") != nil {
		hint = "a file is named by --rig " + args[0]
	}
	return &usageError{c.CommandPath() + " takes no arguments, but got " + args[0], hint}
}
