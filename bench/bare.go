package main

import (
	"context"
	"errors"
	"net/http"
	"os"
	"strconv"
	"time"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"
	"github.com/redis/go-redis/v9"
)

// What the bare bot stores and says, about the size of the program's own.
const (
	bareState = `{"v":1,"c":1,"a":["nation=england","date=2026-11-25","finish=bare","sill=none","material=pvcu-white","width_top=1204",` +
		`"width_middle=1202","width_bottom=1203","height_left=1050","height_middle=1052","height_right=1051"],"k":["nation=england","date=2026-11-25"]}`
	bareReply = "Top width: 1204 mm\nMiddle width? Side to side in the opening, never the old frame. Send it in millimetres."
)

// bare is the bot to compare with: the library's own webhook receiver, one
// GET, one SET and one sendMessage for each message. It acknowledges a message
// before it has done anything, and loses it if it dies.
func bare() error {
	o, err := redis.ParseURL(os.Getenv("REDIS_URL"))
	if err != nil {
		return err
	}
	store := redis.NewClient(o)
	// The default transport keeps two connections, which would slow it down.
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.MaxIdleConnsPerHost = 128
	b, err := bot.New(os.Getenv("TELEGRAM_TOKEN"),
		bot.WithSkipGetMe(),
		bot.WithServerURL(os.Getenv("TELEGRAM_API")),
		bot.WithWebhookSecretToken(os.Getenv("WEBHOOK_SECRET")),
		bot.WithHTTPClient(30*time.Second, &http.Client{Transport: transport}),
		bot.WithDefaultHandler(func(ctx context.Context, b *bot.Bot, u *models.Update) {
			key := strconv.FormatInt(u.Message.Chat.ID, 10)
			if err := store.Get(ctx, key).Err(); err != nil && !errors.Is(err, redis.Nil) {
				panic(err)
			}
			if err := store.Set(ctx, key, bareState, 90*24*time.Hour).Err(); err != nil {
				panic(err)
			}
			if _, err := b.SendMessage(ctx, &bot.SendMessageParams{ChatID: u.Message.Chat.ID, Text: bareReply}); err != nil {
				panic(err)
			}
		}),
	)
	if err != nil {
		return err
	}
	go b.StartWebhook(context.Background())
	go http.ListenAndServe(os.Getenv("LISTEN_OPS"), http.HandlerFunc(func(http.ResponseWriter, *http.Request) {})) // it is always ready
	return http.ListenAndServe(os.Getenv("LISTEN"), b.WebhookHandler())
}
