package main

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spareamps/core"
)

// A card has at most so many rows and columns, for it has to be readable on
// one small page.
const (
	cardRows    = 7
	cardColumns = 6
	cardRemarks = 1
	cardName    = 26 // characters
)

// A card is what stands on the printed page: the advice, which is the lower of
// now and of after ten minutes' idling, by engine speed and air.
type card struct {
	name, date    string
	engineRpm     []float64
	ambientC      []float64
	cells         [][]cardCell // by engine speed, then air
	rig, holdsFor string
	confidence    float64
	remarks       []string
	outside       []string // codes of remarks that put an answer outside validity
}

type cardCell struct{ outputW, outputA float64 }

// watts and amps of a cell round down: what they say is a limit. Zero watts
// are no setting but a charger that is off.
func (c cardCell) watts() string {
	if c.outputW <= 0 {
		return cardOff
	}
	return fixed(floor(c.outputW+1e-9), 0) + " W"
}

func (c cardCell) amps() string {
	switch {
	case c.outputW <= 0:
		return ""
	case c.outputA >= 10:
		return fixed(floor(c.outputA+1e-9), 0) + " A"
	}
	return fixed(floor(c.outputA*10+1e-9)/10, 1) + " A"
}

// cardFlags are the flags of the command that are no inputs.
type cardFlags struct {
	rpm, ambient        string
	name, date, paper   string
	html, svg           string
	strict              bool
	engineRpm, ambientC []float64
}

func (p *program) newCard() *cobra.Command {
	request := requestFlags{part: "moment", sections: core.ForCeiling}
	var backend backendFlags
	var f cardFlags
	c := &cobra.Command{
		Use:   "card",
		Short: "a page to print: settings by engine speed and air",
		Long: `Makes a card for the dashboard: the setting for the charger by engine speed
(rows) and air outside (columns), for the times when no screen is at hand. Each
cell is the lower of what may be drawn now and of what stands ten minutes of
idling at a stop, in the charger's own step.

--html and --svg write a page to print, A5 or A6; else the table is printed as
text. What is read once and does not last is not taken from a file: inlet_C,
house_battery_C, minutes_since_start and setting_W.`,
		Example: `spareamps card
spareamps card --html card.html
spareamps card --svg card.svg --paper A6 --speed-kmh 25
spareamps card --rig rig.json --engine-rpm 850,1200,1600 --ambient-C 20,30,40
spareamps card --rig rig.json --date 2026-07-24 --json`,
		Args: noArguments,
		RunE: func(*cobra.Command, []string) error { return p.card(&request, &backend, &f) },
	}
	request.after = func(q *core.Request, bad *badInput) error { return f.axes(q, bad) }
	request.add(c, "moment.speed_kmh", "moment.altitude_m", "moment.vehicle_loads_W", "moment.idle_loads_W",
		"moment.house_loads_W", "moment.house_soc", "confidence", "rig")
	c.Flags().StringVar(&f.rpm, "engine-rpm", "", "rows: engine speeds, a `LIST` of at most 7 separated by commas")
	c.Flags().StringVar(&f.ambient, "ambient-C", "", "columns: air outside, a `LIST` of at most 6 separated by commas")
	c.Flags().StringVar(&f.name, "name", "", "`WORDS` at the head of the card, such as the vehicle's name")
	c.Flags().StringVar(&f.date, "date", "", "`DATE` on the card, yyyy-mm-dd; else today's")
	c.Flags().StringVar(&f.paper, "paper", "A5", "`SIZE` of the page: A5 or A6")
	c.Flags().StringVar(&f.html, "html", "", "a page to print to `FILE`, in HTML that needs nothing else; - is standard output")
	c.Flags().StringVar(&f.svg, "svg", "", "the same page to `FILE` as SVG")
	c.Flags().BoolVar(&request.json, "json", false, "the card as one JSON object")
	c.Flags().BoolVar(&f.strict, "strict", false, "exit code 4 when a cell stands outside validity")
	c.MarkFlagsMutuallyExclusive("json", "html")
	c.MarkFlagsMutuallyExclusive("json", "svg")
	_ = c.RegisterFlagCompletionFunc("paper", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{"A5", "A6"}, cobra.ShellCompDirectiveNoFileComp
	})
	backend.add(c, "native", "native", "wasm")
	return c
}

