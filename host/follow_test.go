package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// The formulas of SAE J1979 (ISO 15031-5), annex B, at both ends of the ranges
// printed there and at a value in between reckoned by hand.
func TestPIDs(t *testing.T) {
	for _, c := range []struct {
		text string
		want map[string]float64
	}{
		{"41 0C 00 00", map[string]float64{"engine_rpm": 0}},
		{"41 0C FF FF", map[string]float64{"engine_rpm": 16383.75}},
		{"41 0C 1A F8", map[string]float64{"engine_rpm": 1726}}, // (256·26 + 248)/4
		{"41 0D 00", map[string]float64{"speed_kmh": 0}},
		{"41 0D FF", map[string]float64{"speed_kmh": 255}},
		{"41 42 FF FF", map[string]float64{"bus_V": 65.535}},
		{"41 42 36 10", map[string]float64{"bus_V": 13.84}}, // (256·54 + 16)/1000
		{"41 46 00", map[string]float64{"ambient_C": -40}},
		{"41 46 FF", map[string]float64{"ambient_C": 215}},
		{"41 46 4C", map[string]float64{"ambient_C": 36}},
		{"410d0f", map[string]float64{"speed_kmh": 15}},
		{">41 0C 15 E0 \r", map[string]float64{"engine_rpm": 1400}},
		{"7E8 04 41 0C 15 E0", map[string]float64{"engine_rpm": 1400}},
		{"7E804410C15E0AAAAAA", map[string]float64{"engine_rpm": 1400}},
		{"18 DA F1 10 03 41 46 4C 00 00 00 00", map[string]float64{"ambient_C": 36}},
		{"41 0C 15 E0 0D 0F 46 4C", map[string]float64{"engine_rpm": 1400, "speed_kmh": 15, "ambient_C": 36}},
	} {
		got := map[string]float64{}
		err := readPIDs(c.text, func(name string, v float64) { got[name] = v })
		if d := cmp.Diff(c.want, got); err != nil || d != "" || !isPIDs(c.text) {
			t.Errorf("%s: %v, taken for a response: %v\n%s", c.text, err, isPIDs(c.text), d)
		}
	}
	for _, text := range []string{"", "41", "41 0C", "41 0C 1A", "41 05 7B", "7F 01 12", "01 0C", "7E8 08 41 0C 15 E0", "41 0C 1A F", "NO DATA", "41 0D 0F 0C 1A"} {
		if err := readPIDs(text, func(string, float64) {}); err == nil {
			t.Errorf("%q was taken for a response", text)
		}
	}
}

// A record is read the same from JSON, CSV and responses.
func TestRecords(t *testing.T) {
	want := map[string]float64{"engine_rpm": 1400, "speed_kmh": 15, "ambient_C": 36, "bus_V": 13.84}
	for _, lines := range []string{
		`{"time":"08:00:10","engine_rpm":1400,"speed_kmh":15,"ambient_C":36,"bus_V":13.84,"charger_A":null,"gear":"2"}`,
		`{"time":28810,"obd":["41 0C 15 E0","41 0D 0F"],"ambient_C":"36","obd ":1,"bus_V":13.84}`,
		"time_s,engine_rpm,speed_kmh,ambient_C,bus_V,charger_A\n28810,1400,15,36,13.84,",
		"time;obd;bus_V\n08:00:10;41 0C 15 E0 0D 0F 46 4C;13,84",
	} {
		var r recordReader
		var it *record
		for line := range strings.SplitSeq(lines, "\n") {
			var err error
			if it, err = r.read(line); err != nil {
				t.Fatalf("%s: %v", line, err)
			}
		}
		if d := cmp.Diff(want, it.values); d != "" || it.seconds != 28810 {
			t.Errorf("%s: at %v\n%s", lines, it.seconds, d)
		}
	}
	var r recordReader
	for _, c := range []struct {
		text string
		want float64
	}{{"2026-07-24T08:00:00Z", 1784880000}, {"23:59:50", 86390}, {"00:00:05", 86405}, {"12.5", 12.5}} {
		if got, ok := r.time(c.text); !ok || got != c.want {
			t.Errorf("time %s: got %v, want %v", c.text, got, c.want)
		}
	}
	for _, line := range []string{"NO DATA", "SEARCHING...", "{", `{"engine_rpm":"fast"}`, `{"time":"noon"}`, `{"speed_kmh":[1]}`, "\x00\xff", "1,2,3", `{"obd":"01 0C"}`, "[1]"} {
		if it, err := new(recordReader).read(line); err == nil {
			t.Errorf("%q was read as %+v", line, it)
		}
	}
	it, err := new(recordReader).read(`{"engine_rpm":1e9,"ambient_C":20}`)
	if err != nil || len(it.odd) != 1 || len(it.values) != 1 {
		t.Errorf("got %+v, %v; want one value that is not believed", it, err)
	}
}

