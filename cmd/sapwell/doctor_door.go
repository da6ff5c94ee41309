package main

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"time"

	"sapwell/engine/why"
)

// door finds out whether a server answers at the address, or whether one could
// listen there.
func (d *doctor) door() {
	l, err := net.Listen("tcp", d.Listen)
	if err == nil {
		_ = l.Close() // nobody came
		d.well("doctor.address", d.say.Say("doctor.address_free", why.T("address", d.Listen)))
		return
	}
	for _, scheme := range []string{"http", "https"} {
		if version, err := d.answers(scheme + "://" + d.Listen + "/healthz"); err == nil {
			d.well("doctor.address", d.say.Say("doctor.address_served", why.T("address", scheme+"://"+d.Listen), why.T("version", version)))
			return
		}
	}
	d.wrong("doctor.address", err.Error(), "doctor.address_remedy")
}

// answers asks for the version of a server of ours. Nothing is told to it, so its
// certificate need not be one that is trusted.
func (d *doctor) answers(at string) (string, error) {
	ctx, cancel := context.WithTimeout(d.ctx, 2*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, at, nil)
	if err != nil {
		return "", err
	}
	client := http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, DisableKeepAlives: true}} //nolint:gosec // see above
	answer, err := client.Do(r)
	if err != nil {
		return "", err
	}
	defer answer.Body.Close() //nolint:errcheck // it was only read
	var health struct{ Status, Version string }
	err = json.NewDecoder(io.LimitReader(answer.Body, 4096)).Decode(&health)
	if err == nil && health.Status != "running" {
		err = errors.New("another program")
	}
	return health.Version, err
}
