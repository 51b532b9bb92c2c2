package main

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spareamps/host/runner"
)

func (p *program) newExport() *cobra.Command {
	var compressed bool
	c := &cobra.Command{
		Use:   "export DIR",
		Short: "the page as files for any web host",
		Long: `Writes the page, module included, as a static site. It works at the root of a
host or in any folder of it, since it names its files relatively; with https a
phone keeps it for offline use. Beside it needs nothing: no program on the host,
no other host. Headers that serve sends stand in _headers, which many hosts of
static files read at the root; the policy is in site.json and in the page too.

DIR is made, or must be empty or an earlier export.`,
		Example: `spareamps export public
spareamps export public/spareamps --compressed`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) != 1 {
				return &usageError{message: "export needs one folder", hint: "spareamps export public"}
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := p.site()
			if err != nil {
				return err
			}
			return p.export(s, args[0], compressed)
		},
	}
	c.Flags().BoolVar(&compressed, "compressed", false, "write .br and .gz beside each file, for hosts that serve them")
	return c
}

// export copies the site. An earlier export is replaced; what else stands in
// the folder is refused, not mixed with it.
func (p *program) export(s *site, dir string, compressed bool) error {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if _, err := os.Stat(filepath.Join(dir, "site.json")); len(entries) > 0 && err != nil {
		return &runner.HintError{Err: fmt.Errorf("%s holds other things", dir), Hint: "name a new folder"}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	files, err := os.ReadDir(s.dir)
	if err != nil {
		return err
	}
	wanted := map[string]bool{}
	total := 0
	write := func(name string) error {
		text, err := os.ReadFile(filepath.Join(s.dir, name))
		if err != nil {
			return err
		}
		total += len(text)
		return writeFile(filepath.Join(dir, name), text)
	}
	last := []string{"index.html", "sw.js", "site.json"} // a half-written export still is the old page
	for _, f := range files {
		name := f.Name()
		if ending := filepath.Ext(name); (ending == ".br" || ending == ".gz") && !compressed {
			continue
		}
		wanted[name] = true
		if name == last[0] || name == last[1] || name == last[2] {
			continue
		}
		if err := write(name); err != nil {
			return err
		}
	}
	wanted["_headers"] = true
	if err := writeFile(filepath.Join(dir, "_headers"), s.headersFile(wanted)); err != nil {
		return err
	}
	for _, name := range last {
		if err := write(name); err != nil {
			return err
		}
	}
	for _, e := range entries {
		// Files of the earlier export only: their names are ours.
		base := strings.TrimSuffix(strings.TrimSuffix(e.Name(), ".br"), ".gz")
		if !wanted[e.Name()] && (withHash.MatchString(base) || wanted[base]) {
			os.Remove(filepath.Join(dir, e.Name()))
		}
	}
	p.note("page %s, %d files, %.1f MB", s.Version, len(wanted), float64(total)/1e6)
	fmt.Fprintln(&p.data, dir)
	return nil
}

// headersFile says to hosts that read such a file what serve sends with files of
// these names. A header that two rules set would be sent with both values, so
// each is set by one.
func (s *site) headersFile(names map[string]bool) []byte {
	text := "/*\n"
	for _, h := range s.headers() {
		text += "  " + h[0] + ": " + h[1] + "\n"
	}
	text += "/\n  Cache-Control: " + caching("") + "\n"
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if _, ours := types[filepath.Ext(name)]; ours {
			text += "/" + name + "\n  Cache-Control: " + caching(name) + "\n"
		}
	}
	return []byte(text)
}
