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
	command  string
	sections []string // of the request that are asked for and checked
	part     string   // the one beside the rig that a file may hold; "" for none
	own      []string // inputs that as flags mean: nothing from the demo
	rig      string
	file     string // of part
	table    tableFlags
	json     bool

	page  json.RawMessage // what the phone page keeps in the rig's file, for whoever writes it anew
	track string
	after func(q *core.Request, bad *badInput) error // lays what else there is over files and flags
}

// leading are the inputs that make an alternator another one.
var leading = []string{"rig.alternator.rated_current_A", "rig.alternator.points", "rig.alternator.machine"}

// add adds --rig, a flag for a file of the other part, and those of the inputs
// within paths.
func (f *requestFlags) add(c *cobra.Command, within ...string) {
	f.command = c.Name()
	if f.own == nil {
		f.own = leading
	}
	c.Flags().StringVar(&f.rig, "rig", "", "rig or whole request from `FILE`, in JSON; - is standard input")
	if f.part != "" {
		c.Flags().StringVar(&f.file, f.part, "", f.part+" from `FILE`, in JSON; - is standard input")
	}
	f.table = newTableFlags(c, within...)
}

// request builds the request, or returns a *badInput with all that is wrong.
//
// Without a file it is the demo request with the flags over it. With a file,
// or with an alternator of one's own in flags, nothing comes from the demo.
func (p *program) request(f *requestFlags) (core.Request, error) {
	if f.rig == "-" && f.file == "-" {
		return core.Request{}, &usageError{"standard input cannot be both --rig and --" + f.part, "put both into one request: {\"rig\":{...},\"" + f.part + "\":{...}}"}
	}
	if f.track == "-" && (f.rig == "-" || f.file == "-") {
		return core.Request{}, &usageError{"standard input cannot be both --track and another file", "name the track's file"}
	}
	bad := &badInput{flags: map[string]string{}, json: f.json}
	rig, err := p.text(f.rig, bad)
	if err != nil {
		return core.Request{}, err
	}
	part, err := p.text(f.file, bad)
	if err != nil {
		return core.Request{}, err
	}
	own := f.rig != "" || hasKey(part, "rig") || f.table.given(f.own...)
	q := core.NewRequest()
	if !own {
		bad.problems = append(bad.problems, problemsOf(q.Lay(f.demo(), ""))...)
	}
	for _, file := range []struct {
		name, section string
		text          []byte
	}{{f.rig, "rig", rig}, {f.file, f.part, part}} {
		if file.text == nil {
			continue
		}
		section := file.section
		text := file.text
		if isRequest(text) {
			if kept := member(text, "page"); kept != nil {
				f.page = kept
			}
			section, text = "", withoutPage(text)
		}
		problems := problemsOf(q.Lay(text, section))
		for i := range problems {
			if problems[i].Field == "" || f.rig != "" && f.file != "" {
				problems[i].Message = fileName(file.name) + ": " + problems[i].Message
			}
		}
		bad.problems = append(bad.problems, problems...)
	}
	unreadable := len(bad.problems) > 0 && bad.problems[0].Field == ""
	bad.problems = append(bad.problems, f.table.lay(&q, bad.flags)...)
	if f.after != nil && !unreadable {
		if err := f.after(&q, bad); err != nil {
			return q, err
		}
	}
	if !unreadable {
		bad.check(&q, f.sections)
	}
	if len(bad.problems) > 0 {
		bad.advise(f, own && f.rig == "")
		return q, bad
	}
	if !own {
		p.noteDemo(f)
	}
	return q, nil
}

// demo is what of the demo request is asked about: its rig, and its part unless
// a file has another.
func (f *requestFlags) demo() []byte {
	demo := core.Demo()
	text := demo.JSON()
	o := object{{"rig", member(text, "rig")}}
	if f.part != "" && f.file == "" {
		part := member(text, f.part)
		if f.track != "" {
			part = withoutPlan(part)
		}
		o = append(o, pair{f.part, part})
	}
	text, err := json.Marshal(o)
	if err != nil {
		panic("host: " + err.Error()) // of our own types
	}
	return text
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
			if p.Field == "day" {
				missing = append(missing, "--day FILE")
				needFile = true
			}
			if p.Field == "wiring" {
				missing = append(missing, "--source-V, --far-V, --far-A")
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
		b.hints = append(b.hints, f.ownWords())
	}
	if needFile {
		file := "rig"
		if f.part == "day" {
			file = "day"
		}
		b.hints = append(b.hints, "`spareamps "+f.asker()+" --print-request -o "+file+".json` writes a file to start from")
	}
}

// asker is the command that prints a request such as this one reads.
func (f *requestFlags) asker() string {
	if f.part == "" {
		return "ceiling"
	}
	return f.command
}

// ownWords says why nothing comes from the demo.
func (f *requestFlags) ownWords() string {
	switch f.part {
	case "":
		return "an alternator of your own takes nothing from the demo rig and moment"
	case "wiring":
		return "readings, a cable or a charger of your own take nothing from the demo"
	}
	return "an alternator of your own takes nothing from the demo rig and " + f.part
}

// noteDemo says that the answer is about the demo, and what of it was changed.
func (p *program) noteDemo(f *requestFlags) {
	what := "demo rig and " + f.part
	switch {
	case f.part == "":
		what = "demo alternator"
	case f.file != "":
		what = "demo rig"
	case f.part == "wiring":
		what = "demo lead and readings"
	case f.track != "":
		what = "demo rig and loads"
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

// isRequest says whether a text holds a whole request rather than one section
// of it alone.
func isRequest(text []byte) bool {
	for _, key := range append([]string{"confidence"}, sectionNames...) {
		if hasKey(text, key) {
			return true
		}
	}
	return false
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

// withoutPage blanks what the phone page keeps in a file beside the request, so
// that all else stays at its place.
func withoutPage(text []byte) []byte {
	if !hasKey(text, "page") {
		return text
	}
	out := bytes.Clone(text)
	d := json.NewDecoder(bytes.NewReader(text))
	_, _ = d.Token()
	for first := true; d.More(); first = false {
		from := d.InputOffset() // of the comma before it
		key, _ := d.Token()
		var value json.RawMessage
		if d.Decode(&value) != nil {
			return text // the core says what is wrong with it
		}
		if key != "page" {
			continue
		}
		to := d.InputOffset()
		if comma := bytes.IndexByte(text[to:], ','); first && d.More() {
			to += int64(comma) + 1
		}
		for i := from; i < to; i++ {
			if out[i] != '\n' {
				out[i] = ' '
			}
		}
	}
	return out
}

func itoa(i int) string { return strconv.Itoa(i) }
