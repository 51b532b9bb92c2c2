package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"
	"time"
)

// A sweepShard says which part of a sweep a file holds. It is the first line
// of a shard in text, and in the metadata of one in Parquet; merge takes it
// out again.
type sweepShard struct {
	Shard  int64  `json:"shard"`
	Of     int64  `json:"of"`
	Sweep  string `json:"sweep"` // the same for all shards of one sweep
	Rows   int64  `json:"rows"`
	Format string `json:"format"`
}

const shardKey = "spareamps_shard"

// line is the first line of a shard in text.
func (s *sweepShard) line() []byte {
	text, _ := json.Marshal(object{{shardKey, s}})
	if s.Format == "csv" {
		text = append([]byte("# "), text...)
	}
	return append(text, '\n')
}

// A sweepSink is where the rows go: a stream, or a file that gets its name
// when it is whole. Until then its rows are in NAME.part, and NAME.part.state
// says which of them are sure.
type sweepSink struct {
	name    string
	stream  io.Writer // nil: a file
	data    *os.File
	state   *os.File
	writer  rowWriter
	head    []byte
	key     string
	groups  int64 // written
	bytes   int64
	metas   [][]byte
	kept    int // of metas, in state
	summary *sweepSummary
	begun   time.Time
	last    time.Time
	rows    int64
	sure    int64      // rows that state tells of
	pending chan error // of a save under way
	told    *sinkState // what it tells
	length  int64      // of the lines of state, in bytes
}

// A sinkState is a line of state. The first tells what sweep it is.
type sinkState struct {
	Sweep   string        `json:"sweep,omitempty"`
	Groups  int64         `json:"groups"`
	Rows    int64         `json:"rows"`
	Bytes   int64         `json:"bytes"`
	Metas   [][]byte      `json:"metas,omitempty"` // since the line before
	Summary *sweepSummary `json:"summary,omitempty"`
}

func (s *sweepSink) part() string { return s.name + ".part" }

// open makes the sink ready, going on where a run before ended if resume.
func (s *sweepSink) open(resume bool) error {
	s.begun = time.Now()
	s.last = s.begun
	if s.stream != nil {
		return s.put(s.head)
	}
	if resume {
		found, err := s.reopen()
		if found || err != nil {
			return err
		}
	}
	var err error
	if s.data, err = os.OpenFile(s.part(), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644); errors.Is(err, os.ErrExist) {
		return hinted(fmt.Errorf("%s is there from a run that did not end, or still runs", s.part()), "--resume goes on with it; else remove it")
	} else if err != nil {
		return fmt.Errorf("write the output: %w", err)
	}
	if err := lockFile(s.data); err != nil {
		return s.busy()
	}
	// One that is there is of a run that is just ending, which will remove it.
	_ = os.Remove(s.part() + ".state")
	if s.state, err = os.OpenFile(s.part()+".state", os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644); err != nil {
		return fmt.Errorf("write the output: %w", err)
	}
	if err := s.put(s.head); err != nil {
		return err
	}
	return s.record(s.first())
}

func (s *sweepSink) busy() error {
	return hinted(fmt.Errorf("%s is being written by another run", s.part()), "wait for it, or choose another -o")
}

// reopen goes on with a part. found is false where there is none.
func (s *sweepSink) reopen() (found bool, err error) {
	if s.data, err = os.OpenFile(s.part(), os.O_RDWR, 0); errors.Is(err, os.ErrNotExist) {
		return false, nil
	} else if err != nil {
		return false, fmt.Errorf("resume: %w", err)
	}
	if err := lockFile(s.data); err != nil {
		return true, s.busy()
	}
	if !isAt(s.data, s.part()) { // the run that wrote it has just given it its name
		return false, s.data.Close()
	}
	if s.state, err = os.OpenFile(s.part()+".state", os.O_RDWR|os.O_CREATE, 0o644); err != nil {
		return true, fmt.Errorf("resume: %w", err)
	}
	text, err := io.ReadAll(s.state)
	if err != nil {
		return true, fmt.Errorf("resume: %w", err)
	}
	first, good := true, int64(0)
	for len(text) > 0 {
		end := bytes.IndexByte(text, '\n')
		var l sinkState
		if end < 0 || json.Unmarshal(text[:end], &l) != nil {
			break // the run ended while it wrote this line
		}
		if first && l.Sweep != s.key {
			return true, hinted(fmt.Errorf("%s is of another sweep, format, backend or version", s.part()), "repeat the command that began it, or remove the file")
		}
		first = false
		s.groups, s.rows, s.bytes = l.Groups, l.Rows, l.Bytes
		s.metas = append(s.metas, l.Metas...)
		if l.Summary != nil {
			s.summary = l.Summary
		}
		text, good = text[end+1:], good+int64(end)+1
	}
	info, err := s.data.Stat()
	if err != nil {
		return true, fmt.Errorf("resume: %w", err)
	}
	if first { // it ended before it had said anything
		_, e := s.state.Seek(0, io.SeekStart)
		if err := errors.Join(s.data.Truncate(0), s.state.Truncate(0), e); err != nil {
			return true, fmt.Errorf("resume: %w", err)
		}
		s.bytes = 0
		if err := s.put(s.head); err != nil {
			return true, err
		}
		return true, s.record(s.first())
	}
	if info.Size() < s.bytes {
		return true, hinted(fmt.Errorf("%s has lost rows that its state tells of", s.part()), "remove it and begin anew")
	}
	s.kept, s.sure, s.length = len(s.metas), s.rows, good
	_, e1 := s.data.Seek(s.bytes, io.SeekStart)
	_, e2 := s.state.Seek(good, io.SeekStart)
	if err := errors.Join(s.data.Truncate(s.bytes), s.state.Truncate(good), e1, e2); err != nil {
		return true, fmt.Errorf("resume: %w", err)
	}
	return true, nil
}

