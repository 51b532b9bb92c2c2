package core

import "slices"

// The outputs that end every answer: how far it holds, what it says to a person,
// and cautions.
var remarkOutputs = [...]Output{
	{Path: "validity[].code", Meaning: "stable code", text: func(a *Answer, i int) string { return a.Validity[i].Code }},
	{Path: "validity[].field", Meaning: "input it is about", text: func(a *Answer, i int) string { return a.Validity[i].Field }},
	{Path: "validity[].message", Meaning: "for a person", text: func(a *Answer, i int) string { return a.Validity[i].Message }},
	{Path: "says[].code", Meaning: "stable code", text: func(a *Answer, i int) string { return a.Says[i].Code }},
	{Path: "says[].text", Meaning: "for a person", text: func(a *Answer, i int) string { return a.Says[i].Text }},
	{Path: "cautions[]", Meaning: "for a person", text: func(a *Answer, i int) string { return a.Cautions[i] }},
}

var remarkLists = [...]outputList{
	{"validity[]", func(a *Answer) int { return len(a.Validity) }},
	{"says[]", func(a *Answer) int { return len(a.Says) }},
	{"cautions[]", func(a *Answer) int { return len(a.Cautions) }},
}

// newOutputTable makes a table of lists and outputs of its own, and the remarks.
func newOutputTable(lists []outputList, outputs []Output) outputTable {
	return outputTable{lists: slices.Concat(lists, remarkLists[:]), outputs: slices.Concat(outputs, remarkOutputs[:])}
}
