package session

import (
	"errors"
	"net"
	"net/url"
	"regexp"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// The schemes of an address that names Sentinels, and what they are for one
// server.
var sentinelSchemes = map[string]string{"redis+sentinel": "redis", "rediss+sentinel": "rediss"}

func isSentinel(list string) bool {
	scheme, _, _ := strings.Cut(strings.TrimSpace(list), "://")
	return sentinelSchemes[scheme] != ""
}

// sentinel reads an address of the form
//
//	redis+sentinel://[USER:PASSWORD@]HOST[:26379][,HOST…]/NAME[?OPTION=…]
//
// with the Sentinels and the name that they know the primary by. USER and
// PASSWORD are Redis' own; the Sentinels' are the options sentinel_username and
// sentinel_password, the database is the option db, and the other options are
// those of an address of one node. With rediss+sentinel Redis and the Sentinels
// speak TLS. Errors quote nothing of the address.
func sentinel(list string) (*redis.FailoverOptions, error) {
	scheme, rest, _ := strings.Cut(strings.TrimSpace(list), "://")
	rest, query, _ := strings.Cut(rest, "?")
	who := ""
	if at := strings.LastIndex(rest, "@"); at >= 0 {
		who, rest = rest[:at+1], rest[at+1:]
	}
	hosts, name, _ := strings.Cut(rest, "/")
	if !regexp.MustCompile(`^[A-Za-z0-9._-]+$`).MatchString(name) {
		return nil, errors.New("redis address: after the Sentinels comes / and the name that they know the primary by")
	}
	var addrs []string
	for _, host := range strings.Split(hosts, ",") {
		addr, err := sentinelAddr(strings.TrimSpace(host))
		if err != nil {
			return nil, err
		}
		addrs = append(addrs, addr)
	}
	u, err := url.Parse(sentinelSchemes[scheme] + "://" + who + addrs[0])
	if err != nil {
		return nil, errors.New("redis address: the user or the password has characters that must be written as %XX")
	}
	q, err := url.ParseQuery(query)
	if err != nil {
		return nil, errors.New("redis address: the options can't be read")
	}
	if u.User != nil {
		password, _ := u.User.Password()
		q.Set("username", u.User.Username())
		q.Set("password", password)
	}
	u.User = nil
	if q.Has("sentinel_password") {
		u.User = url.UserPassword(q.Get("sentinel_username"), q.Get("sentinel_password"))
	}
	for _, ours := range []string{"sentinel_username", "sentinel_password"} {
		q.Del(ours)
	}
	q.Set("master_name", name)
	q["addr"] = addrs[1:]
	u.RawQuery = q.Encode()
	o, err := redis.ParseFailoverURL(u.String())
	if err != nil || o.ReplicaOnly || o.RouteByLatency || o.RouteRandomly {
		return nil, errors.New("redis address: an option is not known, or its value can't be read")
	}
	o.ContextTimeoutEnabled = true
	if o.DialTimeout == 0 {
		o.DialTimeout = 5 * time.Second // the library sets none on the way from Sentinel to Redis
	}
	if o.TLSConfig != nil {
		o.TLSConfig.ServerName = "" // each server has its own
	}
	return o, nil
}

// sentinelAddr is a host with its port, Sentinel's usual one if there is none.
func sentinelAddr(host string) (string, error) {
	name, port, err := net.SplitHostPort(host)
	if err != nil {
		name, port, err = net.SplitHostPort(host + ":26379")
	}
	if err != nil || name == "" || !regexp.MustCompile(`^[0-9]{1,5}$`).MatchString(port) {
		return "", errors.New("redis address: the Sentinels are a comma list of HOST:PORT")
	}
	return net.JoinHostPort(name, port), nil
}
