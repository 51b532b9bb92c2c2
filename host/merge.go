package main

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"
	"github.com/spf13/cobra"
)

func (p *program) newMerge() *cobra.Command {
	return &cobra.Command{
		Use:   "merge FILE...",
		Short: "puts the shards of a sweep together",
		Long: `Puts the parts that ` + "`spareamps sweep --shard`" + ` wrote together, in whatever order
they are named, to what one run over all would have written, byte for byte. All
parts must be there, once each, whole, and of one sweep.`,
		Example: `spareamps sweep --axis ambient-C=0:50/200 --out nominal.output_W --shard 0/2 \
    -o part0.csv
spareamps sweep --axis ambient-C=0:50/200 --out nominal.output_W --shard 1/2 \
    -o part1.csv
spareamps merge part0.csv part1.csv -o whole.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return &usageError{"merge needs the files to put together", "see `spareamps merge --help`"}
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return p.merge(args) },
	}
}

// A shardFile is a part as merge found it.
type shardFile struct {
	sweepShard
	name string
	body int64                // first byte of its rows
	end  int64                // first byte behind them, of a Parquet file
	meta *format.FileMetaData // of a Parquet file
}

func (p *program) merge(names []string) error {
	file := p.outFile
	if file == "-" {
		file = ""
	}
	p.outFile = ""
	var shards []shardFile
	for _, name := range names {
		s, err := readShard(name)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		shards = append(shards, s)
	}
	slices.SortFunc(shards, func(a, b shardFile) int { return int(a.Shard - b.Shard) })
	if err := complete(shards); err != nil {
		return err
	}
	quietSignals()
	if file == "" {
		_, err := p.mergeInto(p.out, shards)
		return err
	}
	if info, err := os.Stat(file); err == nil && !info.Mode().IsRegular() {
		f, err := os.OpenFile(file, os.O_WRONLY, 0)
		if err != nil {
			return fmt.Errorf("write the output: %w", err)
		}
		defer f.Close()
		_, err = p.mergeInto(f, shards)
		return err
	}
	f, err := os.OpenFile(file+".part", os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return hinted(fmt.Errorf("%s.part is there from another run", file), "remove it")
	} else if err != nil {
		return fmt.Errorf("write the output: %w", err)
	}
	rows, err := p.mergeInto(f, shards)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(file+".part", file)
	}
	if err != nil {
		_ = os.Remove(file + ".part")
		return err
	}
	p.note("%s points of %d files in %s", grouped(rows), len(shards), file)
	return nil
}

// complete says what parts are wanting.
func complete(shards []shardFile) error {
	first := &shards[0]
	have := map[int64]string{}
	for i := range shards {
		s := &shards[i]
		switch other := have[s.Shard]; {
		case s.Sweep != first.Sweep || s.Of != first.Of || s.Format != first.Format:
			return hinted(fmt.Errorf("%s and %s are not parts of one sweep", first.name, s.name), "parts go together only where command, version and backend are the same")
		case other != "":
			return fmt.Errorf("%s and %s are both part %d", other, s.name, s.Shard)
		}
		have[s.Shard] = s.name
	}
	var missing []string
	for i := int64(0); i < first.Of && len(missing) < 10; i++ {
		if have[i] == "" {
			missing = append(missing, fmt.Sprintf("%d/%d", i, first.Of))
		}
	}
	if len(missing) > 0 {
		return fmt.Errorf("parts are missing: %s", strings.Join(missing, ", "))
	}
	return nil
}

var errNoShard = errors.New("is no part that `spareamps sweep --shard` wrote")

// readShard reads what a file says of itself.
func readShard(name string) (s shardFile, err error) {
	s.name = name
	f, err := os.Open(name)
	if err != nil {
		var path *os.PathError
		if errors.As(err, &path) {
			err = path.Err
		}
		return s, err
	}
	defer f.Close()
	head := make([]byte, 64<<10)
	n, _ := io.ReadFull(f, head)
	if head = head[:n]; string(head[:min(4, n)]) == parquetMagic {
		return s, s.readParquet(f)
	}
	line, rest, ok := bytes.Cut(head, []byte("\n"))
	var told map[string]sweepShard
	if err := json.Unmarshal(bytes.TrimPrefix(line, []byte("# ")), &told); !ok || err != nil || told[shardKey].Of < 1 {
		return s, errNoShard
	}
	s.sweepShard, s.body = told[shardKey], int64(len(line)+1)
	if s.Format == "csv" {
		header, _, ok := bytes.Cut(rest, []byte("\n"))
		if !ok {
			return s, errNoShard
		}
		if s.Shard > 0 {
			s.body += int64(len(header) + 1)
		}
	}
	return s, nil
}

func (s *shardFile) readParquet(f *os.File) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	tail := make([]byte, 8)
	if _, err := f.ReadAt(tail, info.Size()-8); err != nil || string(tail[4:]) != parquetMagic {
		return errors.New("ends before it should")
	}
	size := int64(binary.LittleEndian.Uint32(tail))
	if size > info.Size()-12 {
		return errors.New("ends before it should")
	}
	text := make([]byte, size)
	if _, err := f.ReadAt(text, info.Size()-8-size); err != nil {
		return errors.New("ends before it should")
	}
	s.meta = new(format.FileMetaData)
	if err := thrift.Unmarshal(new(thrift.CompactProtocol), text, s.meta); err != nil {
		return err
	}
	at := slices.IndexFunc(s.meta.KeyValueMetadata, func(kv format.KeyValue) bool { return kv.Key == shardKey })
	if at < 0 || json.Unmarshal([]byte(s.meta.KeyValueMetadata[at].Value), &s.sweepShard) != nil || s.Of < 1 {
		return errNoShard
	}
	s.meta.KeyValueMetadata = slices.Delete(s.meta.KeyValueMetadata, at, at+1)
	s.body, s.end = int64(len(parquetMagic)), info.Size()-8-size
	return nil
}

// mergeInto writes the parts behind each other.
func (p *program) mergeInto(to io.Writer, shards []shardFile) (rows int64, err error) {
	w := bufio.NewWriterSize(to, 1<<20)
	at := int64(0)
	var groups [][]byte
	if shards[0].Format == "parquet" {
		at = int64(len(parquetMagic))
		w.WriteString(parquetMagic)
	}
	for i := range shards {
		s := &shards[i]
		rows += s.Rows
		if err := p.copyShard(w, s); err != nil {
			return rows, fmt.Errorf("%s: %w", s.name, err)
		}
		if s.meta == nil {
			continue
		}
		for _, g := range s.meta.RowGroups {
			text, err := thrift.Marshal(new(thrift.CompactProtocol), &g)
			if err != nil {
				return rows, err
			}
			groups = append(groups, placed(text, at, len(groups)))
		}
		at += s.end - s.body
	}
	if shards[0].Format == "parquet" {
		w.Write(footer(shards[0].meta, groups))
	}
	return rows, w.Flush()
}

// copyShard copies the rows of a part and counts them.
func (p *program) copyShard(w io.Writer, s *shardFile) error {
	f, err := os.Open(s.name)
	if err != nil {
		return err
	}
	defer f.Close()
	if s.meta != nil {
		rows := int64(0)
		for _, g := range s.meta.RowGroups {
			rows += g.NumRows
		}
		if rows != s.Rows {
			return fmt.Errorf("holds %d rows, should hold %d", rows, s.Rows)
		}
		_, err := io.Copy(w, io.NewSectionReader(f, s.body, s.end-s.body))
		return err
	}
	if _, err := f.Seek(s.body, io.SeekStart); err != nil {
		return err
	}
	want, rows, ended := s.Rows, int64(0), true
	if s.Format == "csv" && s.Shard == 0 {
		want++ // the header
	}
	buffer := make([]byte, 1<<20)
	for {
		if err := p.ctx.Err(); err != nil {
			return err
		}
		n, err := f.Read(buffer)
		rows += int64(bytes.Count(buffer[:n], []byte("\n")))
		if n > 0 {
			ended = buffer[n-1] == '\n'
		}
		if _, err := w.Write(buffer[:n]); err != nil {
			return err
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
	}
	if rows != want || !ended {
		return fmt.Errorf("holds %d rows, should hold %d", rows, want)
	}
	return nil
}
