// Package web is the page for the phone: TypeScript in src, built by build.mjs,
// which `spareamps serve` and `spareamps export` run. Go has only the test that
// runs the page's own tests in a browser.
package web
