package terminal

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/sheet"
)

// event is one line of JSON from a program: who writes, and exactly one of
// text, press, photo, file, kind, show and reach. A text may go with a kind, caption and
// album with a photo.
type event struct {
	Chat  int64  `json:"chat"`
	User  int64  `json:"user"`
	Group bool   `json:"group"`
	Name  string `json:"name"` // what the person is called
	Now   string `json:"now"`  // RFC 3339; "": the clock

	Text  *string     `json:"text"`
	Press string      `json:"press"` // a button's data
	Photo string      `json:"photo"` // the file id that it is to have
	Words string      `json:"caption"`
	Album string      `json:"album"` // what the photos of one album have in common
	File  string      `json:"file"`  // a path
	Kind  dialog.Kind `json:"kind"`  // one of sendable
	Show  string      `json:"show"`  // "record": what is known of what is at hand; no turn
	Reach *bool       `json:"reach"` // false: nothing reaches the chat from now on, as if it had blocked the bot; no turn
}

// showRecord asks for the record at hand.
const showRecord = "record"

// sendable are the kinds of message that a program may name without giving
// what the message holds.
var sendable = []dialog.Kind{dialog.Photo, dialog.File, dialog.Voice, dialog.Sticker, dialog.Edited, dialog.Other}

// mostFileID is the longest file id of a photo, in bytes.
const mostFileID = 200

// readEvent decodes a line that holds one object. With an error the event
// holds what was read before it.
func readEvent(line string) (e event, err error) {
	decoder := json.NewDecoder(strings.NewReader(line))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&e); err != nil {
		return e, err
	}
	if _, err := decoder.Token(); err != io.EOF {
		return e, errors.New("more than one object in a line")
	}
	return e, nil
}

// check says what keeps an event from being taken.
func (e event) check() error {
	if e.Chat == 0 {
		return errors.New("chat is missing")
	}
	if _, err := time.Parse(time.RFC3339, e.Now); e.Now != "" && err != nil {
		return fmt.Errorf("now is no time like 2026-11-25T12:00:00Z: %q", e.Now)
	}
	given := 0
	for _, is := range []bool{e.Text != nil && e.Kind == "", e.Press != "", e.Photo != "", e.File != "", e.Kind != "", e.Show != "", e.Reach != nil} {
		if is {
			given++
		}
	}
	if given != 1 {
		return fmt.Errorf("give one of text, press, photo, file, kind, show and reach, not %d", given)
	}
	if e.Kind != "" && !slices.Contains(sendable, e.Kind) {
		return fmt.Errorf("kind is none of %v: %q", sendable, string(e.Kind))
	}
	if e.Show != "" && e.Show != showRecord {
		return fmt.Errorf("show is not %q: %q", showRecord, e.Show)
	}
	if (e.Words != "" || e.Album != "") && e.Photo == "" {
		return errors.New("caption and album go with photo")
	}
	if len(e.Photo) > mostFileID {
		return fmt.Errorf("photo is longer than %d bytes", mostFileID)
	}
	if e.File != "" {
		info, err := os.Stat(e.File)
		if err == nil && !info.Mode().IsRegular() {
			err = fmt.Errorf("%s is no file", e.File)
		}
		return err
	}
	return nil
}

// table is what a CSV holds, one byte more than an answer file may at the most; nil
// for any other file.
func (e event) table() ([]byte, error) {
	if !strings.EqualFold(filepath.Ext(e.File), ".csv") {
		return nil, nil
	}
	file, err := os.Open(e.File)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, sheet.MostAnswerBytes+1))
}

// input is what the person did, at now unless the event says when.
func (e event) input(now time.Time) dialog.Input {
	in := dialog.Input{Kind: dialog.Typed, Name: e.Name, Now: now}
	if at, err := time.Parse(time.RFC3339, e.Now); err == nil {
		in.Now = at
	}
	if e.Text != nil {
		in.Text = *e.Text
	}
	switch {
	case e.Press != "":
		in.Kind, in.Text = dialog.Pressed, e.Press
	case e.Photo != "":
		in.Kind, in.Text, in.Shot = dialog.Photo, e.Words, &dialog.Shot{File: e.Photo, Album: e.Album}
	case e.File != "":
		in.Kind = dialog.File
	case e.Kind != "":
		in.Kind = e.Kind
	}
	return in
}
