package main

import (
	"strings"
	"testing"
)

// Whether values go together is asked of every row, whichever comes first; of
// none of them it is an error.
func TestSweepConflicts(t *testing.T) {
	for _, values := range []string{"10,14.4", "14.4,10"} {
		got := runArgs(t, "sweep", "-q", "--axis", "house-battery-charge-V="+values, "--out", "nominal.input_A")
		if got.code != exitOK || !strings.Contains(got.out, "\n10,,conflict\n") || !strings.Contains(got.out, "\n14.4,54.8,ok\n") {
			t.Errorf("%s: exit code %d\n%s%s", values, got.code, got.out, got.err)
		}
	}
	got := runArgs(t, "sweep", "-q", "--axis", "house-battery-charge-V=9,10", "--out", "nominal.input_A")
	if got.code != exitBadInput || !strings.Contains(got.err, "below the nominal voltage") {
		t.Errorf("none goes together: exit code %d\n%s%s", got.code, got.out, got.err)
	}
	long := runArgs(t, "sweep", "--axis", strings.Repeat("ambient", 1000)+"=3")
	rigs := runArgs(t, "sweep", "--rig", "a\nb", "--rig", "c")
	if len(long.err) > 400 || rigs.code != exitUsage {
		t.Errorf("a long name: %d bytes of errors; a name with a line break: exit code %d", len(long.err), rigs.code)
	}
}

// What makes no sense is told, and nothing is written.
func TestSweepErrors(t *testing.T) {
	for _, c := range []struct {
		args, want string
		code       int
	}{
		{`sweep --axis ambient-C=20:30:-5`, `the step does not lead`, exitBadInput},
		{`sweep --axis ambient-C=20:30`, `a range is from:to:step`, exitBadInput},
		{`sweep --axis ambient-C=-10:30*2`, `above 0`, exitBadInput},
		{`sweep --axis cable-length-m=1:16*0.5`, `the factor does not lead`, exitBadInput},
		{`sweep --axis ambient-C=20:30/1`, `whole number from 2`, exitBadInput},
		{`sweep --axis ambient-C=0:1:1e-9`, `more than 10000000 values`, exitBadInput},
		{`sweep --axis ambient-C`, `allowed is NAME=VALUES`, exitBadInput},
		{`sweep --axis alternator-class-V=13`, `allowed is one of 12, 24`, exitBadInput},
		{`sweep --axis solar-peak-W=3`, `cannot be swept`, exitBadInput},
		{`sweep --axis alternator-points-speed-rpm=3`, `cannot be swept`, exitBadInput},
		{`sweep --axis ambient-C=20 --out limits[].input_A`, `list or a free text`, exitBadInput},
		{`sweep --axis ambient-C=20 --out costliest_unknown.measure`, `list or a free text`, exitBadInput},
		{`sweep --axis ambient-C=20 --axis moment.ambient_C=30`, `moment.ambient_C is swept twice`, exitUsage},
		{`sweep --axis ambient-C=20,30 --axis house-soc=0.1,0.2,0.3 --zip ambient-C,house-soc`, `2 and 3 values`, exitUsage},
		{`sweep --axis ambient-C=20 --zip ambient-C,house-soc`, `which is no --axis`, exitUsage},
		{`sweep --axis ambient-C=20 --zip ambient-C`, `two or more axes`, exitUsage},
		{`sweep --axis ambient-C=20 --samples 3`, `go together`, exitUsage},
		{`sweep --spread ambient-C=~2`, `go together`, exitUsage},
		{`sweep --spread ambient-C --samples 3`, `neither NAME=SPREAD nor the name of an unknown`, exitBadInput},
		{`sweep --spread air_flim --samples 3`, `did you mean air_film?`, exitBadInput},
		{`sweep --axis unknown.slot_contacts=1`, `did you mean unknown.slot_contact?`, exitBadInput},
		{`sweep --axis air_film=1,2`, `unknown.air_film has the values 2: allowed is 0.54 to 1.83`, exitBadInput},
		{`sweep --axis vehicle_loads=1`, `did you mean moment.vehicle_loads_W?`, exitBadInput},
		{`sweep --spread unknown.bus_voltage=*0.1 --samples 3`, `has no logarithm`, exitBadInput},
		{`sweep --spread unknowns --spread air_film --samples 3`, `unknown.air_film is swept twice`, exitUsage},
		{`sweep --spread inlet-C=~3 --samples 3`, `has nothing to lie about`, exitUsage},
		{`sweep --spread ambient-C=40..30 --samples 3`, `the upper end is 30`, exitBadInput},
		{`sweep --spread ambient-C=30~2 --samples 9223372036854775807`, `more points than can be counted`, exitUsage},
		{`sweep --axis house-soc=0.1,0.2 --spread ambient-C=30~2 --samples 1000000000000000`, `more points than can be counted`, exitUsage},
		{`sweep --sampling dice`, `allowed is even or random`, exitUsage},
		{`sweep --format xml`, `allowed is csv, jsonl or parquet`, exitUsage},
		{`sweep --resume`, `needs a file`, exitUsage},
		{`sweep --shard 4/4 -o x.csv`, `from 0 to N-1`, exitUsage},
		{`sweep --plot picture.pdf`, `named .svg or .png`, exitUsage},
		{`sweep --axis ambient-C=20:30:1 --plot p.svg --out ceiling.limit`, `output that is a number`, exitUsage},
		{`sweep --axis alternator-insulation-class=all --plot p.svg --out nominal.output_W`, `one axis of numbers`, exitUsage},
		{`sweep --axis ambient-C=20:30:1 --spread alternator-fouling=0.1~0.01 --samples 3 --plot p.svg --out nominal.output_W`, `axes, not samples`, exitUsage},
		{`sweep --backend edge`, `needs --edge URL`, exitUsage},
		{`sweep --edge localhost:80`, `allowed is a URL`, exitUsage},
		{`sweep --edge http://localhost:1 --backend wasm`, `of no use`, exitUsage},
		{`sweep --jobs -1`, `allowed is 0 to 1024`, exitUsage},
		{`sweep --tolerance -1`, `below 0`, exitUsage},
		{`sweep --cases - --rig -`, `one file only`, exitUsage},
		{`sweep --out nominal.input_A,nominal.input_A`, `twice`, exitUsage},
		{`sweep words`, `takes no arguments`, exitUsage},
	} {
		got := runArgs(t, strings.Fields(c.args)...)
		if got.code != c.code || !strings.Contains(got.err, "error: ") || !strings.Contains(got.err, c.want) || got.out != "" {
			t.Errorf("spareamps %s: got exit code %d, want %d and %q\n%s", c.args, got.code, c.code, c.want, got.err)
		}
	}
}
