package main

import (
	"context"
	"encoding/json"
	"fmt"

	"sillbot/internal/calc"
	"sillbot/internal/card"
	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/scene"
	"sillbot/internal/session"
	"sillbot/internal/sheet"
	"sillbot/locales"
)

// papers makes the files that people ask for in chat.
func papers(words *locales.Catalogue, store *session.Store) func(context.Context, string, int64, dialog.Document) (string, []byte, error) {
	return func(ctx context.Context, lang string, chat int64, d dialog.Document) (string, []byte, error) {
		printer := sheet.Printer{Say: func(t phrase.Text) string { return words.Plain(lang, t) }, At: d.At}
		data, err := paper(ctx, printer, store, chat, d)
		if err != nil {
			return "", nil, fmt.Errorf("making %s: %w", d.Paper, err)
		}
		return string(d.Paper), data, nil
	}
}

func paper(ctx context.Context, printer sheet.Printer, store *session.Store, chat int64, d dialog.Document) ([]byte, error) {
	switch {
	case d.Paper == dialog.Held:
		held, err := store.Export(ctx, chat, d.User)
		if err != nil {
			return nil, err
		}
		return json.MarshalIndent(held, "", "  ")
	case d.Paper == dialog.CheckPDF && d.Check != nil:
		return printer.Check(*d.Check, d.Both)
	case d.Paper == dialog.CustomerPDF && d.Customer != nil:
		return printer.Customer(*d.Customer)
	case d.Paper == dialog.QuotePDF && d.Quote != nil:
		return printer.Quote(*d.Quote)
	case d.Paper == dialog.FilePDF && d.File != nil:
		return printer.File(*d.File)
	case d.Order == nil:
		return nil, fmt.Errorf("a document without what it is made of")
	case d.Paper == dialog.OrderPDF:
		return printer.Order(*d.Order)
	case d.Paper == dialog.OrderCSV:
		return printer.CSV(*d.Order)
	case d.Paper == dialog.OrderJSON:
		return printer.JSON(*d.Order)
	}
	return nil, fmt.Errorf("no paper of that kind")
}

// painter draws cards and sketches in the words of the reader's language.
func painter(words *locales.Catalogue) func(context.Context, string, dialog.Picture) ([]byte, error) {
	return func(_ context.Context, lang string, picture dialog.Picture) ([]byte, error) {
		if picture.Reading != "" {
			return scene.Sketch(picture.Reading, picture.Under, func(t phrase.Text) string { return words.Plain(lang, t) })
		}
		p, err := plan.Make(picture.Opening, calc.DefaultSettings())
		if err != nil {
			return nil, err
		}
		return drawCard(words, lang, p, card.Of{Job: picture.Job, Glass: picture.Glass})
	}
}

func drawCard(words *locales.Catalogue, lang string, p plan.Plan, of card.Of) ([]byte, error) {
	return card.Draw(p, of, func(t phrase.Text) string { return words.Plain(lang, t) })
}
