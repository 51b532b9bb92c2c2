package main

import (
	"bytes"
	"fmt"
	"html/template"
	"regexp"
)

// cardPapers are the width and height of pages in mm, by name. One is the other
// enlarged, so that one layout fits both.
var cardPapers = map[string][]float64{"A5": {148, 210}, "A6": {105, 148}}

// html is the card as a page that needs no other file and runs no script. All
// lengths follow the size of the letters: 9 pt on A6, 12.7 pt on A5.
func (d *card) html(paper string) []byte {
	type cell struct{ Watts, Amps string }
	type row struct {
		Rpm   string
		Cells []cell
	}
	view := struct {
		Title, Name, Date, Rig, For, Caption, Corner, Reading, Sure string
		Size, Page                                                  template.CSS
		Air                                                         []string
		Rows                                                        []row
		Remarks                                                     []string
		Cautions                                                    []string
	}{Title: cardTitle, Name: d.name, Date: d.date, Rig: together(d.rig), For: together(d.holdsFor), Caption: cardCaption, Corner: cardCorner,
		Reading: cardReading, Sure: cardSure(d.confidence), Remarks: d.remarks, Cautions: cardCautions[:],
		Size: template.CSS(fmt.Sprintf("%.2fpt", 9*cardPapers[paper][0]/cardPapers["A6"][0])),
		Page: template.CSS(fmt.Sprintf("%gmm %gmm", cardPapers[paper][0], cardPapers[paper][1]))}
	for _, t := range d.ambientC {
		view.Air = append(view.Air, number(t))
	}
	for i, cells := range d.cells {
		r := row{Rpm: number(d.engineRpm[i])}
		for _, c := range cells {
			r.Cells = append(r.Cells, cell{c.watts(), c.amps()})
		}
		view.Rows = append(view.Rows, r)
	}
	var text bytes.Buffer
	if err := cardPage.Execute(&text, view); err != nil {
		panic("host: " + err.Error()) // of our own template
	}
	return text.Bytes()
}

// together keeps a number and its unit on one line.
func together(s string) string { return numberUnit.ReplaceAllString(s, "$1\u00a0$2") }

var numberUnit = regexp.MustCompile(`(\d) (W|A|Ah|m|mm²|km/h|%|°C)`)

var cardPage = template.Must(template.New("card").Parse(`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width">
<title>{{.Title}}{{with .Name}} · {{.}}{{end}} · {{.Date}}</title>
<style>
@page { size: {{.Page}}; margin: 0; }
* { box-sizing: border-box; }
body { margin: 0; background: #fff; color: #000; }
.sheet { font: 500 {{.Size}}/1.12 "Liberation Sans", Arial, Helvetica, sans-serif; font-variant-numeric: tabular-nums; width: 33em; padding: 1.2em 1.1em 0; overflow-wrap: anywhere; }
.sheet > * { margin: 0 0 .35em; }
.head { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 .8em; align-items: baseline; border-bottom: .2em solid; padding-bottom: .2em; }
.head h1 { font-size: 1.3em; line-height: 1.1; margin: 0; }
.head p { margin: 0; flex: 1 0 100%; font-weight: 700; }
.head time { font-weight: 700; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
th, td { border: .08em solid; padding: .05em 0; text-align: center; line-height: 1.06; overflow-wrap: normal; white-space: nowrap; }
thead th { font-weight: 700; border-bottom-width: .2em; padding: .15em 0; }
th:first-child { width: 4.6em; font-weight: 700; border-right-width: .2em; }
td b { display: block; }
td.off { font-weight: 700; height: 2.25em; }
.cautions { list-style: none; padding: 0; }
.cautions li { display: inline; }
.cautions li::before { content: "▲\00a0"; }
@media screen { .sheet { margin: 1em auto; border: 1px solid #000; padding-bottom: 1em; } }
</style>
</head>
<body>
<main class="sheet">
<header class="head"><h1>{{.Title}}</h1><time>{{.Date}}</time>{{with .Name}}<p>{{.}}</p>{{end}}</header>
<p class="rig">{{.Rig}}</p>
<p class="for"><b>For:</b> {{.For}}</p>
<table>
<thead><tr><th scope="col">{{.Corner}}</th>{{range .Air}}<th scope="col">{{.}}</th>{{end}}</tr></thead>
<tbody>
{{- range .Rows}}
<tr><th scope="row">{{.Rpm}}</th>{{range .Cells}}{{if .Amps}}<td><b>{{.Watts}}</b> {{.Amps}}</td>{{else}}<td class="off">{{.Watts}}</td>{{end}}{{end}}</tr>
{{- end}}
</tbody>
</table>
<p class="caption">{{.Caption}} {{.Reading}}</p>
<p class="sure">{{.Sure}}{{range .Remarks}} {{.}}{{end}}</p>
<ul class="cautions">
{{- range .Cautions}}
<li>{{.}} </li>
{{- end}}
</ul>
</main>
</body>
</html>
`))
