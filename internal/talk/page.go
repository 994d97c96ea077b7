package talk

// A page in a browser is a chat as any other. Its number is 2^52 or more and below 2^53:
// the platform says of its own that they have at most 52 significant bits, groups are
// below zero, and a number of 53 bits is still one in JSON and in Redis' scripts.
const (
	firstPage = int64(1) << 52
	lastPage  = firstPage<<1 - 1
)

// PageChat makes the chat number of a page out of random bits.
func PageChat(random uint64) int64 { return firstPage | int64(random)&(firstPage-1) }

// IsPage says whether a chat is a page in a browser, and none of the platform's.
func IsPage(chat int64) bool { return chat >= firstPage && chat <= lastPage }