// Advice is never above what is allowed, and changes little however what is
// allowed trembles.
func TestSteady(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	d, n := steady{stepW: 20}, 0
	for s := range 7200 {
		allowed := 400 + 40*math.Sin(float64(s)/900) + 30*(random.Float64()-0.5)
		if d.next(float64(s), allowed) {
			n++
		}
		if d.advice > allowed {
			t.Fatalf("at %d s %v W are advised, %v allowed", s, d.advice, allowed)
		}
	}
	t.Logf("%d changes in two hours", n)
	if n > 8 {
		t.Errorf("got %d changes in two hours, want at most 8", n)
	}
	d = steady{stepW: 1}
	for _, c := range []struct {
		s, allowed float64
		changed    bool
		want       float64
	}{
		{0, 400, true, 380},
		{10, 390, false, 380},
		{20, 300, true, 285},
		{30, 500, false, 285},
		{80, 450, false, 285},
		{89, 500, false, 285},
		{90, 500, true, 427}, // the least of the minute
		{91, 0, true, 0},
		{92, 500, false, 0},
		{100, 10, false, 0}, // too little to rise
		{110, 500, false, 0},
		{50, 500, false, 0}, // the clock was set back
		{110, 500, true, 475},
	} {
		if changed := d.next(c.s, c.allowed); changed != c.changed || d.advice != c.want {
			t.Errorf("%v s, %v W allowed: changed %v to %v, want %v to %v", c.s, c.allowed, changed, d.advice, c.changed, c.want)
		}
	}
}

func followed(t *testing.T, log string, args ...string) result {
	t.Helper()
	return runWith(t, context.Background(), strings.NewReader(log), nil, append([]string{"follow"}, args...)...)
}

// Gaps, garbage and clocks that jump are told of; advice goes on.
func TestFollowSurvives(t *testing.T) {
	var log strings.Builder
	record := func(s int) {
		fmt.Fprintf(&log, `{"time":%d,"engine_rpm":1400,"speed_kmh":15,"ambient_C":36}`+"\n", s)
	}
	for s := 0; s < 100; s += 10 {
		record(s)
	}
	log.WriteString("NO DATA\n\n# a remark\n" + strings.Repeat("x", 200_000) + "\n{\"time\":95,\"engine_rpm\":99999}\n")
	record(400)    // a gap
	record(200)    // the clock goes back
	record(210)    //
	record(20_000) // too long
	for range 20 {
		log.WriteString("\x1b[2J garbage\n")
	}
	record(20_010)
	got := followed(t, log.String(), "--jsonl")
	if got.code != exitOK {
		t.Fatalf("%+v", got)
	}
	for _, want := range []string{
		`00:06:40: nothing heard for 5m5s; taken as before it`,
		`00:03:20: the clock went back by 3m20s; taken as no time passed`,
		`05:33:20: nothing heard for 5h29m50s; begun anew`,
		`line 11 left out: neither a JSON object`, `line 14 left out: a line of more than 64 KiB`, `engine_rpm is 99999, allowed is 0 to 8000 rpm`,
		`further lines like it are counted only`, `40 lines, 7m0s followed, 23 not understood, 2 gaps, 1 clocks set back`,
	} {
		if !strings.Contains(got.err, want) {
			t.Errorf("not told: %s\n%s", want, got.err)
		}
	}
	if strings.Contains(got.err+got.out, "\x1b") {
		t.Errorf("an escape went through: %q", got.err)
	}
	looks := 0
	for line := range strings.Lines(got.out) {
		var look struct {
			Advice  float64 `json:"advice_W"`
			Allowed float64 `json:"allowed_W"`
		}
		if err := json.Unmarshal([]byte(line), &look); err != nil || look.Advice > look.Allowed {
			t.Errorf("%v: %s", err, line)
		}
		looks++
	}
	if looks < 13 {
		t.Errorf("got %d looks, want at least 13:\n%s", looks, got.out)
	}
}

