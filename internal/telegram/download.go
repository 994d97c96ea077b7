package telegram

import (
	"context"
	"errors"
	"io"
	"net/http"
	"time"

	"github.com/go-telegram/bot"
)

// fetchTimeout is for a file that somebody sent. It is well below the time in which an
// update is to be taken, so that a file that does not come holds up no chat.
const fetchTimeout = 6 * time.Second

// download is what a file that somebody sent holds, most bytes of it at the most. It is
// tried once: who sent it is told and sends it again. Errors are the platform's, without
// the address, which holds the token.
func (c *Client) download(ctx context.Context, id string, most int64) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, fetchTimeout)
	defer cancel()
	file, err := c.api.GetFile(ctx, &bot.GetFileParams{FileID: id})
	if err != nil {
		return nil, c.plainError("getFile", err)
	}
	if file.FilePath == "" {
		return nil, errors.New("getFile: the file has no place")
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, c.api.FileDownloadLink(file), nil)
	if err != nil {
		return nil, errors.New("getFile: the file's place is no address")
	}
	resp, err := c.http.Do(req)
	if err != nil {
		return nil, c.plainError("file", noAnswer(c.cfg.Token, err))
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return nil, c.plainError("file", &transportError{status: resp.StatusCode})
	}
	data, err := io.ReadAll(io.LimitReader(resp.Body, most))
	if err != nil {
		return nil, c.plainError("file", noAnswer(c.cfg.Token, err))
	}
	return data, nil
}
