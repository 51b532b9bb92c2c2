// Package service answers the core's questions over HTTP. It is one plain
// http.Handler: the worker at the edge and the local server both run it.
//
//	POST /v1/ceiling       a request, JSON -> the answer, JSON
//	POST /v1/day           a request with a day, JSON -> the plan, JSON
//	POST /v1/fit           a request with observations, JSON -> what they tell, JSON
//	POST /v1/sweep         many moments of one rig; see below
//	GET  /v1/about         version and tables
//	GET  /v1/schema        JSON Schema of a request
//	GET  /v1/openapi.json  all of this as OpenAPI 3.1
//	GET  /healthz          {"status":"ok",…}
//
// Answers of ceiling, day, fit and about are the core's own bytes.
//
// # Sweep
//
// As application/json:
//
//	{"request":{…},"inputs":["moment.ambient_C"],"outputs":["ceiling.input_A"],"columns":[[20,30,40]]}
//	{"outputs":["ceiling.input_A"],"columns":[[61.2,57.9,54.1]],"status":[0,0,0]}
//
// As application/vnd.spareamps.block, all numbers little-endian: the length of
// the header as a 4-byte unsigned integer; the header, JSON, as
// {"request":{…},"inputs":[…],"outputs":[…],"rows":n}; zero bytes up to a
// multiple of 8 from the start; the input columns one after another, float64.
// The answer is the output columns and then the status column, float64.
// A limit or another name is a number in both forms, its index in the codes of
// the output in /v1/about. What status means, and all else of a block, is in
// wasm/ABI.md.
//
// # Errors
//
// Errors are problem details (RFC 9457), application/problem+json, with two
// members more: code, which is stable, and problems, the core's own list of
// everything that is wrong. Those of status 429, 502, 503 and 504 may go away
// by themselves; all others come again however often one asks.
//
// # Limits
//
// Bodies, points and values of one request are bounded (Options). Points are
// weighed by what they cost (Points), as are the observations of a fit (Steps);
// one of more steps is refused with status 413 and code too_many_steps. Where a clock runs while the core
// computes, time is bounded as well; at the edge it stands still then, and the
// weights bound the time.
//
// # Caching and other origins
//
// What POST answers is not to be stored. What GET answers stays the same for
// as long as the version does: it may be kept for an hour and is then asked
// for by its ETag. Other origins' pages may ask only where Options say so;
// there is nothing to steal, but computing costs. Nothing is logged, no cookie
// is read or set, nothing is secret.
package service
