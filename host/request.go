package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io/fs"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/core"
)

// requestFlags say which request is asked: files, then flags over them.
type requestFlags struct {
	rig    string
	moment string
	table  tableFlags
	json   bool
}

// leading are the inputs that make an alternator another one.
var leading = []string{"rig.alternator.rated_current_A", "rig.alternator.points", "rig.alternator.machine"}

func (f *requestFlags) add(c *cobra.Command, within ...string) {
	c.Flags().StringVar(&f.rig, "rig", "", "rig or whole request from `FILE`, in JSON; - is standard input")
	f.table = newTableFlags(c, within...)
}

// request builds the request, or returns a *badInput with all that is wrong.
// The sections are what is checked; none means all.
//
// Without a file it is the demo request with the flags over it. With a file,
// or with an alternator of one's own in flags, nothing comes from the demo.
func (p *program) request(f *requestFlags, sections ...string) (core.Request, error) {
	if f.rig == "-" && f.moment == "-" {
		return core.Request{}, &usageError{"standard input cannot be both --rig and --moment", "put both into one request: {\"rig\":{...},\"moment\":{...}}"}
	}
	bad := &badInput{flags: map[string]string{}, json: f.json}
	rig, err := p.text(f.rig, bad)
	if err != nil {
		return core.Request{}, err
	}
	moment, err := p.text(f.moment, bad)
	if err != nil {
		return core.Request{}, err
	}
	own := f.rig != "" || hasKey(moment, "rig") || f.table.given(leading...)
	q := core.NewRequest()
	switch {
	case own:
	case f.moment != "":
		demo := core.Demo()
		bad.problems = append(bad.problems, problemsOf(q.Lay(member(demo.JSON(), "rig"), "rig"))...)
	default:
		q = core.Demo()
	}
	for _, file := range []struct {
		name, section string
		text          []byte
	}{{f.rig, "rig", rig}, {f.moment, "moment", moment}} {
		if file.text == nil {
			continue
		}
		section := file.section
		if isRequest(file.text) {
			section = ""
		}
		problems := problemsOf(q.Lay(file.text, section))
		for i := range problems {
			if problems[i].Field == "" || f.rig != "" && f.moment != "" {
				problems[i].Message = fileName(file.name) + ": " + problems[i].Message
			}
		}
		bad.problems = append(bad.problems, problems...)
	}
	unreadable := len(bad.problems) > 0 && bad.problems[0].Field == ""
	bad.problems = append(bad.problems, f.table.lay(&q, bad.flags)...)
	if !unreadable {
		bad.check(&q, sections)
	}
	if len(bad.problems) > 0 {
		bad.advise(f, own && f.rig == "")
		return q, bad
	}
	if !own {
		p.noteDemo(f, sections)
	}
	return q, nil
}

// check adds what is missing or does not go together, but for fields that are
// complained of already.
func (b *badInput) check(q *core.Request, sections []string) {
	b.problems = q.CheckAfter(b.problems, sections...)
}

// text reads a file named on the command line; nil without a name or where it
// cannot be read.
func (p *program) text(name string, bad *badInput) ([]byte, error) {
	if name == "" {
		return nil, nil
	}
	text, err := p.readFile(name)
	if err == nil {
		return append([]byte{}, text...), nil
	}
	if p.ctx.Err() != nil {
		return nil, p.ctx.Err()
	}
	var path *fs.PathError
	why := err.Error()
	if errors.As(err, &path) {
		why = path.Err.Error()
	}
	bad.code = "file"
	bad.problems = append(bad.problems, core.Problem{Code: "file", Value: name, Message: "cannot read " + fileName(name) + ": " + why})
	return nil, nil
}

// advise adds hints: the flags for what is missing, and where a file to start
// from comes from.
func (b *badInput) advise(f *requestFlags, ownFlags bool) {
	var missing []string
	needFile := false
	for _, p := range b.problems {
		switch p.Code {
		case "missing":
			for _, flag := range f.table {
				if flag.list == "" && flag.fields[0].Path == p.Field {
					missing = append(missing, "--"+flag.name)
				}
			}
		case "file", "json":
			needFile = true
		case "unknown":
			if p.Allowed == "" {
				b.hints = append(b.hints, "`spareamps fields` lists the names there are")
			}
		}
	}
	if len(missing) > 0 {
		b.hints = append(b.hints, "give "+strings.Join(missing, ", "))
	}
	if ownFlags && len(missing) > 0 {
		b.hints = append(b.hints, "an alternator of your own takes nothing from the demo rig and moment")
	}
	if needFile {
		b.hints = append(b.hints, "`spareamps ceiling --print-request -o rig.json` writes a file to start from")
	}
}

// noteDemo says that the answer is about the demo, and what of it was changed.
func (p *program) noteDemo(f *requestFlags, sections []string) {
	what := "demo rig and moment"
	switch {
	case len(sections) > 0:
		what = "demo alternator"
	case f.moment != "":
		what = "demo rig"
	}
	if f.table.given() {
		what += ", your flags over it"
	}
	p.note("%s; --rig FILE asks about yours", what)
}

func fileName(name string) string {
	if name == "-" {
		return "standard input"
	}
	return name
}

// isRequest says whether a text holds a whole request rather than a rig or a
// moment alone.
func isRequest(text []byte) bool {
	return hasKey(text, "rig") || hasKey(text, "moment") || hasKey(text, "confidence")
}

// hasKey says whether the top object of a text has a key.
func hasKey(text []byte, key string) bool { return member(text, key) != nil }

// member returns the value of a key of the top object of a text; nil where
// there is none. What is no JSON has none: the core says what is wrong with it.
func member(text []byte, key string) json.RawMessage {
	d := json.NewDecoder(bytes.NewReader(text))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil
	}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return nil
		}
		var value json.RawMessage
		if d.Decode(&value) != nil {
			return nil
		}
		if t == key {
			return value
		}
	}
	return nil
}

func itoa(i int) string { return strconv.Itoa(i) }
