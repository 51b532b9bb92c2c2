package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net"
	"os"
	"time"

	"github.com/spf13/cobra"

	"spareamps/core"
	"spareamps/core/limit"
)

func (p *program) newFollow() *cobra.Command {
	request := requestFlags{part: "moment", sections: core.ForCeiling}
	var file, listen string
	var every float64
	var jsonl bool
	c := &cobra.Command{
		Use:   "follow",
		Short: "advice while driving, from a logger's records",
		Long: `Reads a logger's records from standard input, a file or a socket on this
machine, carries the alternator's temperatures along, and prints what the
charger may be set to whenever that changes: for the next ten minutes, whether
all stays as it is or the vehicle now stops and idles. Advice falls at once and
rises only to what has been good for a minute.

A record is a line: a JSON object; CSV behind a header; or a bare response of
SAE J1979 mode 01 such as 41 0C 1A F8, for engine speed (0C), road speed (0D),
volts (42) and ambient (46). Names: time (seconds, hh:mm:ss, or a date with
time; none: when it comes), engine_rpm, speed_kmh, ambient_C, bus_V, charger_A
(amps into the charger; none: as advised), obd (a response). A value that is not
in a record stays as it was. Gaps, garbage and clocks that jump are told of and
survived. The rig, the loads and the ambient until one is read come from --rig,
--moment and flags. Ctrl-C ends it.`,
		Example: `spareamps follow --file demo --quiet
spareamps follow --file demo --jsonl --every 60 -q`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			if file != "" && listen != "" {
				return &usageError{"--file and --listen name two sources", "leave one of them out"}
			}
			if !(every > 0 && every <= 3600) {
				return &usageError{"--every is " + number(every) + ", allowed is above 0 to 3600 s", ""}
			}
			q, err := p.request(&request)
			if err != nil {
				return err
			}
			f, err := newFollowing(p, &q, every, jsonl)
			if err != nil {
				return err
			}
			return p.follow(f, file, listen)
		},
	}
	request.add(c, core.ForCeiling...)
	c.Flags().StringVar(&file, "file", "", "read `FILE` instead of standard input; demo is a log of the demo rig's morning")
	c.Flags().StringVar(&listen, "listen", "", "read from whoever connects to `HOST:PORT` of this machine; port 0 takes a free one")
	c.Flags().Float64Var(&every, "every", 10, "look at what is allowed every so many `SECONDS` of the log")
	c.Flags().BoolVar(&jsonl, "jsonl", false, "one JSON object for each look, changed or not")
	return c
}

// follow reads records until they end or it is interrupted.
func (p *program) follow(f *following, file, listen string) error {
	defer f.sum()
	if listen != "" {
		return p.followSocket(f, listen)
	}
	in := p.in
	switch file {
	case "", "-":
	case "demo":
		in = demoLog()
	default:
		opened, err := os.Open(file)
		if err != nil {
			return &badInput{code: "file", problems: []core.Problem{{Code: "file", Value: file, Message: "cannot read " + file + ": " + reason(err)}}}
		}
		defer opened.Close()
		in = opened
	}
	return p.followLines(f, in)
}

// reason is why a file could not be opened, without its name.
func reason(err error) string {
	var path *os.PathError
	if errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}

// followSocket takes one connection after another.
func (p *program) followSocket(f *following, address string) error {
	at, err := net.ResolveTCPAddr("tcp", address)
	if err != nil || at.IP == nil || !at.IP.IsLoopback() {
		return &usageError{"--listen is " + address + ", allowed is an address of this machine alone, such as 127.0.0.1:35000", ""}
	}
	listener, err := net.ListenTCP("tcp", at)
	if err != nil {
		return err
	}
	defer listener.Close()
	stop := context.AfterFunc(p.ctx, func() { listener.Close() })
	defer stop()
	p.note("listening on %s; Ctrl-C ends it", listener.Addr())
	for {
		connection, err := listener.Accept()
		if p.ctx.Err() != nil {
			return p.ctx.Err()
		}
		if err != nil {
			return err
		}
		hangUp := context.AfterFunc(p.ctx, func() { connection.Close() })
		err = p.followLines(f, connection)
		hangUp()
		connection.Close()
		switch {
		case p.ctx.Err() != nil:
			return p.ctx.Err()
		case errors.Is(err, errCannotWrite):
			return err
		case err != nil:
			p.note("the connection broke off: %v", err)
		default:
			p.note("the connection ended; waiting for the next")
		}
	}
}

// mostLine is the longest line that is looked at, in bytes.
const mostLine = 64 << 10

