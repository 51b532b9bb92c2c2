package core

// Answer is what Ceiling gives.
type Answer struct{}
