package main

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spareamps/core"
)

// A cell is the advice that a block of the core gives, to the last bit: the way
// in which the page's curves and sweeps are computed.
func TestCardIsTheCore(t *testing.T) {
	got := runArgs(t, "card", "--json", "-q", "--date", "2026-07-24")
	var c struct {
		EngineRpm []float64   `json:"engine_rpm"`
		AmbientC  []float64   `json:"ambient_C"`
		OutputW   [][]float64 `json:"output_W"`
		OutputA   [][]float64 `json:"output_A"`
	}
	if err := json.Unmarshal([]byte(got.out), &c); err != nil {
		t.Fatalf("%v\n%s", err, got.err)
	}
	demo := core.Demo()
	b, refused := core.NewBlock(demo.JSON(), []byte("moment.engine_rpm\nmoment.ambient_C\n\nadvice.output_W\nadvice.output_A\n"))
	if refused != nil {
		t.Fatalf("%s", refused)
	}
	out := make([]float64, 3)
	cells := 0
	for i, rpm := range c.EngineRpm {
		for j, air := range c.AmbientC {
			b.Run([]float64{rpm, air}, out, 1)
			if out[2] != 0 || out[0] != c.OutputW[i][j] || out[1] != c.OutputA[i][j] {
				t.Errorf("%g rpm, %g °C: got %g W, %g A, want %g W, %g A (status %g)", rpm, air, c.OutputW[i][j], c.OutputA[i][j], out[0], out[1], out[2])
			}
			cells++
		}
	}
	if cells != cardRows*cardColumns {
		t.Errorf("got %d cells, want %d", cells, cardRows*cardColumns)
	}
}

// Every picture is XML, its letters have 9 pt or more, and none stands outside
// the page: line ends are judged by the widths that the lines were broken by.
func TestCardPicture(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := &card{
			name: shortName(rapid.String().Draw(t, "name")), date: "2026-07-24",
			rig: "120 A alternator · pulley ratio 2.6", holdsFor: "standing · altitude 0 m", confidence: 0.95,
			engineRpm: make([]float64, rapid.IntRange(1, cardRows).Draw(t, "rows")),
			ambientC:  make([]float64, rapid.IntRange(1, cardColumns).Draw(t, "columns")),
		}
		for range d.engineRpm {
			var row []cardCell
			for range d.ambientC {
				w := rapid.Float64Range(-1, 2000).Draw(t, "watts")
				row = append(row, cardCell{w, w / 13})
			}
			d.cells = append(d.cells, row)
		}
		decoder := xml.NewDecoder(strings.NewReader(string(d.svg("A6"))))
		for {
			token, err := decoder.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			start, ok := token.(xml.StartElement)
			if !ok || start.Name.Local != "text" {
				continue
			}
			at := map[string]float64{}
			for _, a := range start.Attr {
				at[a.Name.Local], _ = strconv.ParseFloat(a.Value, 64)
			}
			if pt := at["font-size"] / 25.4 * 72; pt < 8.99 {
				t.Errorf("letters of %.2f pt, want 9", pt)
			}
			if at["x"] < 0 || at["x"] > cardWide || at["y"] < 0 || at["y"] > cardHigh {
				t.Errorf("letters at %g, %g mm, outside %g x %g", at["x"], at["y"], cardWide, cardHigh)
			}
		}
	})
}

// A card takes the place of an older one whole, and leaves nothing beside it.
func TestCardIsRenamed(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "card.html")
	if err := os.WriteFile(name, []byte("older"), 0o644); err != nil {
		t.Fatal(err)
	}
	if got := runArgs(t, "card", "-q", "--html", name); got.code != exitOK {
		t.Fatal(got.err)
	}
	text, err := os.ReadFile(name)
	if err != nil || !strings.HasPrefix(string(text), "<!doctype html>") || !strings.HasSuffix(string(text), "</html>\n") {
		t.Errorf("got %.40q, %v", text, err)
	}
	if list, _ := os.ReadDir(dir); len(list) != 1 {
		t.Errorf("got %v, want the card alone", list)
	}
}

// In between the lower neighbour is safe, as the card says: no setting between
// two rows and two columns is below the lowest of the four around it.
func TestCardBetween(t *testing.T) {
	demo := core.Demo()
	small := core.NewRequest()
	if err := small.Lay([]byte(`{"rig":{"alternator":{"rated_current_A":90},"house_battery":{"chemistry":"lifepo4","capacity_Ah":100}},"moment":{"engine_rpm":1000,"ambient_C":20,"speed_kmh":30,"vehicle_loads_W":250}}`), ""); err != nil {
		t.Fatal(err)
	}
	speeds := cardSpeeds(demo.Rig.Engine.IdleRpm)
	for name, q := range map[string]core.Request{"demo": demo, "small": small} {
		b, refused := core.NewBlock(q.JSON(), []byte("moment.engine_rpm\nmoment.ambient_C\n\nadvice.output_W\n"))
		if refused != nil {
			t.Fatalf("%s", refused)
		}
		at := func(rpm, air float64) float64 {
			out := make([]float64, 2)
			b.Run([]float64{rpm, air}, out, 1)
			return out[0]
		}
		const parts = 4
		for i := range len(speeds) - 1 {
			for j := range len(cardAir) - 1 {
				r0, r1, a0, a1 := speeds[i], speeds[i+1], cardAir[j], cardAir[j+1]
				least := min(at(r0, a0), at(r0, a1), at(r1, a0), at(r1, a1))
				for k := range parts + 1 {
					for l := range parts + 1 {
						rpm, air := r0+(r1-r0)*float64(k)/parts, a0+(a1-a0)*float64(l)/parts
						if got := at(rpm, air); got < least {
							t.Errorf("%s at %g rpm, %g °C: got %g W, want at least %g W of its neighbours", name, rpm, air, got, least)
						}
					}
				}
			}
		}
	}
}