// followLines feeds lines to f as they come.
func (p *program) followLines(f *following, in io.Reader) error {
	type line struct {
		text string
		long bool
		err  error
	}
	read := make(chan line)
	go func() {
		r := bufio.NewReaderSize(in, mostLine)
		for {
			text, more, err := r.ReadLine()
			it := line{string(text), more, err}
			for more && err == nil {
				_, more, err = r.ReadLine()
			}
			select {
			case read <- it:
			case <-p.ctx.Done():
				return
			}
			if it.err != nil {
				return
			}
		}
	}()
	for {
		select {
		case <-p.ctx.Done():
			return p.ctx.Err()
		case it := <-read:
			switch {
			case it.err == io.EOF:
				return nil
			case it.err != nil:
				return it.err
			case it.long:
				f.number++
				f.garbage("a line of more than 64 KiB")
				continue
			}
			if err := f.line(it.text, float64(time.Now().UnixMilli())/1000); err != nil {
				return err
			}
		}
	}
}

// What a follower makes of time.
const (
	gapSeconds   = 60.0       // told of; what came before is taken to have gone on
	tooLongAgo   = 2 * 3600.  // beyond it nothing is known of the temperatures
	backSeconds  = 1.0        // by which a clock may go back untold
	mostGarbage  = 5          // lines of garbage told of one by one
	sagV, fullV  = 12.8, 13.2 // of a 12 V bus: sagging, and good again; engineering estimate
	overAllowed  = 1.1
	unheardAfter = 60.0
)

// A following is one run of follow.
type following struct {
	p       *program
	q       core.Request
	f       *core.Follower
	reading core.Reading
	records recordReader
	advice  steady
	every   float64
	jsonl   bool
	class   float64 // 1 for 12 V, 2 for 24 V

	begun         bool
	now, looked   float64
	heard         map[string]float64 // when each field came
	silent        map[string]bool    // told of as not heard
	volts         float64
	sagging, over bool

	number, bad, gaps, jumps int
	covered                  float64 // s
}

func newFollowing(p *program, q *core.Request, every float64, jsonl bool) (*following, error) {
	f := &following{p: p, q: *q, every: every, jsonl: jsonl, class: 1, heard: map[string]float64{}, silent: map[string]bool{}, looked: math.Inf(-1)}
	f.advice.stepW = 1
	if q.Rig.Charger.Given {
		f.advice.stepW = q.Rig.Charger.StepW
	}
	if q.Rig.Alternator.ClassV == "24" {
		f.class = 2
	}
	f.reading = core.Reading{AmbientC: q.Moment.AmbientC}
	return f, f.anew()
}

// anew begins with temperatures nobody told of.
func (f *following) anew() (err error) {
	f.f, err = core.NewFollower(&f.q)
	return err
}

// garbage tells of a line that was not understood.
func (f *following) garbage(why string) {
	f.bad++
	if f.bad <= mostGarbage {
		f.p.note("line %d left out: %s", f.number, why)
		if f.bad == mostGarbage {
			f.p.note("further lines like it are counted only")
		}
	}
}

// line takes a line that came at a time. Its error is for what ends the run.
func (f *following) line(text string, arrived float64) error {
	f.number++
	it, err := f.records.read(text)
	if err != nil {
		f.garbage(err.Error())
		return nil
	}
	if it == nil {
		return nil
	}
	for _, odd := range it.odd {
		f.garbage(odd)
	}
	if math.IsNaN(it.seconds) {
		it.seconds = arrived
	}
	if err := f.pass(it.seconds); err != nil {
		return err
	}
	for name, v := range it.values {
		f.heard[name] = f.now
		delete(f.silent, name)
		switch name {
		case "engine_rpm":
			f.reading.EngineRpm = v
		case "speed_kmh":
			f.reading.SpeedKmh = v
		case "ambient_C":
			f.reading.AmbientC = v
		case "charger_A":
			f.reading.ChargerA = v
		case "bus_V":
			f.volts = v
		}
	}
	if _, ok := f.heard["engine_rpm"]; !ok {
		return nil
	}
	for _, name := range []string{"engine_rpm", "speed_kmh", "charger_A"} {
		if at, ok := f.heard[name]; ok && f.now-at > unheardAfter && !f.silent[name] {
			f.silent[name] = true
			f.p.note("%s: %s not heard for a minute; taken as it was", clockOf(f.now), name)
		}
	}
	if f.now-f.looked < f.every {
		return nil
	}
	f.looked = f.now
	return f.look()
}

