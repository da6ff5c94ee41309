// Command sapwell answers on the command line: what does this list of trees ask
// of the crew, and why?
//
// It parses, calls and prints. Results go to stdout, talk to stderr; doc/cli.md
// lists commands and exit codes.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"slices"
	"time"

	"github.com/alecthomas/kong"
	"golang.org/x/term"

	"sapwell/engine/quantity"
	"sapwell/words"
)

// Exit codes, as doc/cli.md promises them.
const (
	exitDone    = 0
	exitFailed  = 1   // a file could not be read or written, or a fault of ours
	exitUsage   = 2   // the command line itself is wrong
	exitPartly  = 3   // done, but some of the input could not be used
	exitRefused = 4   // the input is at fault; nothing was planned or computed
	exitStopped = 130 // stopped by a signal, as shells count it
)

type cli struct {
	Units string `enum:"imperial,metric" default:"imperial" help:"Units to print in: imperial or metric."`
	Lang  string `default:"en" help:"Language of texts and papers: en, es."`

	Demo    demoCmd    `cmd:"" help:"Plan an invented day: a summary on screen, PDFs in a folder."`
	Plan    planCmd    `cmd:"" help:"Plan a list of trees with one or more labels."`
	Label   labelCmd   `cmd:"" help:"Check product label files."`
	Calc    calcCmd    `cmd:"" help:"Compute one thing: JSON on stdin, JSON on stdout."`
	Schema  schemaCmd  `cmd:"" help:"Print the JSON Schema of a file or of a computation."`
	Serve   serveCmd   `cmd:"" help:"Keep the journal and serve it to browsers and phones."`
	Journal journalCmd `cmd:"" help:"Check, export, import and prove the journal."`
	Records recordsCmd `cmd:"" help:"What the records of the work miss, and what is due by when."`
	Papers  papersCmd  `cmd:"" help:"Write the whole pile of papers of some days: records, notices, waste, stock, quotes, data."`
	Inspect inspectCmd `cmd:"" help:"Make a folder for an inspector: records, proofs, labels; opens from a stick."`
	Backup  backupCmd  `cmd:"" help:"Write everything the store keeps into one file."`
	Restore restoreCmd `cmd:"" help:"Bring a backup back; joins with what is there."`
	Doctor  doctorCmd  `cmd:"" help:"Say what is wrong with this installation and what to do."`
	Version versionCmd `cmd:"" help:"Print the version."`
}

// world is what a command may touch.
type world struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	now            func() time.Time
	say            *words.Printer
	talkative      bool // stderr is a terminal: show progress
	terminal       bool // stdout is a terminal
	colour         bool // colours are welcome there
}

// plain is the same world without colours: for a file.
func (w world) plain() world { w.colour = false; return w }

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400) // a plan holds little and makes much: a fifth less work for some 40 MiB
	}
	w := world{
		stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, now: time.Now,
		talkative: term.IsTerminal(int(os.Stderr.Fd())), terminal: term.IsTerminal(int(os.Stdout.Fd())),
	}
	w.colour = w.terminal && os.Getenv("NO_COLOR") == ""
	os.Exit(run(os.Args[1:], w))
}

// run is the whole program but for the process round it.
func run(args []string, w world) int {
	var c cli
	helped := false
	parser, err := kong.New(&c,
		kong.Name("sapwell"),
		kong.Description("Plans trunk micro-injection. It computes; the product label and the law decide."),
		kong.Writers(w.stdout, w.stderr), kong.Exit(func(int) { helped = true }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.Vars{"data_folder": dataFolder(), "zone": zoneHere()},
	)
	if err != nil {
		return w.fail(err)
	}
	if len(args) == 0 {
		args = []string{"--help"}
	} else if args[0] == "help" {
		args = append(slices.Clone(args[1:]), "--help")
	}
	ctx, err := parser.Parse(args)
	if helped {
		return exitDone
	}
	if err != nil {
		return w.fail(usage{err})
	}
	style := quantity.Style{System: quantity.Imperial}
	if c.Units == "metric" {
		style.System = quantity.Metric
	}
	style.DecimalComma = c.Lang == "es"
	if w.say, err = words.New(c.Lang, style); err != nil {
		return w.fail(usage{err})
	}
	return w.fail(ctx.Run(w))
}

// usage marks an error of the command line itself.
type usage struct{ error }

func (u usage) Unwrap() error { return u.error }

// refused marks an error of the input: nothing was done.
type refused struct{ error }

func (r refused) Unwrap() error { return r.error }

// partly marks work that was done for what could be used.
type partly struct {
	faults int
	key    string // of the sentence that says so
}

func (p partly) Error() string { return fmt.Sprintf("%d faults", p.faults) }

// fail says what went wrong and chooses the exit code.
func (w world) fail(err error) int {
	if err == nil {
		return exitDone
	}
	if p, ok := errors.AsType[partly](err); ok {
		fmt.Fprintln(w.stderr, "sapwell: "+w.say.Say(p.key, count("n", p.faults)))
		return exitPartly
	}
	fmt.Fprintln(w.stderr, "sapwell: "+err.Error())
	switch {
	case is[usage](err):
		fmt.Fprintln(w.stderr, "sapwell: see sapwell --help")
		return exitUsage
	case is[refused](err):
		return exitRefused
	}
	return exitFailed
}

func is[E error](err error) bool { _, ok := errors.AsType[E](err); return ok }

type versionCmd struct{}

// Run prints version and commit, as the Go toolchain stamped them.
func (versionCmd) Run(w world) error {
	_, err := fmt.Fprintf(w.stdout, "sapwell %s\n", version())
	return err
}

func version() string {
	version, commit := "unreleased", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		if v := info.Main.Version; v != "" && v != "(devel)" {
			version = v
		}
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				commit = " " + s.Value
			}
		}
	}
	return version + commit
}
