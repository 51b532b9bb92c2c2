package service

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"sync"

	"spareamps/wasm/edge/schema"
)

// document answers with a text that stays the same; it is made when it is
// first asked for.
func document(kind string, text func() ([]byte, error)) func(*Service, *http.Request) (reply, *problem) {
	made := sync.OnceValues(func() (reply, error) {
		body, err := text()
		hash := sha256.Sum256(body)
		return reply{kind: kind, body: body, etag: `"` + hex.EncodeToString(hash[:12]) + `"`}, err
	})
	return func(*Service, *http.Request) (reply, *problem) {
		r, err := made()
		if err != nil {
			return reply{}, &problem{Status: http.StatusInternalServerError, Code: "internal"}
		}
		return r, nil
	}
}

func schemaText() ([]byte, error) { return json.Marshal(schema.Request(schema.Any)) }

func (s *Service) openAPI() ([]byte, error) {
	return schema.OpenAPI(schema.Limits{
		MaxBody: s.MaxBody, MaxPoints: s.MaxPoints, MaxSteps: s.MaxSteps,
		OtherRigWeight: otherRigWeight, ConfidentWeight: confidentWeight,
	})
}