// pass lets time pass until a moment of the log.
func (f *following) pass(until float64) error {
	if !f.begun {
		f.begun, f.now = true, until
		return nil
	}
	dt := until - f.now
	f.now = until
	switch {
	case dt < 0:
		if dt < -backSeconds {
			f.jumps++
			f.p.note("%s: the clock went back by %s; taken as no time passed", clockOf(until), length(-dt))
			for name := range f.heard {
				f.heard[name] = until
			}
		}
		f.looked = math.Min(f.looked, until)
		return nil
	case dt > tooLongAgo:
		f.gaps++
		f.p.note("%s: nothing heard for %s; begun anew, with the temperatures of the start", clockOf(until), length(dt))
		return f.anew()
	case dt > gapSeconds:
		f.gaps++
		f.p.note("%s: nothing heard for %s; taken as before it", clockOf(until), length(dt))
	}
	if _, ok := f.heard["engine_rpm"]; !ok {
		return nil
	}
	f.covered += dt
	f.f.Advance(&f.reading, dt/60)
	return nil
}

func length(seconds float64) string {
	return (time.Duration(seconds) * time.Second).String()
}

var errCannotWrite = errors.New("cannot write the advice")

// look asks what is allowed now and tells it if that is news.
func (f *following) look() error {
	f.f.Advance(&f.reading, 0)
	a := f.f.Allowed(&f.reading)
	changed := f.advice.next(f.now, a.OutputW)
	running := f.reading.EngineRpm > 0
	measured := false
	if _, measured = f.heard["charger_A"]; !measured {
		// Nobody says what is drawn: what is advised.
		f.reading.ChargerA = 0
		if a.OutputW > 0 {
			f.reading.ChargerA = a.InputA * math.Min(1, f.advice.advice/a.OutputW)
		}
	}
	if sags := running && f.volts > 0 && f.volts < sagV*f.class; sags != f.sagging && (sags || f.volts > fullV*f.class || !running) {
		f.sagging = sags
		if sags {
			f.p.note("%s: %s V at the bus; more is drawn than the alternator gives", clockOf(f.now), fixed(f.volts, 1))
		}
	}
	tooMuch := running && measured && f.reading.ChargerA > overAllowed*a.InputA
	if tooMuch && !f.over {
		f.p.note("%s: %s into the charger, %s allowed; turn it down", clockOf(f.now), amps(f.reading.ChargerA), amps(a.InputA))
	}
	f.over = tooMuch
	if !changed && !f.jsonl {
		return nil
	}
	return f.tell(&a)
}

// tell prints advice at once: this run does not end by itself.
func (f *following) tell(a *core.Allowance) error {
	r := &f.reading
	var text []byte
	if f.jsonl {
		text, _ = json.Marshal(object{
			{"time", clockOf(f.now)}, {"time_s", f.now}, {"advice_W", f.advice.advice}, {"allowed_W", a.OutputW}, {"allowed_A", a.InputA},
			{"limit", limit.Table[a.Limit].Name}, {"if_stop", a.IfStop},
			{"engine_rpm", r.EngineRpm}, {"speed_kmh", r.SpeedKmh}, {"ambient_C", r.AmbientC}, {"charger_A", r.ChargerA},
			{"careful_C", object{{"stator_winding", a.WindingC}, {"rectifier_junction", a.JunctionC}, {"rotor", a.RotorC}}},
		})
		text = append(text, '\n')
	} else {
		g := f.p.newPage()
		why := spaced(limit.Table[a.Limit].Name)
		if a.IfStop {
			why += " if you stop"
		}
		switch {
		case r.EngineRpm <= 0:
			why = "engine off"
		case f.advice.advice <= 0:
			why = "charger off: " + why
		}
		s := clockOf(f.now) + right(fixed(f.advice.advice, 0)+" W", 8) + "  " + left(why, 28)
		text = []byte(g.plain(s + fixed(r.EngineRpm, 0) + " rpm, " + fixed(r.SpeedKmh, 0) + " km/h, " + fixed(r.AmbientC, 0) + " °C\n"))
	}
	to := f.p.out
	if f.p.outFile != "" && f.p.outFile != "-" {
		to = &f.p.data
	}
	if _, err := to.Write(text); err != nil {
		return fmt.Errorf("%w: %w", errCannotWrite, err)
	}
	return nil
}

// sum tells what was followed.
func (f *following) sum() {
	s := fmt.Sprintf("%d lines, %s followed", f.number, length(math.Round(f.covered)))
	for _, n := range []struct {
		count int
		what  string
	}{{f.bad, "not understood"}, {f.gaps, "gaps"}, {f.jumps, "clocks set back"}} {
		if n.count > 0 {
			s += fmt.Sprintf(", %d %s", n.count, n.what)
		}
	}
	f.p.note("%s", s)
}
