package core

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spareamps/core/conductor"
	"spareamps/core/limit"
)

// rooms are the packages of the core, from the leaves up, and what each may import
// of them: this table is their documentation. A package imports what stands above
// it, never what stands below.
var rooms = []struct {
	name string
	may  []string
}{
	{"detmath", nil},
	{"jsontext", nil},
	{"limit", nil},
	{"air", []string{"detmath"}},
	{"calendar", []string{"detmath"}},
	{"rig", nil},
	{"sun", []string{"air", "calendar", "detmath", "rig"}},
	{"drivetrain", nil},
	{"conductor", []string{"detmath", "rig"}},
	{"", []string{"air", "calendar", "conductor", "detmath", "drivetrain", "jsontext", "limit", "rig", "sun"}},
}

// allowedImports are what any of them may import of the standard library. Others add
// weight to the module, or a clock.
var allowedImports = map[string]bool{
	"math": true, "math/bits": true, "strconv": true, "strings": true, "unicode/utf8": true, "sort": true, "slices": true, "errors": true, "cmp": true,
}

// What it may use of package math: exact on every engine. The rest of the
// package is assembly on some architectures and differs in the last bits.
var exactMath = map[string]bool{
	"Sqrt": true, "Abs": true, "Trunc": true, "Floor": true, "IsNaN": true, "IsInf": true, "NaN": true, "Inf": true,
	"Float64bits": true, "Float64frombits": true, "Float32bits": true, "Float32frombits": true,
	"MaxFloat64": true, "Pi": true, "Ln2": true, "Log2E": true, "Sqrt2": true, "Sqrt3": true,
}

// roomFiles parses a room without its tests.
func roomFiles(t *testing.T, room string) (*token.FileSet, []*ast.File) {
	t.Helper()
	fset := token.NewFileSet()
	entries, err := os.ReadDir(filepath.Join(".", room))
	if err != nil {
		t.Fatal(err)
	}
	var files []*ast.File
	for _, e := range entries {
		if name := e.Name(); strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go") {
			f, err := parser.ParseFile(fset, filepath.Join(room, name), nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, f)
		}
	}
	if len(files) == 0 {
		t.Fatalf("no files in %q", room)
	}
	return fset, files
}

func TestImports(t *testing.T) {
	known := map[string]bool{}
	for _, room := range rooms {
		fset, files := roomFiles(t, room.name)
		may := map[string]bool{}
		for _, name := range room.may {
			if !known[name] {
				t.Errorf("%s may import %s, which does not stand above it", room.name, name)
			}
			may["spareamps/core/"+name] = true
		}
		known[room.name] = true
		for _, f := range files {
			for _, i := range f.Imports {
				if path := strings.Trim(i.Path.Value, `"`); !allowedImports[path] && !may[path] {
					t.Errorf("%s: imports %s", fset.Position(i.Pos()), path)
				}
				if i.Name != nil {
					t.Errorf("%s: import under another name", fset.Position(i.Pos()))
				}
			}
			ast.Inspect(f, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok {
					if x, ok := s.X.(*ast.Ident); ok && x.Name == "math" && !exactMath[s.Sel.Name] {
						t.Errorf("%s: math.%s differs between engines", fset.Position(s.Pos()), s.Sel.Name)
					}
				}
				return true
			})
		}
	}
	err := filepath.WalkDir(".", func(path string, d os.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			if room := strings.TrimPrefix(filepath.ToSlash(filepath.Dir(path)), "."); !known[room] && !strings.HasPrefix(room, "internal") {
				t.Errorf("%s lies in no room of the table", path)
			}
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

// No package variable is assigned, no goroutine started, nothing runs before
// the first call.
func TestNoState(t *testing.T) {
	for _, room := range rooms {
		noState(t, room.name)
	}
}

func noState(t *testing.T, room string) {
	fset, files := roomFiles(t, room)
	info := types.Info{Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
	conf := types.Config{
		Importer: noImporter{}, // names of this package are resolved all the same
		Error:    func(error) {},
	}
	pkg, _ := conf.Check("core", fset, files, &info)
	state := func(e ast.Expr) *types.Var {
		for {
			switch x := e.(type) {
			case *ast.Ident:
				if v, ok := info.Uses[x].(*types.Var); ok && v.Parent() == pkg.Scope() {
					return v
				}
				return nil
			case *ast.IndexExpr:
				e = x.X
			case *ast.SelectorExpr:
				if other, ok := x.X.(*ast.Ident); ok && info.Uses[other] != nil {
					if name, ok := info.Uses[other].(*types.PkgName); ok { // another package's variable
						return types.NewVar(x.Pos(), name.Imported(), name.Name()+"."+x.Sel.Name, types.Typ[types.Invalid])
					}
				}
				e = x.X
			case *ast.StarExpr:
				e = x.X
			case *ast.ParenExpr:
				e = x.X
			case *ast.SliceExpr:
				e = x.X
			default:
				return nil
			}
		}
	}
	if len(pkg.Scope().Names()) == 0 {
		t.Fatalf("the names of %q are not resolved", room)
	}
	for _, f := range files {
		ast.Inspect(f, func(n ast.Node) bool {
			at := func() token.Position { return fset.Position(n.Pos()) }
			switch n := n.(type) {
			case *ast.GoStmt:
				t.Errorf("%s: starts a goroutine", at())
			case *ast.SendStmt, *ast.SelectStmt, *ast.ChanType:
				t.Errorf("%s: channels", at())
			case *ast.FuncDecl:
				if n.Name.Name == "init" && n.Recv == nil {
					t.Errorf("%s: init", at())
				}
			case *ast.AssignStmt:
				for _, l := range n.Lhs {
					if v := state(l); v != nil && n.Tok != token.DEFINE {
						t.Errorf("%s: assigns package variable %s", at(), v.Name())
					}
				}
			case *ast.IncDecStmt:
				if v := state(n.X); v != nil {
					t.Errorf("%s: changes package variable %s", at(), v.Name())
				}
			case *ast.RangeStmt:
				for _, l := range []ast.Expr{n.Key, n.Value} {
					if l != nil && n.Tok == token.ASSIGN && state(l) != nil {
						t.Errorf("%s: assigns package variable in a range", at())
					}
				}
			}
			return true
		})
	}
}

// noImporter stands for every import as an empty package.
type noImporter struct{}

func (noImporter) Import(path string) (*types.Package, error) {
	return types.NewPackage(path, path[strings.LastIndexByte(path, '/')+1:]), nil
}

// Nothing is changed through a pointer either: the tables of numbers are after
// many answers what they were before, and the first answer comes again.
func TestTablesStayAsTheyAre(t *testing.T) {
	tables := func() string {
		return fmt.Sprint(fluxCurve, inductanceCurve, conductor.Class5, conductor.Ampacities, insulationClasses, lattice, normalQuantile,
			Unknowns, limit.Table, lfpAcceptance, floodedAcceptance, agmAcceptance, idleSteps, cautions, noLead, euTest)
	}
	before, demo := tables(), Demo()
	first := string(CeilingJSON(demo.JSON()))
	p := seededPicker{rand.New(rand.NewSource(81))}
	for range 40 {
		q := drawRequest(p, 0.2)
		CeilingJSON(q.JSON())
	}
	if tables() != before {
		t.Error("a table was changed by answering")
	}
	if again := string(CeilingJSON(demo.JSON())); again != first {
		t.Error("the demo's answer is another after other answers")
	}
}
