package runner

import "testing"

func TestWritable(t *testing.T) {
	for line, want := range map[string][2]uint64{
		"7f2826a1c000-7f2827a1c000 rw-p 00000000 00:00 0 \n":               {0x7f2826a1c000, 0x7f2827a1c000},
		"c000000000-c004000000 rw-p 00000000 00:00 0":                      {0xc000000000, 0xc004000000},
		"7f2826a1c000-7f2827a1c000 r-xp 00000000 00:00 0 \n":               {},
		"7f2826a1c000-7f2827a1c000 rw-s 00000000 00:00 0 \n":               {},
		"00400000-00e00000 rw-p 00000000 08:01 1234      /usr/bin/program": {},
		"7ffd1000-7ffd2000 rw-p 00000000 00:00 0         [stack]":          {},
		"x-y rw-p 00000000 00:00 0":                                        {},
		"":                                                                 {},
	} {
		if from, to := writable(line); [2]uint64{from, to} != want {
			t.Errorf("%q: got %x to %x, want %x", line, from, to, want)
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
	roomyCode(dir)()
}
