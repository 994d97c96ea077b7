package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"time"
)

// askReady asks the program that runs with this environment whether it is ready,
// for a container's health check: an image without a shell has nothing else to
// ask with. Errors: nobody answers there, or what is not ready.
func askReady(ctx context.Context, get func(string) string, out io.Writer) error {
	address := cmp.Or(get("LISTEN_OPS"), get("LISTEN"))
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return errors.New("neither LISTEN_OPS nor LISTEN is an address to ask at")
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "localhost"
	}
	ctx, cancel := context.WithTimeout(ctx, lookMost+2*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+net.JoinHostPort(host, port)+"/readyz", nil)
	if err != nil {
		return err
	}
	direct := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}} // through no proxy
	resp, err := direct.Do(req)
	if err != nil {
		return fmt.Errorf("nobody answers at %s: %w", address, err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, 1<<14))
	if err != nil {
		return err
	}
	said := strings.TrimSpace(string(body))
	if resp.StatusCode != http.StatusOK {
		return errors.New(cmp.Or(said, resp.Status))
	}
	_, err = fmt.Fprintln(out, said)
	return err
}
