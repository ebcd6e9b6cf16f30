package proposal

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/apache/arrow/go/v17/arrow/array"

	"probeward/pipeline/config"
	"probeward/pipeline/read"
	"probeward/pipeline/register"
	"probeward/schemas"
)

// Ask says what a proposal is for.
type Ask struct {
	Folder  string
	Zone    string              // IANA name; empty: to be chosen
	Known   map[string][]string // parameters by detector, for the check of what is written
	Workers int                 // files read at once; 0: as many as there are processors
}

// Proposal is what may be written into the folder.
type Proposal struct {
	YAML     []byte
	Register []byte   // a probes.csv; empty where the folder has one
	ToFill   int      // rows of Register that lack a kind or a unit
	Rows     int      // of Register
	Words    []string // what a person must know beside
	Readings int64    // that a scan reads, with YAML as without
}

// draft is a proposal in the making.
type draft struct {
	Ask
	ctx     context.Context
	conf    *config.Resolved // as guessed
	reg     *register.Register
	rows    []row // of the register to write; nil when there is one
	sights  []read.Sight
	groups  []*group
	left    []read.Sight // files that hold no readings
	notes   []string     // of the reader
	seen    reading
	matches map[string][]string // by pattern
}

// Make looks at the folder and writes the proposal. The error is the caller's: no
// folder, a register that cannot be read, no files.
func Make(ctx context.Context, ask Ask) (*Proposal, error) {
	d := &draft{Ask: ask, ctx: ctx, matches: map[string][]string{}}
	var err error
	if d.conf, err = config.Guess(ask.Folder, ask.Zone); err != nil {
		return nil, err
	}
	if err := d.register(); err != nil {
		return nil, err
	}
	if d.sights, err = read.Look(ctx, d.input(d.conf, d.reg)); err != nil {
		return nil, err
	}
	d.gather()
	if err := d.read(); err != nil {
		return nil, err
	}
	text, err := d.settle()
	if err != nil {
		return nil, err
	}
	p := &Proposal{YAML: text, Readings: d.seen.total}
	if d.rows != nil {
		p.rows(d.rows)
	}
	for _, s := range d.left {
		p.Words = append(p.Words, fmt.Sprintf("%s holds no readings: %s", s.Path, s.Err))
	}
	for _, g := range d.groups {
		if len(g.choices) > 0 {
			p.Words = append(p.Words, fmt.Sprintf("%s can be read in two ways: choose the line of scan.yaml that settles it", some(g.paths())))
		}
	}
	return p, nil
}

// Register writes the register alone, of what is heard when the folder is read by its
// scan.yaml, if it has one, or by file.
func Register(ctx context.Context, ask Ask, file string) (*Proposal, error) {
	d := &draft{Ask: ask, ctx: ctx}
	var err error
	if d.conf, err = config.Open(ask.Folder, file, ask.Known); err != nil {
		return nil, err
	}
	if d.conf.Probes != "" {
		return nil, fmt.Errorf("%w: the folder %s has a register, %s: one is proposed where there is none; scan says which names have no row in it", config.ErrConfiguration, ask.Folder, d.conf.Probes)
	}
	if d.rows, err = d.heard(); err != nil {
		return nil, err
	}
	if len(d.rows) == 0 {
		return nil, fmt.Errorf("%w: no probe is heard in the folder %s: settle first how its files are read, as config init without --register says", config.ErrConfiguration, ask.Folder)
	}
	p := &Proposal{}
	p.rows(d.rows)
	return p, nil
}

// rows puts the rows of a register into the proposal.
func (p *Proposal) rows(rows []row) {
	p.Register, p.Rows = written(rows), len(rows)
	for _, r := range rows {
		if r.kind == "" || r.unit == "" {
			p.ToFill++
		}
	}
}

func (d *draft) input(c *config.Resolved, reg *register.Register) read.Input {
	return read.Input{Config: c, Register: reg, Workers: d.Workers}
}

// register reads the folder's register; where there is none, one is made of what is
// heard, with kinds and units that only stand in for those to be filled in.
func (d *draft) register() (err error) {
	if d.conf.Probes != "" {
		d.reg, err = register.Load(d.conf.Path(d.conf.Probes), d.conf.Path(d.conf.Loggers), d.conf.Zone)
		if err != nil {
			return fmt.Errorf("%w: %w", config.ErrConfiguration, err)
		}
		return nil
	}
	if d.rows, err = d.heard(); err != nil {
		return err
	}
	if len(d.rows) == 0 {
		d.rows, d.reg = []row{}, &register.Register{}
		return nil
	}
	d.reg, err = standIn(d.rows)
	return err
}

// standIn makes a register of rows, so that files can be joined to it.
func standIn(rows []row) (*register.Register, error) {
	dir, err := os.MkdirTemp("", "probeward")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "probes.csv")
	if err := os.WriteFile(path, joinable(rows), 0o600); err != nil {
		return nil, err
	}
	return register.Load(path, "", time.UTC)
}

// reading is what came of reading the folder once.
type reading struct {
	total  int64
	files  map[string][sha256.Size]byte // of what is used of each file, by its path
	newest int64
	spread map[string][]float64 // a sample of the values as exported, by kind and unit
}

