package module

import "encoding/binary"

// image is what memory begins with, from address 0.
type image []byte

// maxImage bounds the memory taken for an image; ours are below 4 MiB.
const maxImage = 64 << 20

func flatten(segments []segment) (image, error) {
	var end int64
	for _, s := range segments {
		end = max(end, s.at+int64(len(s.data)))
	}
	if end > maxImage {
		return nil, errFar
	}
	m := make(image, end)
	for _, s := range segments {
		copy(m[s.at:], s.data)
	}
	return m, nil
}

// cut returns the image in segments. Longer runs of zero bytes than gap are
// left out.
func (m image) cut() []segment {
	var segments []segment
	from, zeros := -1, 0 // where the segment begins, how many zero bytes end it
	for at, b := range m {
		switch {
		case b != 0 && from < 0:
			from, zeros = at, 0
		case b != 0:
			zeros = 0
		case from >= 0:
			if zeros++; zeros > gap {
				segments = append(segments, segment{int64(from), m[from : at+1-zeros]})
				from = -1
			}
		}
	}
	if from >= 0 {
		segments = append(segments, segment{int64(from), m[from : len(m)-zeros]})
	}
	return segments
}

// holds tells whether [at, at+n) lies within the image.
func (m image) holds(at, n uint64) bool {
	return at <= uint64(len(m)) && n <= uint64(len(m))-at
}

// word is the eight bytes at an address.
func (m image) word(at uint64) uint64 { return binary.LittleEndian.Uint64(m[at:]) }
