package server

import (
	"context"
	"crypto/tls"
	"errors"
	"log"
	"log/slog"
	"net"
	"net/http"
	"time"

	"sapwell/server/door"
)

// goodbye is how long requests may take to end when the server is told to.
const goodbye = 20 * time.Second

// Serve answers on a listener until ctx ends: then it lets the live pages go, takes
// no new requests and waits for those that are under way. config is nil without TLS.
func (s *Server) Serve(ctx context.Context, l net.Listener, config *tls.Config) error {
	web := &http.Server{
		Handler: s, TLSConfig: config,
		ErrorLog: log.New(&quietLog{s.Log}, "", 0),
		// The door moves these on for answers that go on.
		ReadTimeout: 2 * time.Minute, WriteTimeout: 2 * time.Minute,
	}
	door.Harden(web)
	web.RegisterOnShutdown(s.live.close)
	failed := make(chan error, 1)
	go func() {
		if config != nil {
			failed <- web.ServeTLS(l, "", "")
			return
		}
		failed <- web.Serve(l)
	}()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	ending, cancel := context.WithTimeout(context.WithoutCancel(ctx), goodbye)
	defer cancel()
	if err := web.Shutdown(ending); err != nil {
		return errors.Join(err, web.Close())
	}
	return nil
}

// quietLog takes what net/http says of connections: with addresses, which do not
// belong into our log.
type quietLog struct{ log *slog.Logger }

func (q *quietLog) Write(b []byte) (int, error) {
	q.log.Debug("connection", "bytes", len(b))
	return len(b), nil
}
