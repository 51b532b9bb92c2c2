package main

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"

	"spareamps/core"
)

const (
	maxTrackTag   = 1 << 20 // bytes of a tag, text or comment
	maxTrackDepth = 32      // elements in each other; GPX needs six, and its extensions a few
	maxTrackText  = 200     // bytes of a value
)

// readGPX reads the track points (trkpt) of all tracks and segments in turn:
// position, ele, time; a speed in m/s where GPX 1.0 or a track point extension
// of version 2 has one, in the unit of its name where it is called speed_kmh,
// speed_ms or speed_mph; engine_rpm. Whatever else there is, is passed over.
// Namespaces matter for speed only, which some write in another unit.
func (t *trackReader) readGPX(in *trackBytes) error {
	d := xml.NewDecoder(in)
	d.CharsetReader = asciiOf
	g := gpxReader{trackReader: t}
	for {
		in.part = maxTrackTag
		token, err := d.Token()
		if err == io.EOF {
			return g.end()
		}
		if err == nil {
			err = g.take(token)
		}
		if err == nil {
			continue
		}
		line, _ := d.InputPos()
		where := "line " + itoa(line)
		var syntax *xml.SyntaxError
		var ended *trackError
		switch {
		case in.failed != nil:
			return in.failed
		case err == errTooManyTold:
			return err
		case err == errTrackPart:
			return &trackError{where, "has a tag or a text of more than 1 MB, the most that is read"}
		case errors.As(err, &syntax):
			return &trackError{where, "is no XML: " + shortText(syntax.Msg)}
		case errors.As(err, &ended):
			return &trackError{where, ended.message}
		}
		return &trackError{where, "cannot be read: " + shortText(err.Error())}
	}
}

// A gpxReader is in the middle of a GPX file.
type gpxReader struct {
	*trackReader
	depth       int
	pointDepth  int // of the trkpt it is in; 0: in none
	leaf        xml.Name
	text        strings.Builder
	point       core.TrackPoint
	routePoints int
	timeless    int
	firstOne    int // of the timeless
	read        int // points, with the bad ones
	good        bool
}

func (g *gpxReader) take(token xml.Token) error {
	switch x := token.(type) {
	case xml.Directive:
		return &trackError{"", "declares a document type, which GPX has no use for"}
	case xml.StartElement:
		g.depth++
		name := x.Name.Local
		switch {
		case g.depth > maxTrackDepth:
			return &trackError{"", "nests elements deeper than " + itoa(maxTrackDepth)}
		case g.depth == 1 && name != "gpx":
			return &trackError{"", "is XML, but no GPX: its root is called " + shortText(name)}
		case g.pointDepth > 0:
			g.leaf = x.Name
			g.text.Reset()
		case name == "trkpt":
			return g.open(x.Attr)
		case name == "rtept":
			g.routePoints++
		}
	case xml.CharData:
		if g.leaf.Local != "" && g.text.Len() < maxTrackText {
			g.text.Write(x[:min(len(x), maxTrackText)])
		}
	case xml.EndElement:
		g.depth--
		switch {
		case g.pointDepth == 0:
		case g.depth < g.pointDepth:
			g.pointDepth = 0
			g.leaf = xml.Name{}
			return g.close()
		case g.leaf == x.Name:
			g.leaf = xml.Name{}
			return g.value(x.Name, strings.TrimSpace(g.text.String()))
		}
	}
	return nil
}

func (g *gpxReader) where() string { return "track point " + itoa(g.read) }

