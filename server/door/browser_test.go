package door_test

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http/httptest"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"sapwell/accounts"
	"sapwell/internal/outside"
	"sapwell/server/door"
)

// browser is Chromium without a window, led through its debugging pipe.
type browser struct {
	t       *testing.T
	to      io.Writer
	from    *bufio.Reader
	session string
	last    int
	stopped []string // what its content policy or its console complained of
}

func newBrowser(t *testing.T) *browser {
	t.Helper()
	tool := outside.Tool(t, "chromium")
	theirs, to, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	from, back, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	cmd := exec.CommandContext(ctx, tool, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
		"--remote-debugging-pipe", "--user-data-dir="+t.TempDir(), "about:blank")
	cmd.ExtraFiles = []*os.File{theirs, back} // its 3 and 4
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	_, _ = theirs.Close(), back.Close()
	b := &browser{t: t, to: to, from: bufio.NewReaderSize(from, 1<<16)}
	t.Cleanup(func() {
		_ = b.tell("Browser.close", nil)
		_ = cmd.Wait()
		cancel()
		_, _ = to.Close(), from.Close()
	})
	target := b.ask("Target.createTarget", map[string]any{"url": "about:blank"})["targetId"]
	b.session, _ = b.ask("Target.attachToTarget", map[string]any{"targetId": target, "flatten": true})["sessionId"].(string)
	for _, domain := range []string{"Page", "Runtime", "Log", "WebAuthn"} {
		b.ask(domain+".enable", map[string]any{})
	}
	b.ask("Emulation.setDeviceMetricsOverride", map[string]any{"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": true})
	return b
}

func (b *browser) tell(method string, params any) error {
	b.last++
	text, err := json.Marshal(map[string]any{"id": b.last, "method": method, "params": params, "sessionId": b.session})
	if b.session == "" {
		text, err = json.Marshal(map[string]any{"id": b.last, "method": method, "params": params})
	}
	if err == nil {
		_, err = b.to.Write(append(text, 0))
	}
	return err
}

// ask tells the browser something and waits for its answer.
func (b *browser) ask(method string, params any) map[string]any {
	b.t.Helper()
	result, err := b.try(method, params)
	if err != nil {
		b.t.Fatalf("%s: %v", method, err)
	}
	return result
}

// try is ask for what the browser may refuse.
func (b *browser) try(method string, params any) (map[string]any, error) {
	b.t.Helper()
	if err := b.tell(method, params); err != nil {
		b.t.Fatalf("%s: %v", method, err)
	}
	for {
		text, err := b.from.ReadBytes(0)
		if err != nil {
			b.t.Fatalf("%s: %v", method, err)
		}
		var said struct {
			ID     int
			Method string
			Params json.RawMessage
			Result map[string]any
			Error  *struct{ Message string }
		}
		if err := json.Unmarshal(text[:len(text)-1], &said); err != nil {
			b.t.Fatal(err)
		}
		switch {
		case said.Method == "Log.entryAdded" || said.Method == "Runtime.exceptionThrown":
			b.stopped = append(b.stopped, string(said.Params))
		case said.ID == b.last && said.Error != nil:
			return nil, errors.New(said.Error.Message)
		case said.ID == b.last:
			return said.Result, nil
		}
	}
}

// run evaluates JavaScript in the page; nil while the page is on its way to another.
func (b *browser) run(script string) any {
	b.t.Helper()
	said, err := b.try("Runtime.evaluate", map[string]any{"expression": script, "awaitPromise": true, "returnByValue": true, "userGesture": true})
	if err != nil || said["exceptionDetails"] != nil {
		return nil
	}
	result, _ := said["result"].(map[string]any)
	return result["value"]
}

// until waits for JavaScript to be true.
func (b *browser) until(script string) {
	b.t.Helper()
	for range 200 {
		if b.run(script) == true {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("not so after ten seconds: %s; the page says %v", script, b.run("document.body.innerText"))
}

// visit opens a page, which must fit its 390 pixels.
func (b *browser) visit(address string) {
	b.t.Helper()
	b.ask("Page.navigate", map[string]any{"url": address})
	b.until("document.readyState == 'complete' && document.querySelector('h1') != null")
	if wide := b.run("document.documentElement.scrollWidth"); wide != float64(390) {
		b.t.Errorf("%s is %v pixels wide, want 390", address, wide)
	}
}

// A real browser goes the way of a person who is invited: joins, adds a passkey,
// signs out, and signs in with the passkey. Its content policy stops nothing.
func TestInABrowser(t *testing.T) {
	server := httptest.NewServer(nil)
	t.Cleanup(server.Close)
	h := newHouse(t, func(c *door.Config) {
		c.Site, c.Loopback = site(strings.Replace(server.URL, "127.0.0.1", "localhost", 1)), true
		c.Clock = time.Now
	})
	server.Config.Handler = h.all
	secret, _, err := h.door.Desk().Invite(t.Context(), h.org, h.hand, accounts.ForAccount)
	if err != nil {
		t.Fatal(err)
	}
	home := h.config.Site.String()
	b := newBrowser(t)
	b.ask("WebAuthn.addVirtualAuthenticator", map[string]any{"options": map[string]any{
		"protocol": "ctap2", "transport": "internal", "hasResidentKey": true, "hasUserVerification": true, "isUserVerified": true, "automaticPresenceSimulation": true,
	}})

	b.visit(accounts.Link{Site: home, Sort: accounts.ForAccount, Secret: secret}.String())
	b.until("document.getElementById('secret').value == '" + secret + "' && location.hash == ''")
	b.run("document.querySelector('[name=login]').value = 'l.okafor'; document.querySelector('[name=password]').value = '" + password + "'; document.forms[0].submit()")
	b.until("location.pathname == '/'")
	if cookie := b.run("document.cookie"); cookie != "" {
		t.Errorf("scripts can read the cookie %v", cookie)
	}

	b.visit(home + "/account")
	b.run("document.getElementById('keyname').value = 'my phone'; document.getElementById('add').click()")
	b.until("document.querySelector('li') != null && document.querySelector('li').innerText.includes('my phone')")
	b.run("document.querySelector('form[action=\"/signout\"]').submit()")
	b.until("location.pathname == '/signin' && document.getElementById('passkey') && !document.getElementById('passkey').hidden")
	b.run("document.getElementById('passkey').click()")
	b.until("location.pathname == '/'")
	if who, _ := b.run("fetch('/session').then(r => r.text())").(string); !strings.Contains(who, h.hand.String()) {
		t.Errorf("signed in as %s", who)
	}
	b.visit(home + "/account")
	b.run("document.querySelector('button.drop').click()")
	b.until("document.readyState == 'complete' && document.querySelector('h1') && !document.querySelector('li')")

	b.ask("WebAuthn.disable", map[string]any{})
	h.book.set(h.org, h.hand, "office")
	b.visit(home + "/invite")
	b.run("document.querySelector('form').submit()")
	b.until("document.querySelector('img.qr') != null && document.querySelector('img.qr').naturalWidth > 100")
	for _, said := range b.stopped {
		t.Errorf("the browser complains: %s", said)
	}
	outside.Ran(t, "Chromium", "a person joins, adds a passkey, signs in with it; no page is stopped by the content policy or wider than 390 px")
}
