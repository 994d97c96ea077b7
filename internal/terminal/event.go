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
	"sillbot/internal/opening"
	"sillbot/internal/sheet"
	"sillbot/internal/talk"
)

// event is one line of JSON from a program: who writes, and exactly one of
// text, press, photo, note, place, file, kind, show and reach. A text may go with a kind,
// caption and album with a photo or a note, as with a note, and address with a place.
type event struct {
	Chat  int64  `json:"chat"`
	User  int64  `json:"user"`
	Group bool   `json:"group"`
	Name  string `json:"name"` // what the person is called
	Now   string `json:"now"`  // RFC 3339; "": the clock

	Text  *string     `json:"text"`
	Press string      `json:"press"` // a button's data
	Photo string      `json:"photo"` // the file id that it is to have
	Note  string      `json:"note"`  // the file id that it is to have
	As    string      `json:"as"`    // what the note is: one of opening.Notes
	Words string      `json:"caption"`
	Album string      `json:"album"` // what those of one album have in common
	Place string      `json:"place"` // latitude and longitude in degrees: "51.5, -0.12"
	At    string      `json:"address"`
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

// mostFileID is the longest file id of a photo or a note, in bytes.
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
	for _, is := range []bool{e.Text != nil && e.Kind == "", e.Press != "", e.Photo != "", e.Note != "", e.Place != "", e.File != "", e.Kind != "", e.Show != "", e.Reach != nil} {
		if is {
			given++
		}
	}
	if given != 1 {
		return fmt.Errorf("give one of text, press, photo, note, place, file, kind, show and reach, not %d", given)
	}
	if e.Kind != "" && !slices.Contains(sendable, e.Kind) {
		return fmt.Errorf("kind is none of %v: %q", sendable, string(e.Kind))
	}
	if e.Show != "" && e.Show != showRecord {
		return fmt.Errorf("show is not %q: %q", showRecord, e.Show)
	}
	if err := e.checkSent(); err != nil {
		return err
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

// checkSent says what is wrong with a photo, a note or a place.
func (e event) checkSent() error {
	switch {
	case (e.Words != "" || e.Album != "") && e.Photo == "" && e.Note == "":
		return errors.New("caption and album go with photo or note")
	case len(e.Photo) > mostFileID || len(e.Note) > mostFileID:
		return fmt.Errorf("photo or note is longer than %d bytes", mostFileID)
	case (e.Note != "" || e.As != "") && !slices.Contains(opening.Notes, e.As):
		return fmt.Errorf("as is none of %v: %q", opening.Notes, e.As)
	case e.As != "" && e.Note == "":
		return errors.New("as goes with note")
	case e.At != "" && e.Place == "":
		return errors.New("address goes with place")
	case e.Place != "" && e.spot() == nil:
		return fmt.Errorf("place is none like 51.5, -0.12: %q", e.Place)
	}
	return nil
}

// spot is where a place lies, nil for one that is none.
func (e event) spot() *talk.Spot {
	latitude, longitude, _ := strings.Cut(e.Place, ",")
	s := talk.SpotAt(strings.TrimSpace(latitude), strings.TrimSpace(longitude))
	if s != nil {
		s.Address = e.At
	}
	return s
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
	case e.Note != "":
		in.Kind, in.Text, in.Shot = dialog.Voice, e.Words, &dialog.Shot{File: e.Note, As: e.As, Album: e.Album}
	case e.Place != "":
		in.Kind, in.Spot = dialog.Place, e.spot()
	case e.File != "":
		in.Kind = dialog.File
	case e.Kind != "":
		in.Kind = e.Kind
	}
	return in
}