// open begins a point.
func (g *gpxReader) open(attributes []xml.Attr) error {
	none := math.NaN()
	g.point = core.TrackPoint{S: none, LatDeg: none, LonDeg: none, EleM: none, SpeedKmh: none, EngineRpm: none}
	g.pointDepth, g.good = g.depth, true
	g.read++
	for _, side := range []struct {
		name string
		most float64
		at   *float64
	}{{"lat", 90, &g.point.LatDeg}, {"lon", 180, &g.point.LonDeg}} {
		value := ""
		for _, a := range attributes {
			if a.Name.Local == side.name {
				value = a.Value
			}
		}
		v, ok := decimal(value)
		if !ok || math.Abs(v) > side.most {
			most := itoa(int(side.most))
			if err := g.bad(side.name, value, "-"+most+" to "+most+" degrees"); err != nil {
				return err
			}
		}
		*side.at = v
	}
	return nil
}

func (g *gpxReader) bad(name, value, allowed string) error {
	g.good = false
	return g.tell(g.where(), "points["+itoa(g.read-1)+"]."+name, orEmpty(value), allowed, name+" is")
}

// value takes the text of an element in a point.
func (g *gpxReader) value(name xml.Name, text string) error {
	number := func(at *float64, unit float64) error {
		v, ok := decimal(text)
		if !ok {
			return g.bad(name.Local, text, "a number")
		}
		*at = v * unit
		return nil
	}
	own := g.depth == g.pointDepth
	switch name.Local {
	case "time":
		if !own {
			return nil
		}
		at, ok := instant(text, 0)
		if !ok {
			return g.bad("time", text, "a date with time in UTC, such as 2026-07-24T08:00:00Z")
		}
		g.point.S = g.since(at)
	case "ele":
		if own {
			return number(&g.point.EleM, 1)
		}
	case "speed":
		if strings.HasSuffix(name.Space, "/GPX/1/0") || strings.HasSuffix(name.Space, "/TrackPointExtension/v2") {
			return number(&g.point.SpeedKmh, 3.6)
		}
	case "speed_kmh":
		return number(&g.point.SpeedKmh, 1)
	case "speed_ms":
		return number(&g.point.SpeedKmh, 3.6)
	case "speed_mph":
		return number(&g.point.SpeedKmh, 1.609344)
	case "engine_rpm":
		return number(&g.point.EngineRpm, 1)
	}
	return nil
}

// close ends a point.
func (g *gpxReader) close() error {
	if !g.good {
		return nil
	}
	if math.IsNaN(g.point.S) {
		if g.timeless == 0 {
			g.firstOne = g.read
		}
		g.timeless++
	}
	return g.add(g.point, 0)
}

// end says what is wrong with the whole.
func (g *gpxReader) end() error {
	switch {
	case g.timeless > 0 && g.timeless == g.read:
		g.tell("", "points", "", "", "has no times: a planned way is no recorded track")
	case g.timeless > 0:
		g.tell("track point "+itoa(g.firstOne), "points["+itoa(g.firstOne-1)+"].time", "", "", "has no time; of "+itoa(g.read)+" points "+itoa(g.timeless)+" have none")
	case g.read == 0 && g.routePoints > 0:
		g.tell("", "points", "", "", "has a route of "+itoa(g.routePoints)+" points, but no track: a route has no times")
	case g.read == 0:
		g.tell("", "points", "", "", "has no track points (trkpt)")
	}
	return nil
}

// asciiOf reads text whose first 128 characters are ASCII's; the others do not
// matter to a track.
func asciiOf(charset string, in io.Reader) (io.Reader, error) {
	charset = strings.ToLower(charset)
	b, ok := in.(io.ByteReader)
	if !ok || charset != "us-ascii" && !strings.HasPrefix(charset, "iso-8859-") && !strings.HasPrefix(charset, "windows-125") {
		return nil, &trackError{"", "is written in " + shortText(charset) + ", allowed is UTF-8"}
	}
	return asciiBytes{b}, nil
}

type asciiBytes struct{ in io.ByteReader }

func (a asciiBytes) ReadByte() (byte, error) {
	c, err := a.in.ReadByte()
	if c >= 0x80 {
		c = '?'
	}
	return c, err
}

func (a asciiBytes) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	c, err := a.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = c
	return 1, nil
}
