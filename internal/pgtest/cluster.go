//go:build unix

package pgtest

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	osuser "os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"sapwell/internal/outside"
)

const (
	user = "sapwell"
	// hasty settings: nothing is synced.
	hasty = "fsync = off\nfull_page_writes = off\nsynchronous_commit = off\n"
	// patience is how long a server may take to start.
	patience = 60 * time.Second
)

// programs is the folder of the newest PostgreSQL installed.
func programs(t testing.TB) string {
	t.Helper()
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/postgres") // the only error is a bad pattern
	if len(found) == 0 {
		return filepath.Dir(outside.Tool(t, "postgres"))
	}
	slices.SortFunc(found, func(a, b string) int { return version(a) - version(b) })
	return filepath.Dir(found[len(found)-1])
}

// version is the number in a path of Debian's packages.
func version(path string) int {
	n, _ := strconv.Atoi(filepath.Base(filepath.Dir(filepath.Dir(path)))) // 0 sorts first
	return n
}

// cluster is a server's folder, and its process while it runs.
type cluster struct {
	bin, dir string
	port     int
	as       *syscall.Credential // nil: as ourselves
	server   *exec.Cmd
	ended    chan struct{} // closed when the server has
	guard    *exec.Cmd
	leash    io.Closer // the guard waits for its end
	db       *sql.DB   // to run single statements
}

// newCluster makes the folder of a new server, with these settings beside the
// usual ones.
func newCluster(bin, settings string) (*cluster, error) {
	c := &cluster{bin: bin}
	var err error
	if c.as, err = owner(); err != nil {
		return nil, err
	}
	if c.dir, err = os.MkdirTemp("", "sapwell-pg-"); err != nil {
		return nil, err
	}
	if c.as != nil {
		if err := os.Chown(c.dir, int(c.as.Uid), int(c.as.Gid)); err != nil {
			return nil, err
		}
	}
	if c.port, err = freePort(); err != nil {
		return nil, err
	}
	out, err := c.command("initdb", "-D", c.data(), "-U", user, "--auth=trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync").CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("initdb: %w: %s", err, out)
	}
	settings += fmt.Sprintf("listen_addresses = '127.0.0.1'\nport = %d\nunix_socket_directories = ''\nmax_connections = 200\n", c.port)
	f, err := os.OpenFile(filepath.Join(c.data(), "postgresql.conf"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return nil, err
	}
	_, err = f.WriteString(settings)
	return c, errors.Join(err, f.Close(), c.watch())
}

func (c *cluster) data() string { return filepath.Join(c.dir, "data") }

// owner is whom the server runs as: PostgreSQL refuses to run as root.
func owner() (*syscall.Credential, error) {
	if os.Getuid() != 0 {
		return nil, nil
	}
	u, err := osuser.Lookup("postgres")
	if err != nil {
		return nil, err
	}
	uid, err := strconv.ParseUint(u.Uid, 10, 32)
	if err != nil {
		return nil, err
	}
	gid, err := strconv.ParseUint(u.Gid, 10, 32)
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, err
}

// freePort is a port that nobody listens on now.
func freePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	return l.Addr().(*net.TCPAddr).Port, l.Close()
}

// command runs one of PostgreSQL's programs in a process group of its own, so that
// an interrupt from the keyboard reaches us alone.
func (c *cluster) command(program string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(c.bin, program), args...)
	cmd.Dir = c.dir
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "LC_ALL=C.UTF-8"}
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: c.as, Setpgid: true}
	return cmd
}

// start runs the server and waits until it answers.
func (c *cluster) start() error {
	log, err := os.OpenFile(filepath.Join(c.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer log.Close() //nolint:errcheck // the server has its own handle
	c.server = c.command("postgres", "-D", c.data())
	c.server.Stdout, c.server.Stderr = log, log
	if err := c.server.Start(); err != nil {
		return err
	}
	c.ended = make(chan struct{})
	go func() {
		_ = c.server.Wait() // how it ended its log says
		close(c.ended)
	}()
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		if err = c.run("SELECT 1"); err == nil {
			return nil
		}
		if time.Now().After(end) || !c.alive() {
			said, _ := os.ReadFile(log.Name()) // whatever can be had
			return fmt.Errorf("no answer: %w; its log: %s", err, bytes.TrimSpace(said))
		}
	}
}

// alive tells whether the server still runs.
func (c *cluster) alive() bool {
	select {
	case <-c.ended:
		return false
	default:
		return true
	}
}

// kill ends the server and its children at once and waits until they are gone.
// Each child leads a group of its own, so they are looked up by their parent.
func (c *cluster) kill() error {
	pid := c.server.Process.Pid
	children := childrenOf(pid)
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		return err
	}
	for _, child := range children {
		_ = syscall.Kill(child, syscall.SIGKILL) // it may have gone by itself
	}
	<-c.ended
	for _, child := range children {
		for state(child) != "" && state(child) != "Z" {
			time.Sleep(time.Millisecond)
		}
	}
	return nil
}

// childrenOf lists the processes whose parent this is.
func childrenOf(parent int) []int {
	stats, _ := filepath.Glob("/proc/[0-9]*/stat") // the only error is a bad pattern
	var all []int
	for _, stat := range stats {
		pid, err := strconv.Atoi(filepath.Base(filepath.Dir(stat)))
		if f := status(pid); err == nil && len(f) > 1 && f[1] == strconv.Itoa(parent) {
			all = append(all, pid)
		}
	}
	return all
}

// status is what /proc says of a process after its name: state, parent and more;
// nothing where it has ended.
func status(pid int) []string {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return nil
	}
	return strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:])) // the name may hold anything
}

func state(pid int) string {
	if f := status(pid); len(f) > 0 {
		return f[0]
	}
	return ""
}

// guardian waits until nobody holds the other end of its input any more, which is
// when this process has ended, and cleans up.
const guardian = `
cat >/dev/null
if pid=$(head -n 1 "$1/data/postmaster.pid" 2>/dev/null); then
	kill -QUIT "$pid"
	while kill -0 "$pid" 2>/dev/null; do sleep 0.05; done
fi
rm -rf "$1"
`

// watch starts the guard. It runs as root if we do, to remove the folder.
func (c *cluster) watch() error {
	c.guard = exec.Command("/bin/sh", "-c", guardian, "sh", c.dir)
	c.guard.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	var err error
	if c.leash, err = c.guard.StdinPipe(); err != nil {
		return err
	}
	return c.guard.Start()
}

// remove lets the guard do its work now, and waits.
func (c *cluster) remove() error {
	return errors.Join(c.db.Close(), c.leash.Close(), c.guard.Wait())
}
