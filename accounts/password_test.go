package accounts

import (
	"context"
	"encoding/base64"
	"errors"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// cheap is for tests that hash often.
var cheap = cost{memory: 64, passes: 1, lanes: 1}

// The reference program of the authors of Argon2 makes the same string of the same
// password, salt and cost. (The vectors of RFC 9106, section 5.3, have a secret
// and associated data, which the library we use does not offer.)
func TestHashIsThatOfTheReferenceProgram(t *testing.T) {
	tool := outside.Tool(t, "argon2")
	for _, c := range []struct {
		password string
		salt     string
		cost     cost
	}{
		{"correct horse battery staple", "somesalt", cheap},
		{"árbol viejo, raíz honda", "sixteen bytes ok", cost{memory: 1024, passes: 3, lanes: 2}},
		{"x", "12345678", cost{memory: 256, passes: 1, lanes: 4}},
		{"the oak by the gate leans west", "sixteen bytes ok", today},
	} {
		// #nosec G204 -- the program of the test
		cmd := exec.Command(tool, c.salt, "-id", "-t", strconv.Itoa(int(c.cost.passes)), "-k", strconv.Itoa(int(c.cost.memory)), "-p", strconv.Itoa(int(c.cost.lanes)), "-l", "32", "-e")
		cmd.Stdin = strings.NewReader(c.password)
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		want := strings.TrimSpace(string(out))
		k := newKitchen(c.cost)
		sum, err := k.stretch(context.Background(), c.password, []byte(c.salt), c.cost, 32)
		if err != nil {
			t.Fatal(err)
		}
		if got := (phc{c.cost, []byte(c.salt), sum}).String(); got != want {
			t.Errorf("%q: we have %s, argon2 has %s", c.password, got, want)
		}
		if right, stale, err := k.verify(context.Background(), want, c.password); !right || stale || err != nil {
			t.Errorf("%q: the string of argon2 is not taken: %v %v %v", c.password, right, stale, err)
		}
	}
	outside.Ran(t, "argon2 (reference program)", "argon2id strings for four passwords, costs and salts")
}

// OWASP, Password Storage Cheat Sheet: argon2id with at least 19 MiB, two passes,
// one lane.
func TestCostIsThatOfOWASP(t *testing.T) {
	kept, err := newKitchen(today).hash(context.Background(), "a very long pass phrase")
	if err != nil || !strings.HasPrefix(kept, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Errorf("%q, %v", kept, err)
	}
	outside.Ran(t, "OWASP Password Storage Cheat Sheet", "m=19456 (19 MiB), t=2, p=1")
}

func TestVerify(t *testing.T) {
	ctx := context.Background()
	old, now := newKitchen(cost{memory: 32, passes: 1, lanes: 1}), newKitchen(cheap)
	kept, err := old.hash(ctx, "señal de lluvia en mayo")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		kept, password string
		right, stale   bool
	}{
		{kept, "señal de lluvia en mayo", true, true},
		{kept, "sen\u0303al de lluvia en mayo", true, true}, // the same, typed with a combining tilde
		{kept, "senal de lluvia en mayo", false, false},
		{kept, "", false, false},
		{kept, strings.Repeat("x", maxPassword+1), false, false},
		{"", "", false, false},
		{"", "señal de lluvia en mayo", false, false},
	} {
		right, stale, err := now.verify(ctx, c.kept, c.password)
		if right != c.right || stale != c.stale || err != nil {
			t.Errorf("%q against %q: %v %v %v", c.password, c.kept, right, stale, err)
		}
	}
	other, _ := old.hash(ctx, "señal de lluvia en mayo")
	if other == kept {
		t.Error("the same salt twice")
	}
}

// A damaged string is an error, not a wrong password, and never a long wait.
func TestDamagedStringsAreRefused(t *testing.T) {
	good := "$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$" + base64.RawStdEncoding.EncodeToString(make([]byte, 32))
	if _, err := parsePHC(good); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{
		strings.Replace(good, "argon2id", "argon2i", 1),
		strings.Replace(good, "v=19", "v=16", 1),
		strings.Replace(good, "m=64", "m=99999999", 1),
		strings.Replace(good, "m=64", "m=7", 1),
		strings.Replace(good, "m=64", "m=064", 1),
		strings.Replace(good, "m=64", "m=+64", 1),
		strings.Replace(good, "t=1", "t=0", 1),
		strings.Replace(good, "t=1", "t=4000000000", 1),
		strings.Replace(good, "p=1", "p=255", 1),
		strings.Replace(good, ",p=1", "", 1),
		strings.Replace(good, "c29tZXNhbHQ", "c2E", 1),
		strings.Replace(good, "c29tZXNhbHQ", "c29tZXNh\nbHQ", 1),
		good + "$", good + "=", "x" + good, good[:len(good)-30], "$$$$$",
	} {
		if p, err := parsePHC(bad); err == nil {
			t.Errorf("%q was read as %v", bad, p)
		}
		if _, _, err := newKitchen(cheap).verify(context.Background(), bad, "whatever it was"); err == nil {
			t.Errorf("%q was verified", bad)
		}
	}
}

