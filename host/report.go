package main

import (
	"context"
	"encoding/json"
	"errors"
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/host/runner"
)

// A usageError is a command line that makes no sense.
type usageError struct{ message, hint string }

func (e *usageError) Error() string { return e.message }

// A badInput is input that cannot be answered, with the error object for
// programs.
type badInput struct {
	code     string
	problems []core.Problem
	flags    map[string]string // by path: the flag that stated it
	hints    []string
	json     bool
}

func (e *badInput) Error() string { return "bad input" }

// A strictError is an answer outside validity under --strict.
type strictError struct{ codes []string }

func (e *strictError) Error() string { return "outside validity: " + strings.Join(e.codes, ", ") }

// A failure has been told of already.
var errTold = errors.New("failed")

// report tells what went wrong and returns the exit code.
func (p *program) report(ran *cobra.Command, err error) int {
	var usage *usageError
	var bad *badInput
	var strict *strictError
	var hinted *runner.HintError
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, context.Canceled):
		p.complain(errInterrupted.Error())
		return exitInterrupted
	case errors.Is(err, errTold):
		return exitFailed
	case errors.As(err, &usage):
		p.complain(usage.message)
		p.hint(usage.hint)
		return exitUsage
	case errors.As(err, &bad):
		p.tell(bad)
		if bad.code == "internal" {
			return exitFailed
		}
		return exitBadInput
	case errors.As(err, &strict):
		p.complain(strict.Error())
		p.hint("the remarks on validity in the answer say why; without --strict the exit code is 0")
		return exitOutside
	case errors.As(err, &hinted):
		p.complain(hinted.Error())
		p.hint(hinted.Hint)
		return exitFailed
	}
	if message, ok := strings.CutPrefix(err.Error(), "unknown command "); ok {
		name, _, _ := strings.Cut(strings.TrimPrefix(message, `"`), `"`)
		p.complain("there is no command " + name)
		p.hint(p.nearCommand(name))
		return exitUsage
	}
	if wrongArguments.MatchString(err.Error()) {
		p.complain(err.Error())
		p.hint("see `" + ran.CommandPath() + " --help`")
		return exitUsage
	}
	p.complain(err.Error())
	return exitFailed
}

// wrongArguments are the messages of cobra's own checks.
var wrongArguments = regexp.MustCompile(`^(accepts|requires|invalid argument|if any flags|required flag|at least one)`)

// tell lists all problems. A problem that a flag brought names the flag.
func (p *program) tell(bad *badInput) {
	for _, problem := range bad.problems {
		message := problem.Message
		if flag := bad.flags[problem.Field]; flag != "" {
			if rest, ok := strings.CutPrefix(message, problem.Field+" "); ok {
				message = "--" + flag + " " + rest
			}
		}
		p.complain(message)
	}
	for _, hint := range bad.hints {
		p.hint(hint)
	}
	if bad.json {
		p.data.Reset()
		if bad.code == "internal" {
			p.data.Write(core.ErrorJSON(bad.code, "", "", "", bad.problems[0].Message))
		} else {
			p.data.Write(core.ErrorObject(&core.InputError{Code: bad.code, Problems: bad.problems}))
		}
		p.data.WriteByte('\n')
	}
}

// refused reads an error object that came in place of an answer.
func refused(answer []byte) *badInput {
	if !strings.HasPrefix(string(answer), `{"error":`) {
		return nil
	}
	var object struct {
		Error struct {
			Code     string
			Problems []struct{ Code, Field, Value, Allowed, Message string }
		}
	}
	if err := json.Unmarshal(answer, &object); err != nil {
		return nil
	}
	bad := &badInput{code: object.Error.Code}
	if len(object.Error.Problems) == 0 {
		bad.code = "internal"
		bad.problems = []core.Problem{{Code: "internal", Message: "the module refused without saying why"}}
	}
	for _, x := range object.Error.Problems {
		bad.problems = append(bad.problems, core.Problem(x))
	}
	return bad
}
