// Command trial runs the messaging server for a hand trial: start it, start
// the bot with the two settings that it prints, and type as a person would.
//
//	1204            types "1204" in chat 1
//	7: 1204         types it in chat 7
//	!Yes            presses the button "Yes" in chat 1
//	7: !Yes         presses it in chat 7
//	?photo          sends a photo (voice, sticker, document, …)
//
// What the bot sends is printed; pictures go to the folder given by -pictures.
// It ends with the input.
package main

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"sillbot/internal/telegram/telegramtest"
)

func main() {
	listen := flag.String("listen", "127.0.0.1:8081", "loopback address to listen on")
	pictures := flag.String("pictures", "", "folder for the pictures; empty: they are not kept")
	flag.Parse()
	server, err := telegramtest.Listen(*listen)
	if err != nil {
		log.Fatal(err)
	}
	defer server.Close()
	if *pictures != "" {
		if err := os.MkdirAll(*pictures, 0o755); err != nil {
			log.Print(err)
			return
		}
	}
	fmt.Printf("TELEGRAM_API=%s TELEGRAM_TOKEN=%s\n", server.URL, telegramtest.Token)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	go show(ctx, server, *pictures)
	lines := bufio.NewScanner(os.Stdin)
	for lines.Scan() {
		if err := act(server, lines.Text()); err != nil {
			fmt.Println("#", err)
		}
	}
}

// act does what one line says.
func act(server *telegramtest.Server, line string) error {
	chat := int64(1)
	if number, rest, ok := strings.Cut(line, ": "); ok {
		if id, err := strconv.ParseInt(number, 10, 64); err == nil {
			chat, line = id, rest
		}
	}
	switch {
	case line == "":
		return nil
	case strings.HasPrefix(line, "!"):
		_, err := server.PressLast(chat, chat, line[1:])
		return err
	case strings.HasPrefix(line, "?"):
		server.Attach(chat, chat, line[1:], "")
	default:
		server.Type(chat, line)
	}
	return nil
}

// show prints what the bot sends.
func show(ctx context.Context, server *telegramtest.Server, pictures string) {
	for shown := 0; ; {
		var sent []telegramtest.Sent
		more := func() bool { sent = server.AllSent(); return len(sent) > shown }
		if server.Wait(ctx, more) != nil && ctx.Err() != nil {
			return
		}
		for _, m := range sent[min(shown, len(sent)):] {
			fmt.Printf("< %d: %s\n", m.Chat, strings.ReplaceAll(m.Text, "\n", "\n<    "))
			for _, row := range m.Buttons {
				fmt.Print("<   ")
				for _, b := range row {
					fmt.Printf(" [%s]", b.Label)
				}
				fmt.Println()
			}
			keep(m, pictures)
		}
		shown = max(shown, len(sent))
	}
}

func keep(m telegramtest.Sent, folder string) {
	if m.Photo == nil || folder == "" {
		return
	}
	path := filepath.Join(folder, fmt.Sprintf("%d-%d.png", m.Chat, m.ID))
	if err := os.WriteFile(path, m.Photo, 0o600); err != nil {
		fmt.Println("#", err)
		return
	}
	fmt.Println("<   ", path)
}