func FuzzPHC(f *testing.F) {
	f.Add("$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA")
	f.Add("$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$AAAAAAAAAAAAAAAAAAAAAA")
	f.Add("$argon2id$v=19$m=,t=,p=$$")
	f.Fuzz(func(t *testing.T, kept string) {
		p, err := parsePHC(kept)
		if err == nil && p.String() != kept {
			t.Errorf("%q was read, and written as %q", kept, p)
		}
	})
}

// What is written is read again.
func TestPHCRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lanes := rapid.Uint8Range(1, maxLanes).Draw(t, "lanes")
		p := phc{
			cost: cost{rapid.Uint32Range(8*uint32(lanes), maxMemory).Draw(t, "memory"), rapid.Uint32Range(1, maxPasses).Draw(t, "passes"), lanes},
			salt: rapid.SliceOfN(rapid.Byte(), 8, 64).Draw(t, "salt"),
			sum:  rapid.SliceOfN(rapid.Byte(), 16, 64).Draw(t, "sum"),
		}
		read, err := parsePHC(p.String())
		if err != nil || read.cost != p.cost || string(read.salt) != string(p.salt) || string(read.sum) != string(p.sum) {
			t.Fatalf("%v, %v", read, err)
		}
	})
}

// NIST SP 800-63B-4, section 3.1.1.2: at least 15 characters where the password is
// all, at least 64 allowed, each code point counts as one, spaces and Unicode are
// taken, no composition rules, a list of what is common is refused.
func TestPasswordRules(t *testing.T) {
	for password, want := range map[string]error{
		"rusty gate winds uphill":                 nil,
		"aaaa bbbb gate winds uphill":             nil,
		"onlylowercaseletterstogether":            nil,
		"raíz árbol niebla":                       nil,
		"木の根は雨を覚えている夜明け前":                         nil, // 15 code points
		"木の根は雨を覚えている夜明け":                          ErrShort,
		"fourteen chars":                          ErrShort,
		"":                                        ErrShort,
		strings.Repeat("rain on the roof ", 4):    nil,        // 68 characters
		strings.Repeat("rain on the roof ", 60):   nil,        // 1,020 bytes
		strings.Repeat("rain on the roof ", 61):   ErrLong,    //
		"not utf-8 \xff but long enough":          ErrNotText, //
		"aaaaaaaaaaaaaaaaaaaa":                    ErrCommon,  //
		"abcdefghijklmnopqrst":                    ErrCommon,  //
		"98765432109876543210":                    ErrCommon,  //
		"passwordpassword":                        ErrCommon,  //
		"PassWord1234567!":                        ErrCommon,  //
		"qwertyuiopasdfgh":                        ErrCommon,  //
		"contraseña123456":                        ErrCommon,  //
		"correct horse battery staple":            ErrCommon,  //
		"m.rivera.m.rivera":                       ErrCommon,  // the sign-in name
		"ｐａｓｓｗｏｒｄｐａｓｓｗｏｒｄ":                        ErrCommon,  // wide letters are the same letters
		"m.rivera has walked the long road":       nil,        //
		"password is not what anybody would take": nil,        //
		"7392018475629341 8256":                   nil,        // digits by chance
	} {
		if err := CheckPassword(password, "m.rivera"); !errors.Is(err, want) {
			t.Errorf("%q: %v, want %v", password, err, want)
		}
	}
	outside.Ran(t, "NIST SP 800-63B-4, 3.1.1.2", "15 characters, 64 and more allowed, code points counted, no composition rules, common ones refused")
}

// No text makes the check of commonness fail or pass what is far too short.
func FuzzCheckPassword(f *testing.F) {
	f.Add("ñlkjñlkjñlkjñlkj", "ñ")
	f.Add("passwordpassword", "")
	f.Fuzz(func(t *testing.T, password, about string) {
		if CheckPassword(password, about) == nil && len(password) < MinPassword {
			t.Errorf("%q was taken", password)
		}
	})
}

// At most two are hashed at once, some wait, the rest are told to come back, and
// who does not want to wait any longer need not.
func TestKitchenIsNotOverrun(t *testing.T) {
	k := newKitchen(cheap)
	for range hashSlots {
		k.slots <- struct{}{}
		k.queue <- struct{}{}
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, hashQueue)
	for range hashQueue {
		go func() {
			_, err := k.hash(ctx, "x")
			done <- err
		}()
	}
	for len(k.queue) < cap(k.queue) {
		runtime.Gosched()
	}
	if _, err := k.hash(ctx, "x"); !errors.Is(err, ErrBusy) {
		t.Errorf("one too many: %v, want ErrBusy", err)
	}
	cancel()
	for range hashQueue {
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Errorf("a waiter who left: %v", err)
		}
	}
	<-k.slots
	<-k.queue
	if _, err := k.hash(context.Background(), "x"); err != nil {
		t.Errorf("with a place free: %v", err)
	}
}

func BenchmarkHash(b *testing.B) {
	k := newKitchen(today)
	for b.Loop() {
		if _, err := k.hash(context.Background(), "a very long pass phrase"); err != nil {
			b.Fatal(err)
		}
	}
}
