package jsontext

// Members writes an object member by member to Dst.
type Members struct {
	Dst   []byte
	First bool // of what comes next
}

// comma writes what stands between members.
func (m *Members) comma() {
	if !m.First {
		m.Dst = append(m.Dst, ',')
	}
	m.First = false
}

// Open begins an object within a list.
func (m *Members) Open() {
	m.comma()
	m.Dst = append(m.Dst, '{')
	m.First = true
}

// Raw writes a member whose value is JSON already, or the begin of it.
func (m *Members) Raw(key, value string) {
	m.comma()
	m.Dst = append(AppendString(m.Dst, key), ':')
	m.Dst = append(m.Dst, value...)
}

// Text writes a member that is a text.
func (m *Members) Text(key, value string) {
	m.Raw(key, "")
	m.Dst = AppendString(m.Dst, value)
}

// Number writes a member that is a number; null where it is not finite.
func (m *Members) Number(key string, v float64) {
	m.Raw(key, "")
	m.Dst = AppendNumber(m.Dst, v)
}

// Texts writes a member that is a list of texts.
func (m *Members) Texts(key string, values []string) {
	m.Raw(key, "[")
	for i, s := range values {
		if i > 0 {
			m.Dst = append(m.Dst, ',')
		}
		m.Dst = AppendString(m.Dst, s)
	}
	m.Dst = append(m.Dst, ']')
}
