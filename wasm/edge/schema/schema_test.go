package schema

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"spareamps/core"
)

// compiled is a schema under a standard validator, which also checks it
// against the schema of schemas.
func compiled(t *testing.T, s Object) *jsonschema.Schema {
	t.Helper()
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("it.json", document); err != nil {
		t.Fatal(err)
	}
	compiled, err := c.Compile("it.json")
	if err != nil {
		t.Fatal(err)
	}
	return compiled
}

func validate(t *testing.T, s *jsonschema.Schema, text []byte) error {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	return s.Validate(v)
}

func TestDemoFitsItsSchema(t *testing.T) {
	for _, demo := range []core.Request{core.Demo(), core.DemoFit()} {
		if err := validate(t, compiled(t, Request(Any)), demo.JSON()); err != nil {
			t.Error(err)
		}
	}
}

// Every field of the table has a place in the schema, and values of a kind it
// does not take are refused there as the core refuses them.
func TestEveryFieldIsInTheSchema(t *testing.T) {
	s := compiled(t, Request(Any))
	for _, f := range core.Fields() {
		names := strings.Split(f.Path, ".")
		text := `{"nonsense":1}`
		for i := len(names) - 1; i >= 0; i-- {
			name, list := strings.CutSuffix(names[i], "[]")
			if i == len(names)-1 {
				text = `{"` + name + `":{}}` // no field takes an object
				continue
			}
			if list {
				text = "[" + text + "]"
			}
			text = `{"` + name + `":` + text + `}`
		}
		err := validate(t, s, []byte(text))
		if err == nil {
			t.Errorf("%s: an object was accepted: %s", f.Path, text)
			continue
		}
		if !strings.Contains(err.Error(), "got object") && !strings.Contains(err.Error(), "value must be") {
			t.Errorf("%s: got %v, want the value refused", f.Path, err)
		}
		if _, err := core.DecodeDay([]byte(text)); err == nil {
			t.Errorf("%s: the core accepts %s", f.Path, text)
		}
	}
}

func TestAnswersFitTheirSchemas(t *testing.T) {
	answers, err := Answers()
	if err != nil {
		t.Fatal(err)
	}
	demo, fitted := core.Demo(), core.DemoFit()
	texts := map[string][]byte{"ceiling": core.CeilingJSON(demo.JSON()), "day": core.DayJSON(demo.JSON()), "fit": core.FitJSON(fitted.JSON())}
	if len(answers) != len(texts) {
		t.Errorf("got %d schemas, want %d", len(answers), len(texts))
	}
	for _, m := range answers {
		text := texts[m.Key]
		if err := validate(t, compiled(t, m.Value.(Object)), text); err != nil {
			t.Errorf("%s: %v\n%.300s", m.Key, err, text)
		}
	}
}
