package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"sillbot/internal/orderpage"
)

// orderPages is where pages for a desk and a customer without the messenger are.
type orderPages struct {
	url     string // to everybody; "": there are none
	base    string // path that they stand under
	link    string // where a link begins
	listen  string // an address of their own; "": that of the webhook, under base
	proxies int    // programs before this one that say who called them
}

// shared: pages are at the webhook's address.
func (w orderPages) shared() bool { return w.url != "" && w.listen == "" }

// pagesOf reads the settings of pages; listen and hook are the address and the path of the
// webhook. No error repeats an address.
func pagesOf(get func(string) string, listen, hook string) (orderPages, error) {
	w := orderPages{url: get("WEB_URL"), listen: get("WEB_LISTEN")}
	if w.url == "" {
		if w.listen != "" {
			return w, errors.New("WEB_LISTEN is set and WEB_URL is not: links would lead nowhere")
		}
		return w, nil
	}
	var err error
	if w.base, w.link, err = orderpage.Base(w.url); err != nil {
		return w, fmt.Errorf("WEB_URL: %w", err)
	}
	if n := get("WEB_PROXIES"); n != "" {
		if w.proxies, err = strconv.Atoi(n); err != nil || w.proxies < 0 || w.proxies > 10 {
			return w, errors.New("WEB_PROXIES is no number of programs that stand before this one")
		}
	}
	switch {
	case w.listen != "":
	case listen == "":
		return w, errors.New("WEB_URL needs WEB_LISTEN, or LISTEN, to listen on")
	case w.base == "":
		return w, errors.New("WEB_URL has no path: give it one, such as /desk, or set WEB_LISTEN")
	case strings.HasPrefix(hook, w.base+"/"):
		return w, errors.New("WEBHOOK_URL lies under WEB_URL: give one of them another path")
	}
	return w, nil
}
