package torture

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"sapwell/internal/pgtest"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/sqlstore"
)

// What needs a disk or limits of its own runs in a copy of the test binary.
const envInside = "SAPWELL_TORTURE_INSIDE"

// inside runs this test again in a process with a way to change it, and passes on
// what it says.
func inside(t *testing.T, attr *syscall.SysProcAttr) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$", "-test.v")
	cmd.Env = append(os.Environ(), envInside+"="+t.Name(), "TMPDIR="+t.TempDir())
	cmd.SysProcAttr = attr
	said, err := cmd.CombinedOutput()
	if errors.Is(err, syscall.EPERM) {
		skip(t, "this machine does not let a test mount a disk of its own: "+err.Error())
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	for line := range strings.Lines(string(said)) {
		if strings.Contains(line, "_test.go:") {
			t.Log(strings.TrimSpace(line))
		}
	}
}

// skip is for a person; with CI=true in the environment no check is lost.
func skip(t *testing.T, why string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(why)
	}
	t.Skip("SKIPPED, NOT CHECKED: " + why)
}

func isInside(t *testing.T) bool { return os.Getenv(envInside) == t.Name() }

// fill writes until there is no room, and checks that what was acknowledged can
// be read all the same.
func fill(t *testing.T, s store.Store, a *Account) error {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 5*time.Minute)
	defer stop()
	err := Write(ctx, s, "disk", a.Hear)
	if ctx.Err() != nil {
		t.Fatalf("the disk did not become full: %s", a)
	}
	a.Check(t, s, "disk", false)
	return err
}

// goOn writes for a moment where there is room again, and checks all.
func goOn(t *testing.T, s store.Store, a *Account) {
	t.Helper()
	before := a.Kept()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	ended := make(chan error)
	go func() { ended <- Write(ctx, s, "disk", a.Hear) }()
	for a.Kept() < before+50 {
		select {
		case err := <-ended:
			t.Fatalf("there is room, and the writer ended with %v", err)
		case <-time.After(10 * time.Millisecond):
		}
	}
	stop()
	<-ended
	a.Check(t, s, "disk", true)
}

// A disk of 24 MB becomes full; then there is room again; then it can only be
// read.
func TestFullAndReadOnlyDisk(t *testing.T) {
	if !isInside(t) {
		inside(t, &syscall.SysProcAttr{
			Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
			UidMappings: []syscall.SysProcIDMap{{HostID: os.Getuid(), Size: 1}},
			GidMappings: []syscall.SysProcIDMap{{HostID: os.Getgid(), Size: 1}},
		})
		return
	}
	disk := t.TempDir()
	must(t, syscall.Mount("none", disk, "tmpfs", 0, "size=24m"))
	defer syscall.Unmount(disk, 0) //nolint:errcheck // it goes with the process
	ballast, file := filepath.Join(disk, "ballast"), filepath.Join(disk, "sapwell.db")
	must(t, os.WriteFile(ballast, make([]byte, 8<<20), 0o600))
	s, err := open(file)
	must(t, err)
	a := &Account{}
	for range 3 { // full is full, however often one tries
		if err := fill(t, s, a); !errors.Is(err, store.ErrFull) {
			t.Fatalf("the disk is full, and the error is %v", err)
		}
	}
	t.Logf("full after %s: all there", a)
	must(t, os.Remove(ballast))
	goOn(t, s, a)
	must(t, s.Close())
	must(t, syscall.Mount("none", disk, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""))
	readOnly(t, file, a)
	must(t, syscall.Mount("none", disk, "tmpfs", syscall.MS_REMOUNT, ""))
	s, err = open(file)
	must(t, err)
	goOn(t, s, a)
	must(t, s.Close())
	t.Logf("read-only and writable again: %s, all there", a)
}