// isAt says whether an open file still goes by a name.
func isAt(f *os.File, name string) bool {
	mine, e1 := f.Stat()
	there, e2 := os.Stat(name)
	return e1 == nil && e2 == nil && os.SameFile(mine, there)
}

// put writes bytes.
func (s *sweepSink) put(b []byte) error {
	to, where := s.stream, "standard output"
	if to == nil {
		to, where = s.data, s.part()
	} else if s.name != "" {
		where = s.name
	}
	n, err := to.Write(b)
	if err == nil {
		s.bytes += int64(n)
		return nil
	}
	var path *os.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	if errors.Is(err, syscall.EPIPE) || errors.Is(err, io.ErrClosedPipe) {
		return fmt.Errorf("what reads %s has closed it before the end", where)
	}
	return fmt.Errorf("write %s: %w", where, err)
}

// failed keeps what can be kept of a file that cannot be written on, and says
// so: the groups that were written whole. What there was of the next one makes
// room for the state.
func (s *sweepSink) failed(err error) error {
	if s.stream != nil {
		return err
	}
	if s.pending != nil {
		_ = s.saved(<-s.pending)
	}
	if s.rows > s.sure && s.data.Truncate(s.bytes) == nil {
		_ = s.save()
	}
	if s.sure == 0 {
		return err
	}
	return hinted(err, fmt.Sprintf("%s points are kept: make room and repeat the command with --resume", grouped(s.sure)))
}

// write writes rows, which come in their order.
func (s *sweepSink) write(g *sweepRows) error {
	at := s.bytes
	if err := s.put(g.bytes); err != nil {
		return err
	}
	if g.meta != nil {
		s.metas = append(s.metas, s.writer.place(g.meta, at, int(g.index)))
	}
	s.groups++
	s.rows += int64(g.n)
	s.summary.merge(g.summary)
	if now := time.Now(); s.stream == nil && now.Sub(s.last) >= min(max(now.Sub(s.begun)/20, 200*time.Millisecond), 30*time.Second) {
		s.last = now
		return s.saveBeside()
	}
	return nil
}

// saveBeside is save while rows go on being written: a disk takes its time.
func (s *sweepSink) saveBeside() error {
	if s.pending != nil {
		select {
		case err := <-s.pending:
			if err := s.saved(err); err != nil {
				return err
			}
		default:
			return nil // the next group asks again
		}
	}
	text, err := json.Marshal(s.now())
	if err != nil {
		return err
	}
	s.pending = make(chan error, 1)
	go func(done chan<- error) { done <- s.sync(text) }(s.pending)
	return nil
}

// now is the state to tell of.
func (s *sweepSink) now() *sinkState {
	s.told = &sinkState{Groups: s.groups, Rows: s.rows, Bytes: s.bytes, Metas: s.metas[s.kept:], Summary: s.summary}
	return s.told
}

// saved takes note of a save that has ended.
func (s *sweepSink) saved(err error) error {
	s.pending = nil
	if err != nil {
		return err
	}
	s.kept += len(s.told.Metas)
	s.sure = s.told.Rows
	return nil
}

// sync makes rows sure, then the state that tells of them.
func (s *sweepSink) sync(state []byte) error {
	if err := s.data.Sync(); err != nil {
		return fmt.Errorf("write %s: %w", s.part(), err)
	}
	return s.record(state)
}

// save makes all that is written sure.
func (s *sweepSink) save() error {
	if s.stream != nil {
		return nil
	}
	if s.pending != nil {
		if err := s.saved(<-s.pending); err != nil {
			return err
		}
	}
	text, err := json.Marshal(s.now())
	if err == nil {
		err = s.sync(text)
	}
	return s.saved(err)
}

func (s *sweepSink) record(state []byte) error {
	n, err := s.state.Write(append(state, '\n'))
	if err != nil {
		// Half a line would spoil the next.
		_, e := s.state.Seek(s.length, io.SeekStart)
		return fmt.Errorf("write %s.state: %w", s.part(), errors.Join(err, s.state.Truncate(s.length), e))
	}
	s.length += int64(n)
	return nil
}

// first is the first line of state.
func (s *sweepSink) first() []byte {
	text, _ := json.Marshal(sinkState{Sweep: s.key, Bytes: s.bytes})
	return text
}

// finish writes the end and gives the file its name.
func (s *sweepSink) finish() error {
	if s.stream == nil {
		if err := s.save(); err != nil { // so that the end can be written again
			return err
		}
	}
	if err := s.put(s.writer.end(s.metas)); err != nil || s.stream != nil {
		return err
	}
	err := s.data.Sync()
	if err == nil {
		err = os.Rename(s.part(), s.name)
	}
	own := isAt(s.state, s.part()+".state")
	s.close()
	if err != nil {
		return fmt.Errorf("write the output: %w", err)
	}
	if own { // not that of a run that began in between
		_ = os.Remove(s.part() + ".state")
	}
	return nil
}

func (s *sweepSink) close() {
	if s.pending != nil {
		_ = s.saved(<-s.pending)
	}
	if s.data != nil {
		_ = s.data.Close()
	}
	if s.state != nil {
		_ = s.state.Close()
	}
}