// Any lines at all end in exit code 0 and finite advice.
func TestFollowAnything(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	words := []string{"time", "engine_rpm", "speed_kmh", "ambient_C", "bus_V", "charger_A", "obd", ",", ";", "{", "}", `"`, ":", "41 0C 15 E0", "1400", "-1e308", "NaN", "08:00", "2026-07-24T08:00:00Z", "\x00", "[", "]", "null", " "}
	var log strings.Builder
	for range 3000 {
		switch random.IntN(3) {
		case 0:
			fmt.Fprintf(&log, `{"time":%g,"engine_rpm":%g,"speed_kmh":%g,"ambient_C":%g,"bus_V":%g,"charger_A":%g}`, random.Float64()*1e4, random.Float64()*9000-500, random.Float64()*220, random.Float64()*120-50, random.Float64()*45, random.Float64()*520)
		default:
			for range random.IntN(8) {
				log.WriteString(words[random.IntN(len(words))])
			}
		}
		log.WriteByte('\n')
	}
	got := followed(t, log.String(), "--every", "500")
	if got.code != exitOK || regexp.MustCompile(`NaN|Inf|-\d+ W`).MatchString(got.out) {
		t.Errorf("%d\n%.2000s", got.code, got.out)
	}
}

// Too much drawn and a sagging bus are told of once.
func TestFollowWarns(t *testing.T) {
	var log strings.Builder
	for s := 0; s <= 120; s += 10 {
		fmt.Fprintf(&log, `{"time":%d,"engine_rpm":1400,"ambient_C":36,"charger_A":58,"bus_V":12.1}`+"\n", s)
	}
	got := followed(t, log.String())
	for _, want := range []string{`58 A into the charger, \d+ A allowed; turn it down`, `12.1 V at the bus`} {
		if n := len(regexp.MustCompile(want).FindAllString(got.err, -1)); n != 1 {
			t.Errorf("%s is told %d times\n%s", want, n, got.err)
		}
	}
}

// From a socket: one logger after another, until interrupted.
func TestFollowSocket(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	errs, errsIn := io.Pipe()
	out, outIn := io.Pipe()
	code := make(chan int)
	go func() {
		code <- run(ctx, []string{"follow", "--listen", "127.0.0.1:0", "--jsonl"}, streams{in: strings.NewReader(""), out: outIn, err: errsIn, env: func(string) string { return "" }})
		errsIn.Close()
	}()
	notes := bufio.NewScanner(errs)
	address := ""
	for address == "" && notes.Scan() {
		if m := regexp.MustCompile(`listening on (\S+);`).FindStringSubmatch(notes.Text()); m != nil {
			address = m[1]
		}
	}
	go io.Copy(io.Discard, errs)
	lines := bufio.NewScanner(out)
	for i := range 2 {
		c, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "{\"time\":%d,\"obd\":[\"41 0C 15 E0\",\"41 46 4C\"]}\n", 100*i)
		if !lines.Scan() || !strings.Contains(lines.Text(), `"engine_rpm":1400`) {
			t.Fatalf("got %q", lines.Text())
		}
		c.Close()
	}
	go io.Copy(io.Discard, out)
	cancel()
	select {
	case got := <-code:
		if got != exitInterrupted {
			t.Errorf("got exit code %d, want %d", got, exitInterrupted)
		}
	case <-time.After(5 * time.Second):
		t.Error("it did not end")
	}
	for _, address := range []string{"0.0.0.0:0", ":0", "192.0.2.1:80", "nowhere"} {
		if got := followed(t, "", "--listen", address); got.code != exitUsage {
			t.Errorf("--listen %s: got %+v", address, got)
		}
	}
}
