//go:build !unix

package runner

import (
	"os"
	"path/filepath"
)

// ownFolder names a folder in the temporary one, which here is the user's own.
func ownFolder() (string, error) { return filepath.Join(os.TempDir(), "spareamps"), nil }
