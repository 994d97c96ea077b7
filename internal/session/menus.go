package session

import (
	"context"
	"strings"
)

// menuKey holds the languages in which the platform was given a menu. It has no end: only
// this says what there is to be deleted when a language goes.
const menuKey = "sb:menu"

// Menus are the languages in which menus were set, in order.
func (s *Store) Menus(ctx context.Context) (languages []string, err error) {
	data, err := found("menus", s.rdb.Get(ctx, menuKey))
	return strings.Fields(string(data)), err
}

// KeepMenus keeps them.
func (s *Store) KeepMenus(ctx context.Context, languages []string) error {
	return failedIn("menus", s.rdb.Set(ctx, menuKey, strings.Join(languages, " "), 0).Err())
}
