package session

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheLanguagesOfMenusAreKept(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		languages, err := s.Menus(t.Context())
		require.NoError(t, err)
		require.Empty(t, languages)
		require.NoError(t, s.KeepMenus(t.Context(), []string{"de", "pl"}))
		languages, err = s.Menus(t.Context())
		require.NoError(t, err)
		require.Equal(t, []string{"de", "pl"}, languages)
		require.NoError(t, s.KeepMenus(t.Context(), nil))
	})
}