// read reads the folder as a scan without a configuration does.
func (d *draft) read() error {
	res, err := read.Files(d.ctx, d.input(d.conf, d.reg))
	if err != nil {
		return err
	}
	defer res.Release()
	d.notes = res.Notes
	d.seen = digest(res)
	d.seen.spread = spread(res, d.reg)
	return nil
}

// digest sums up what is used of each file: stamps, probes, values and what stands
// beside them, in their order.
func digest(res *read.Result) reading {
	sum := reading{files: map[string][sha256.Size]byte{}}
	for _, f := range res.Files {
		sum.total += f.Used
		sum.newest = max(sum.newest, f.Last)
	}
	h, file := sha256.New(), -1
	flush := func() {
		if file >= 0 {
			sum.files[res.Files[file].Path] = [sha256.Size]byte(h.Sum(nil))
			h.Reset()
		}
	}
	var buf []byte
	for _, b := range res.Batches {
		times, probes := b.Column(schemas.ColTime).(*array.Timestamp), b.Column(schemas.ColProbe).(*array.Uint32)
		values, codes := b.Column(schemas.ColValue).(*array.Float64), b.Column(schemas.ColCode).(*array.Uint8)
		beside := [2]*array.Float32{b.Column(schemas.ColTemperature).(*array.Float32), b.Column(schemas.ColBattery).(*array.Float32)}
		if at := int(b.Column(schemas.ColFile).(*array.Uint32).Value(0)); at != file {
			flush()
			file = at
		}
		buf = buf[:0]
		for i := range int(b.NumRows()) {
			buf = binary.LittleEndian.AppendUint64(buf, uint64(times.Value(i)))
			buf = binary.LittleEndian.AppendUint32(buf, probes.Value(i))
			buf = append(buf, codes.Value(i))
			if values.IsValid(i) {
				buf = binary.LittleEndian.AppendUint64(append(buf, 1), math.Float64bits(values.Value(i)))
			}
			for _, c := range beside {
				if c.IsValid(i) {
					buf = binary.LittleEndian.AppendUint32(append(buf, 2), math.Float32bits(c.Value(i)))
				}
			}
		}
		_, _ = h.Write(buf)
	}
	flush()
	return sum
}

// sampled is about how many values of a kind and unit are looked at.
const sampled = 20_000

// spread samples the values of each kind and unit.
func spread(res *read.Result, reg *register.Register) map[string][]float64 {
	all := map[string][]float64{}
	rows := int64(0)
	for _, b := range res.Batches {
		rows += b.NumRows()
	}
	step := int(rows/sampled) | 1 // odd, so that it does not fall into step with a table's ports
	for _, b := range res.Batches {
		probes, values := b.Column(schemas.ColProbe).(*array.Uint32), b.Column(schemas.ColValue).(*array.Float64)
		for i := 0; i < int(b.NumRows()); i += step {
			if values.IsValid(i) {
				p := &reg.Probes[probes.Value(i)]
				key := string(p.Kind) + " in " + p.Unit
				all[key] = append(all[key], values.Value(i))
			}
		}
	}
	for _, v := range all {
		slices.Sort(v)
	}
	return all
}

// settle writes the configuration, reads the folder by it, and takes lines back until
// the readings are those that a scan without it reads.
func (d *draft) settle() ([]byte, error) {
	const tries = 6
	for try := 0; ; try++ {
		text := d.write()
		c, err := config.Parse(d.Folder, config.FileName, text, d.Known)
		if err != nil {
			return nil, fmt.Errorf("what was to be proposed is not accepted: %w", err)
		}
		res, err := read.Files(d.ctx, d.input(c, d.reg))
		if err != nil {
			return nil, err
		}
		got := digest(res)
		res.Release()
		if !d.differs(got) {
			return text, nil
		}
		if try == tries {
			return nil, fmt.Errorf("no configuration was found with which the readings of %s are those without it: write readings: by hand; %w", d.Folder, config.ErrConfiguration)
		}
	}
}

// differs says whether other readings came out, and takes back lines of the groups
// whose files they are; when these have none left, of all.
func (d *draft) differs(got reading) bool {
	differ, stuck := false, false
	for _, g := range d.groups {
		wrong := slices.ContainsFunc(g.sights, func(s read.Sight) bool { return got.files[s.Path] != d.seen.files[s.Path] })
		differ = differ || wrong
		if wrong {
			stuck = stuck || g.plain == barest
			g.plain = min(g.plain+1, barest)
		}
	}
	for path := range got.files {
		if _, ok := d.seen.files[path]; !ok {
			differ, stuck = true, true
		}
	}
	if stuck {
		for _, g := range d.groups {
			g.plain = barest
		}
	}
	return differ
}

// Save puts the text into the folder as a file that does not exist yet.
func Save(path string, text []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if os.IsExist(err) {
		return fmt.Errorf("%w: %s is there already and is never replaced: move it away, or compare it with what is printed without --write", config.ErrConfiguration, path)
	}
	if err != nil {
		return fmt.Errorf("%w: cannot write: %w", config.ErrConfiguration, err)
	}
	_, err = f.Write(text)
	return errors.Join(err, f.Close())
}
