// Package client sends blocks of points to services at the edge.
//
// A block is a pure question: asked twice, by two services, it gives the same
// bits. So whatever goes wrong on the way (a service that is killed, a
// connection that breaks off, an answer cut short) it is asked again, elsewhere
// if there are several services, and what comes back is taken whole or not at
// all: no row is lost, and none is counted twice.
//
// A service that refuses a block for what is in it is not asked again; one that
// refuses its length gets it in parts. All services must be of one version.
package client
