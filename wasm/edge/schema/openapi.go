package schema

import (
	"encoding/json"
	"strconv"

	"spareamps/core"
)

// The media types of the service.
const (
	JSONType    = "application/json"
	ProblemType = "application/problem+json"        // errors, by RFC 9457
	BlockType   = "application/vnd.spareamps.block" // columns of numbers
	SchemaType  = "application/schema+json"
	OpenAPIType = "application/vnd.oai.openapi+json;version=3.1"
)

// Limits are those of the service, which its description tells.
type Limits struct {
	MaxBody                         int64
	MaxPoints, MaxSteps             int
	OtherRigWeight, ConfidentWeight int
}

// OpenAPI describes the service as OpenAPI 3.1, whose schemas are JSON Schema
// as they stand.
func OpenAPI(l Limits) ([]byte, error) {
	const schemas = "#/components/schemas/"
	request, sections := RequestParts(Any, schemas)
	answers, err := Answers()
	if err != nil {
		return nil, err
	}
	components := Object{{"request", request}}
	components = append(components, sections...)
	for _, a := range answers {
		a.Key += "_answer"
		components = append(components, a)
	}
	components = append(components, sweepSchemas(schemas)...)
	components = append(components, Member{"problem", problemSchema()})

	// refer gives what has a schema and is JSON.
	refer := func(name string) Object { return content(JSONType, Object{{"$ref", schemas + name}}) }
	post := func(summary, body, answer string) Object {
		return Object{{"post", operation(summary,
			Member{"requestBody", append(Object{{"required", true}}, refer(body)...)},
			Member{"responses", responses(append(Object{{"description", "the answer"}}, refer(answer)...))})}}
	}
	get := func(summary, kind string) Object {
		return Object{{"get", operation(summary, Member{"responses", responses(append(Object{{"description", "the text"}},
			content(kind, Object{{"type", "object"}})...))})}}
	}
	sweep := post("many moments of one rig", "sweep", "sweep_answer")
	addBlock(sweep)
	return json.Marshal(Object{
		{"openapi", "3.1.0"},
		{"jsonSchemaDialect", Dialect},
		{"info", Object{
			{"title", "spareamps"},
			{"version", core.Version},
			{"summary", "how hard a house battery may be charged from the vehicle's alternator"},
			{"description", "Nothing is stored, nothing is logged. A sweep's body has at most " + strconv.FormatInt(l.MaxBody, 10) +
				" bytes, any other 1 MiB. A sweep has at most " + strconv.Itoa(l.MaxPoints) + " points: a row counts as one where all its outputs begin with nominal. and its inputs not with rig., as " +
				strconv.Itoa(l.OtherRigWeight) + " where inputs change the rig, and as " + strconv.Itoa(l.ConfidentWeight) + " where it is asked with confidence. A fit has at most " + strconv.Itoa(l.MaxSteps) +
				" steps: a row of observations counts 3, or 10 if it begins warm or cold, and 1 for every 5 of its minutes, with the engine on up to 180 of them. Errors with status 429, 502, 503 and 504 may be asked again, after Retry-After if it is given."},
		}},
		{"paths", Object{
			{"/v1/ceiling", post("the ceiling at a moment", "request", "ceiling_answer")},
			{"/v1/day", post("a day's plan", "request", "day_answer")},
			{"/v1/fit", post("what a rig's observations tell of it", "request", "fit_answer")},
			{"/v1/sweep", sweep},
			{"/v1/about", get("version and tables of inputs and outputs", JSONType)},
			{"/v1/schema", get("JSON Schema of a request", SchemaType)},
			{"/v1/openapi.json", get("this description", OpenAPIType)},
			{"/healthz", get("whether the core answers", JSONType)},
		}},
		{"components", Object{{"schemas", components}}},
	})
}

func operation(summary string, members ...Member) Object {
	return append(Object{{"summary", summary}}, members...)
}

func content(kind string, s Object) Object {
	return Object{{"content", Object{{kind, Object{{"schema", s}}}}}}
}

// responses are the good one and errors.
func responses(good Object) Object {
	return Object{
		{"200", good},
		{"default", append(Object{{"description", "an error"}}, content(ProblemType, Object{{"$ref", "#/components/schemas/problem"}})...)},
	}
}

// addBlock adds the binary form to a path's body and answer.
func addBlock(path Object) {
	binary := Member{BlockType, Object{}}
	for _, m := range path[0].Value.(Object) {
		switch m.Key {
		case "requestBody":
			kinds := m.Value.(Object)[1].Value.(Object)
			m.Value.(Object)[1].Value = append(kinds, binary)
		case "responses":
			good := m.Value.(Object)[0].Value.(Object)
			kinds := good[1].Value.(Object)
			good[1].Value = append(kinds, binary)
		}
	}
}

func sweepSchemas(refs string) Object {
	paths := Object{{"type", "array"}, {"items", Object{{"type", "string"}}}}
	columns := Object{{"type", "array"}, {"items", Object{{"type", "array"}, {"items", Object{{"type", "number"}}}}}}
	return Object{
		{"sweep", Object{
			{"type", "object"},
			{"description", "columns replace values of the request, row by row"},
			{"properties", Object{{"request", Object{{"$ref", refs + "request"}}}, {"inputs", paths}, {"outputs", paths}, {"columns", columns}}},
			{"required", []string{"request", "inputs", "outputs", "columns"}},
			{"additionalProperties", false},
		}},
		{"sweep_answer", Object{
			{"type", "object"},
			{"description", "columns of numbers; a limit or another name is its index in the codes of the output in /v1/about"},
			{"properties", Object{{"outputs", paths}, {"columns", columns}, {"status", Object{
				{"description", "0: good; 1 + c: the value of column c is out of range; 1 + columns: the values do not go together"},
				{"type", "array"}, {"items", Object{{"type", "integer"}, {"minimum", 0}}}}}}},
			{"required", []string{"outputs", "columns", "status"}},
		}},
	}
}

func problemSchema() Object {
	text := Object{{"type", "string"}}
	return Object{
		{"type", "object"},
		{"description", "problem details (RFC 9457)"},
		{"properties", Object{
			{"type", text}, {"title", text}, {"status", Object{{"type", "integer"}}}, {"detail", text},
			{"code", Object{{"type", "string"}, {"description", "stable"}}},
			{"problems", Object{{"type", "array"}, {"items", Object{
				{"type", "object"},
				{"properties", Object{{"code", text}, {"field", text}, {"value", text}, {"allowed", text}, {"message", text}}},
			}}}},
		}},
		{"required", []string{"type", "title", "status", "code"}},
	}
}