// card makes a card and prints it.
func (p *program) card(request *requestFlags, b *backendFlags, f *cardFlags) error {
	f.paper = strings.ToUpper(f.paper)
	if cardPapers[f.paper] == nil {
		return &usageError{"--paper is " + f.paper + ", allowed is A5 or A6", ""}
	}
	if f.html == "-" && f.svg == "-" {
		return &usageError{"standard output cannot be both --html and --svg", "name a file for one of them"}
	}
	if f.date == "" {
		f.date = time.Now().Format(time.DateOnly)
	} else if _, err := time.Parse(time.DateOnly, f.date); err != nil {
		return &usageError{"--date is " + f.date + ", allowed is a day such as 2026-07-24", ""}
	}
	q, err := p.request(request)
	if err != nil {
		return err
	}
	e, err := p.engine(b.backend, b.module)
	if err != nil {
		return err
	}
	defer e.close()
	d, err := p.cardOf(&q, e, request, f)
	if err != nil {
		return err
	}
	switch {
	case request.json:
		text, err := json.Marshal(d.object())
		if err != nil {
			return err
		}
		if err := p.answerJSON(text, e); err != nil {
			return err
		}
	case f.html == "" && f.svg == "":
		g := p.newPage()
		g.card(d)
	}
	if f.html != "" {
		if err := p.cardFile(f.html, d.html(f.paper)); err != nil {
			return err
		}
	}
	if f.svg != "" {
		if err := p.cardFile(f.svg, d.svg(f.paper)); err != nil {
			return err
		}
	}
	if f.strict && len(d.outside) > 0 {
		return &strictError{d.outside}
	}
	return nil
}

// cardFile writes a page to print.
func (p *program) cardFile(name string, text []byte) error {
	if name == "-" {
		_, err := p.data.Write(text)
		return err
	}
	if err := writeFile(name, text); err != nil {
		return hinted(err, "the card is written beside its name first and then renamed: its directory has to be writable")
	}
	p.note("card in %s", name)
	return nil
}

// axes reads rows and columns, and lays the first of each on the request, which
// has to have them.
func (f *cardFlags) axes(q *core.Request, bad *badInput) error {
	idle := q.Rig.Engine.IdleRpm
	f.engineRpm = cardAxis(q, bad, "engine_rpm", f.rpm, cardSpeeds(idle), cardRows)
	f.ambientC = cardAxis(q, bad, "ambient_C", f.ambient, cardAir, cardColumns)
	return nil
}

var cardAir = []float64{0, 10, 20, 30, 35, 40}

// cardSpeeds are idling and round speeds above it.
func cardSpeeds(idleRpm float64) []float64 {
	speeds := []float64{idleRpm}
	for _, rpm := range []float64{1000, 1200, 1500, 2000, 2500, 3000} {
		if rpm >= idleRpm+100 {
			speeds = append(speeds, rpm)
		}
	}
	return speeds
}

// cardAxis reads the values of an axis, in ascending order.
func cardAxis(q *core.Request, bad *badInput, name, list string, otherwise []float64, most int) []float64 {
	path, flag := "moment."+name, flagName("moment."+name)
	bad.flags[path] = flag
	var values []float64
	texts := strings.Split(list, ",")
	if list == "" {
		texts = texts[:0]
		for _, v := range otherwise {
			texts = append(texts, number(v))
		}
	}
	for _, text := range texts {
		text = strings.TrimSpace(text)
		if problems := problemsOf(q.Set(path, text)); len(problems) > 0 {
			bad.problems = append(bad.problems, problems...)
			continue
		}
		v, _ := strconv.ParseFloat(text, 64)
		values = append(values, v)
	}
	slices.Sort(values)
	values = slices.Compact(values)
	if len(values) > most {
		bad.problems = append(bad.problems, core.Problem{Code: "range", Field: path, Value: list, Allowed: "1 to " + itoa(most) + " values",
			Message: path + " has " + itoa(len(values)) + " values, allowed is 1 to " + itoa(most)})
	}
	return values
}

