package telegramtest

import "regexp"

// live are what the platform makes something to press of in a text by itself: the kinds of
// MessageEntity (core.telegram.org/bots/api), the forms as TDLib has them in
// td/telegram/MessageEntity.cpp, as far as they could be given from memory, and rather
// wider.
var live = []*regexp.Regexp{
	regexp.MustCompile(`@[\pL\pN_]{2,}`),
	regexp.MustCompile(`(?:^|[^\pL\pN_/<>])/[A-Za-z0-9_]{1,64}`),
	regexp.MustCompile(`#[\pL\pN_]+`),
	regexp.MustCompile(`\$[A-Z0-9]{1,8}`),
	regexp.MustCompile(`(?i)\b(?:https?|ftp|tg|ton|tonsite)://`),
	regexp.MustCompile(`[\pL\pN_-]+\.\pL{2,}`), // a host; the platform has a list of last parts
	regexp.MustCompile(`[\pL\pN_.+-]+@[\pL\pN_][\pL\pN_-]*`),
	regexp.MustCompile(`(?:\+|\b0)[0-9][0-9 ()./-]{6,}`),
}

// Live are the parts of a shown text that the platform would make something to press of.
func Live(shown string) (parts []string) {
	for _, form := range live {
		parts = append(parts, form.FindAllString(shown, -1)...)
	}
	return parts
}
