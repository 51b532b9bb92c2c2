package module

// reader takes a module's bytes apart. Numbers are LEB128: seven bits a byte,
// lowest first, the eighth says that more follow.
type reader struct{ rest []byte }

func (r *reader) byte() (byte, error) {
	if len(r.rest) == 0 {
		return 0, errShort
	}
	b := r.rest[0]
	r.rest = r.rest[1:]
	return b, nil
}

func (r *reader) unsigned() (v uint64, err error) {
	for shift := 0; shift < 64; shift += 7 {
		b, err := r.byte()
		if err != nil {
			return 0, err
		}
		v |= uint64(b&0x7f) << shift
		if b < 0x80 {
			return v, nil
		}
	}
	return 0, errShort
}

func (r *reader) signed() (v int64, err error) {
	for shift := 0; shift < 64; shift += 7 {
		b, err := r.byte()
		if err != nil {
			return 0, err
		}
		v |= int64(b&0x7f) << shift
		if b < 0x80 {
			if b&0x40 != 0 && shift+7 < 64 {
				v |= -1 << (shift + 7)
			}
			return v, nil
		}
	}
	return 0, errShort
}

// sized reads a length and so many bytes.
func (r *reader) sized() ([]byte, error) {
	n, err := r.unsigned()
	if err != nil || n > uint64(len(r.rest)) {
		return nil, errShort
	}
	data := r.rest[:n]
	r.rest = r.rest[n:]
	return data, nil
}

func appendUnsigned(dst []byte, v uint64) []byte {
	for v >= 0x80 {
		dst = append(dst, byte(v)|0x80)
		v >>= 7
	}
	return append(dst, byte(v))
}

func appendSigned(dst []byte, v int64) []byte {
	for {
		b := byte(v & 0x7f)
		v >>= 7
		if v == 0 && b&0x40 == 0 || v == -1 && b&0x40 != 0 {
			return append(dst, b)
		}
		dst = append(dst, b|0x80)
	}
}