// readOnly opens what cannot be written: for writing it says so, for reading all
// is there, and nothing more can be put in.
func readOnly(t *testing.T, file string, a *Account) {
	t.Helper()
	if s, err := open(file); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("open for writing: %v, want ErrReadOnly", err)
		if err == nil {
			_ = s.Close()
		}
	}
	s, err := sqlstore.OpenSQLite(t.Context(), file, sqlstore.Options{ReadOnly: true})
	must(t, err)
	defer func() { must(t, s.Close()) }()
	a.Check(t, s, "disk", false)
	h := Org("disk")
	l, err := s.Ledger(t.Context(), h.ID("firm"))
	must(t, err)
	d, err := h.Draft("office", "elm tree park")
	must(t, err)
	_, errWrite := l.Write(t.Context(), h.Signer("office"), now(), func(store.Reader) ([]journal.Draft, error) { return []journal.Draft{d}, nil })
	_, errBlob := l.PutBlob(t.Context(), []byte("x"), now())
	_, errFound := s.Found(t.Context(), Org("another").Lines("firm boss desk"), now())
	for what, err := range map[string]error{"write": errWrite, "blob": errBlob, "rebuild": l.Rebuild(t.Context()), "found": errFound} {
		if !errors.Is(err, store.ErrReadOnly) {
			t.Errorf("%s: %v, want ErrReadOnly", what, err)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// A file may not grow beyond a size that the machine sets; later it may.
func TestLimitedFile(t *testing.T) {
	if !isInside(t) {
		inside(t, nil)
		return
	}
	signal.Ignore(syscall.SIGXFSZ)
	limit := func(size uint64) {
		must(t, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: size, Max: 1 << 40}))
	}
	s, err := open(filepath.Join(t.TempDir(), "sapwell.db"))
	must(t, err)
	a := &Account{}
	for _, size := range []uint64{3 << 20, 3<<20 + 1000, 6 << 20} {
		limit(size)
		if err := fill(t, s, a); err == nil {
			t.Fatal("no error")
		}
		limit(1 << 30)
		goOn(t, s, a)
	}
	t.Logf("three limits: %s, all there", a)
	must(t, s.Close())
}

// PostgreSQL may not make a file larger than 17 MB for a while.
func TestLimitedPostgreSQL(t *testing.T) {
	prlimit, err := exec.LookPath("prlimit")
	if err != nil {
		skip(t, "prlimit is not installed")
	}
	url := pgtest.New(t).URL()
	s, err := open(url)
	must(t, err)
	defer func() { must(t, s.Close()) }()
	a := &Account{}
	goOn(t, s, a)
	limit := func(size string) {
		for _, pid := range serverProcesses(t, url) {
			cmd := exec.Command(prlimit, "--fsize="+size, "--pid", pid)
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: ownerOf(t, pid)}
			if said, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("prlimit: %v %s", err, said)
			}
		}
	}
	limit("17825792:")
	l, err := s.Ledger(t.Context(), Org("disk").ID("firm"))
	must(t, err)
	data := make([]byte, 1<<20)
	for n := 0; err == nil; n++ {
		if n == 100 {
			t.Fatal("100 MB in a file of 17")
		}
		_, _ = rand.Read(data)
		var sum journal.Hash
		if sum, err = l.PutBlob(t.Context(), data, now()); err == nil {
			a.Hear("blob " + sum.String())
		}
	}
	a.Check(t, s, "disk", false)
	t.Logf("full (%v) after %s: all there", err, a)
	limit("unlimited:")
	goOn(t, s, a)
}

// serverProcesses are the ids of the processes that serve connections, and of the
// one that starts them.
func serverProcesses(t *testing.T, url string) []string {
	t.Helper()
	db, err := sql.Open("pgx", url)
	must(t, err)
	defer db.Close() //nolint:errcheck // only read from
	var folder, pids string
	must(t, db.QueryRowContext(t.Context(), `SHOW data_directory`).Scan(&folder))
	must(t, db.QueryRowContext(t.Context(), `SELECT string_agg(pid::text, ' ') FROM pg_stat_activity WHERE backend_type = 'client backend' AND pid <> pg_backend_pid()`).Scan(&pids))
	first, err := os.ReadFile(filepath.Join(folder, "postmaster.pid"))
	must(t, err)
	return append(strings.Fields(pids), strings.Fields(string(first))[0])
}

// ownerOf is the user whose process it is: the only one who may limit it. A user
// that is not root is that already.
func ownerOf(t *testing.T, pid string) *syscall.Credential {
	t.Helper()
	if os.Getuid() != 0 {
		return nil
	}
	var st syscall.Stat_t
	must(t, syscall.Stat("/proc/"+pid, &st))
	return &syscall.Credential{Uid: st.Uid, Gid: st.Gid, NoSetGroups: true}
}
