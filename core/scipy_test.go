package core

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// scipyFit asks for the residuals of parameters line by line, "ask" and the
// numbers, and has its own idea of Huber's loss, of the prior and of how to get
// down; at last it writes "end", the parameters and their spreads.
const scipyFit = `
import sys
import numpy as np
from scipy.optimize import least_squares
n, m = int(sys.argv[1]), int(sys.argv[2])
def residuals(x):
    print("ask", *map(repr, x.tolist()), flush=True)
    r = np.array(sys.stdin.readline().split(), dtype=float)
    assert r.shape == (m,), r.shape
    return np.concatenate([r, x])
def loss(z):
    rho = np.vstack([z, np.ones_like(z), np.zeros_like(z)])
    far = np.flatnonzero(z[:m] > 4)
    rho[:, far] = 4*z[far]**0.5 - 4, 2*z[far]**-0.5, -z[far]**-1.5
    return rho
s = least_squares(residuals, np.zeros(n), jac="3-point", loss=loss, xtol=1e-10, ftol=1e-12, gtol=1e-8, max_nfev=400)
tells = np.abs(s.fun[:m]) <= 2
j = s.jac[:m]
# SciPy scales the rows of jac by the loss, which leaves those within 2 as they are.
spread = np.sqrt(np.diag(np.linalg.inv(np.eye(n) + j[tells].T @ j[tells])))
print("end", *map(repr, [s.cost] + s.x.tolist() + spread.tolist()), flush=True)
`

// python finds one that has SciPy.
func python(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(name, "-c", "import scipy.optimize").Run() == nil {
			return name
		}
	}
	const text = "install python3-scipy"
	if strings.Contains(os.Getenv("SPAREAMPS_REQUIRE"), "scipy") {
		t.Fatal(text)
	}
	t.Skip(text)
	return ""
}

// numbers reads them.
func numbers(t *testing.T, words []string) (list []float64) {
	t.Helper()
	for _, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, v)
	}
	return list
}

// The likeliest parameters and their spreads are those of another implementation
// of least squares, which has from us the residuals alone.
// Against: scipy.optimize.least_squares.
func TestFitSciPy(t *testing.T) {
	name := python(t)
	outlying, _ := observed(fieldDay(), 22)
	outlying.Rig.Observations[0].CoreC += 40
	sound, _ := observed(fieldDay(), 23)
	for what, q := range map[string]Request{"the demo": DemoFit(), "a drawn vehicle": sound, "a core 40 K out": outlying} {
		f := aFitter(&q)
		var l Learning
		best, cov := f.learn(&l)
		cost := f.cost(&best, f.out)

		cmd := exec.Command(name, "-c", scipyFit, strconv.Itoa(parameters), strconv.Itoa(len(f.values)))
		cmd.Stderr = os.Stderr
		in, err := cmd.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		var end []float64
		asked := 0
		for lines := bufio.NewScanner(out); lines.Scan(); {
			words := strings.Fields(lines.Text())
			given := numbers(t, words[1:])
			if words[0] == "end" {
				end = given
				break
			}
			asked++
			p := [parameters]float64(given)
			f.expect(&p, f.moved)
			for i := range f.values {
				fmt.Fprintf(in, "%v ", (f.values[i].Value-f.moved[i])/f.values[i].Deviation)
			}
			_, _ = io.WriteString(in, "\n")
		}
		in.Close()
		if err := cmd.Wait(); err != nil || len(end) != 1+2*parameters {
			t.Fatalf("%s: %v, %d numbers", what, err, len(end))
		}
		t.Logf("%s: cost %.6f, SciPy %.6f after %d residuals", what, cost, end[0], asked)
		if cost > end[0]+1e-5 {
			t.Errorf("%s: cost %v, SciPy %v", what, cost, end[0])
		}
		for j := range best {
			parameter, _, _ := parameterOf(j)
			if d := best[j] - end[1+j]; math.Abs(d) > 0.01 {
				t.Errorf("%s: %s %.4f, SciPy %.4f", what, parameter, best[j], end[1+j])
			}
			if spread, want := math.Sqrt(cov[j][j]), end[1+parameters+j]; math.Abs(spread/want-1) > 0.01 {
				t.Errorf("%s: spread of %s %.4f, SciPy %.4f", what, parameter, spread, want)
			}
		}
	}
}
