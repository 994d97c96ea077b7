package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

func TestWhereOrderPagesMayBe(t *testing.T) {
	for _, c := range []struct {
		env    map[string]string
		listen string
		hook   string
		says   string
	}{
		{map[string]string{"WEB_URL": "https://o.example/desk"}, ":1", "/hook", ""},
		{map[string]string{"WEB_URL": "https://o.example", "WEB_LISTEN": ":2", "WEB_PROXIES": "1"}, "", "", ""},
		{map[string]string{"WEB_URL": "https://o.example"}, ":1", "/hook", "has no path"},
		{map[string]string{"WEB_URL": "https://o.example/desk"}, "", "", "WEB_LISTEN, or LISTEN"},
		{map[string]string{"WEB_URL": "http://o.example/desk"}, ":1", "", "https"},
		{map[string]string{"WEB_URL": "https://hunter2@o.example/desk"}, ":1", "", "no address"},
		{map[string]string{"WEB_URL": "https://o.example/desk"}, ":1", "/desk/hook", "another path"},
		{map[string]string{"WEB_LISTEN": ":2"}, "", "", "WEB_URL is not"},
		{map[string]string{"WEB_URL": "https://o.example/desk", "WEB_PROXIES": "many"}, ":1", "", "WEB_PROXIES"},
		{map[string]string{"WEB_URL": "https://o.example/desk", "WEB_PROXIES": "-1"}, ":1", "", "WEB_PROXIES"},
	} {
		_, err := pagesOf(func(name string) string { return c.env[name] }, c.listen, c.hook)
		if c.says == "" {
			require.NoError(t, err)
			continue
		}
		require.ErrorContains(t, err, c.says)
		require.NotContains(t, err.Error(), "hunter2")
	}
}

// TestADeskInABrowser: a link is opened at a program that then dies; its successor shows
// the page, takes what is pressed, and leaves in time though the page is followed.
func TestADeskInABrowser(t *testing.T) {
	r := newRig(t, true)
	ctx := within(t, 2*time.Minute)
	own := fmt.Sprintf("localhost:%d", sessiontest.Port(t))
	env := r.env()
	env["WEB_URL"], env["WEB_LISTEN"] = "http://"+own+"/desk", own
	p := launch(t, env, "serve")
	require.NoError(t, p.ready(ctx), "%s", p.log)
	said := func() (all string) {
		for _, m := range r.server.Sent(1) {
			all += m.Text + "\n"
		}
		return all
	}
	for _, text := range []string{
		"England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left arch bedroom first 900 4-20-4 no",
		"job", "invite desk", "send 1 anyway",
	} {
		r.server.Type(1, text)
	}
	link := regexp.MustCompile(`/desk/o#([A-Za-z0-9_-]+)`)
	require.NoError(t, r.wait(ctx, func() bool { return link.MatchString(said()) && strings.Contains(said(), "revision") }))
	token := link.FindStringSubmatch(said())[1]

	var cookie string
	ask := func(method, path string, form url.Values) (int, string) {
		req, err := http.NewRequestWithContext(ctx, method, "http://"+own+path, strings.NewReader(form.Encode()))
		require.NoError(t, err)
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", "http://"+own)
		req.Header.Set("Cookie", cookie)
		client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		res, err := client.Do(req)
		require.NoError(t, err)
		defer res.Body.Close()
		if set := res.Header.Get("Set-Cookie"); set != "" {
			cookie, _, _ = strings.Cut(set, ";")
		}
		body, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		return res.StatusCode, string(body)
	}
	status, _ := ask(http.MethodPost, "/desk/o", url.Values{"token": {token}})
	require.Equal(t, http.StatusSeeOther, status, "%s", p.log)
	for _, path := range []string{"/readyz", "/metrics", "/hook", "/"} {
		status, _ = ask(http.MethodGet, path, nil)
		require.Equal(t, http.StatusNotFound, status, path)
	}
	p.kill()
	p = launch(t, env, "serve")
	require.NoError(t, p.ready(ctx), "%s", p.log)
	status, body := ask(http.MethodGet, "/desk/order/1", nil)
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, body, "revision A")
	csrf := regexp.MustCompile(`name="csrf" value="([^"]+)"`).FindStringSubmatch(body)[1]
	status, _ = ask(http.MethodPost, "/desk/order/1", url.Values{"csrf": {csrf}, "do": {"confirmall"}, "revision": {"A"}})
	require.Equal(t, http.StatusSeeOther, status)
	require.NoError(t, r.wait(ctx, func() bool { return strings.Contains(said(), "is confirmed") }), "%s", said())

	following, stop := context.WithCancel(ctx)
	defer stop()
	req, err := http.NewRequestWithContext(following, http.MethodGet, "http://"+own+"/desk/order/1/live", nil)
	require.NoError(t, err)
	req.Header.Set("Cookie", cookie)
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	p.terminate(t)
	require.NotContains(t, p.log.String(), "requests were cut off", "who follows a page is let go")
	require.NotContains(t, p.log.String(), token)
	require.NotContains(t, p.log.String(), strings.TrimPrefix(cookie, "__Host-order="))
}
