// Package jsontext reads and writes JSON text without reflection: encoding/json would
// add 0.3 MB to the packed module. It knows nothing of this project.
//
// A Reader takes text apart strictly by RFC 8259, one token at a time, in the order
// in which the caller asks; it stops at the first fault and keeps what and where it
// was. Texts are at most MaxBytes long and MaxDepth deep. Members and the Append
// functions write; a number is the shortest text that reads back to the same bits,
// and one that is not finite becomes null.
package jsontext