// cardOf asks an engine for every cell.
func (p *program) cardOf(q *core.Request, e engine, request *requestFlags, f *cardFlags) (*card, error) {
	var whole, moment map[string]json.RawMessage
	if err := json.Unmarshal(q.JSON(), &whole); err != nil {
		return nil, err
	}
	if err := json.Unmarshal(whole["moment"], &moment); err != nil {
		return nil, err
	}
	for _, name := range cardLeaves {
		delete(moment, name)
	}
	d := &card{name: shortName(f.name), date: f.date, engineRpm: f.engineRpm, ambientC: f.ambientC}
	d.cells = make([][]cardCell, len(d.engineRpm))
	seen := map[string]bool{}
	// From the hottest and fastest, for its remarks are the gravest.
	for i := len(d.engineRpm) - 1; i >= 0; i-- {
		d.cells[i] = make([]cardCell, len(d.ambientC))
		for j := len(d.ambientC) - 1; j >= 0; j-- {
			moment["engine_rpm"] = json.RawMessage(number(d.engineRpm[i]))
			moment["ambient_C"] = json.RawMessage(number(d.ambientC[j]))
			whole["moment"], _ = json.Marshal(moment)
			text, err := json.Marshal(whole)
			if err != nil {
				return nil, err
			}
			_, a, err := p.asked(e.ceiling, text, request, "advice.output_W")
			if err != nil {
				return nil, err
			}
			d.cells[i][j] = cardCell{a.number("advice.output_W"), a.number("advice.output_A")}
			d.confidence = a.number("ceiling.confidence")
			for _, v := range a.rows("validity") {
				if code := v.text("code"); !seen[code] {
					seen[code] = true
					d.remarks = append(d.remarks, sentence(v.text("message")))
				}
			}
			for _, code := range outside(a) {
				if !slices.Contains(d.outside, code) {
					d.outside = append(d.outside, code)
				}
			}
		}
	}
	text, err := json.Marshal(whole)
	if err != nil {
		return nil, err
	}
	asked, err := readAnswer(text)
	if err != nil {
		return nil, err
	}
	d.rig, d.holdsFor = cardRig(asked), cardFor(asked, usualOf)
	if n := len(d.remarks); n > cardRemarks {
		d.remarks = append(d.remarks[:cardRemarks:cardRemarks], cardMore(n-cardRemarks))
	}
	return d, nil
}

// shortName is a name as one line that fits the card.
func shortName(name string) string {
	letters := []rune(plainText(strings.Join(strings.Fields(name), " ")))
	if len(letters) > cardName {
		return string(letters[:cardName-1]) + "…"
	}
	return string(letters)
}

// cardLeaves are readings of one moment, which a card for any day does not hold
// for.
var cardLeaves = []string{"inlet_C", "house_battery_C", "minutes_since_start", "setting_W"}

// usualOf is what is taken for an input that is not given.
func usualOf(path string) float64 {
	for _, f := range core.Fields() {
		if f.Path == path {
			return f.Default
		}
	}
	return 0
}

// object is the card for programs; what is off has 0 W.
func (d *card) object() object {
	column := func(of func(cardCell) float64) (rows [][]float64) {
		for _, cells := range d.cells {
			var row []float64
			for _, c := range cells {
				row = append(row, of(c))
			}
			rows = append(rows, row)
		}
		return rows
	}
	return object{
		{"name", d.name}, {"date", d.date}, {"engine_rpm", d.engineRpm}, {"ambient_C", d.ambientC},
		{"output_W", column(func(c cardCell) float64 { return c.outputW })},
		{"output_A", column(func(c cardCell) float64 { return c.outputA })},
		{"confidence", d.confidence}, {"rig", d.rig}, {"for", d.holdsFor},
		{"remarks", append([]string{}, d.remarks...)}, {"cautions", cardCautions},
	}
}
