package runner

import (
	"slices"
	"testing"
)

func TestWritable(t *testing.T) {
	for line, want := range map[string]mapping{
		"7f2826a1c000-7f2827a1c000 rw-p 00000000 00:00 0 \n":               {0x7f2826a1c000, 0x7f2827a1c000},
		"c000000000-c004000000 rw-p 00000000 00:00 0":                      {0xc000000000, 0xc004000000},
		"7f2826a1c000-7f2827a1c000 r-xp 00000000 00:00 0 \n":               {},
		"7f2826a1c000-7f2827a1c000 rw-s 00000000 00:00 0 \n":               {},
		"00400000-00e00000 rw-p 00000000 08:01 1234      /usr/bin/program": {},
		"7ffd1000-7ffd2000 rw-p 00000000 00:00 0         [stack]":          {},
		"x-y rw-p 00000000 00:00 0":                                        {},
		"":                                                                 {},
	} {
		if got := writable(line); got != want {
			t.Errorf("%q: got %x, want %x", line, got, want)
		}
	}
}

func TestAdded(t *testing.T) {
	before := []mapping{{10, 20}, {30, 40}, {60, 70}}
	for name, c := range map[string]struct{ now, want []mapping }{
		"nothing":           {before, nil},
		"apart":             {[]mapping{{10, 20}, {22, 28}, {30, 40}, {60, 70}}, []mapping{{22, 28}}},
		"joined above":      {[]mapping{{10, 25}, {30, 40}}, []mapping{{20, 25}}},
		"joined below":      {[]mapping{{5, 20}, {30, 40}}, []mapping{{5, 10}}},
		"joined on both":    {[]mapping{{10, 40}}, []mapping{{20, 30}}},
		"over several":      {[]mapping{{0, 80}}, []mapping{{0, 10}, {20, 30}, {40, 60}, {70, 80}}},
		"a part given back": {[]mapping{{12, 15}, {35, 40}}, nil},
	} {
		if got := added(c.now, before); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", name, got, c.want)
		}
	}
}

// A folder without machine code is not watched for; one that is, no longer than
// until the watch is ended.
func TestRoomyCodeEnds(t *testing.T) {
	roomyCode(t.TempDir())()
	dir := t.TempDir()
	if err := replace(dir+"/code", make([]byte, 3*hugePage)); err != nil {
		t.Fatal(err)
	}
	stop := roomyCode(dir)
	stop()
	stop()
}
