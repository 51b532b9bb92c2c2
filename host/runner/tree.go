package runner

// SourceTree is the root of the source tree around the working directory or
// the program; ErrNoSource where there is none.
func SourceTree() (string, error) { return sourceTree(starts()...) }
