// Package dialog is the conversation as a pure function: a state and an input
// in, a new state and replies out. It knows no messaging platform, no
// database and no clock.
package dialog

import (
	"time"

	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// Kind says what arrived.
type Kind string

// The kinds of input.
const (
	Typed   Kind = "typed"   // a text message, commands included
	Pressed Kind = "pressed" // a button; Text is its data
	Edited  Kind = "edited"  // an edit of an earlier message; Text is the new text
	Photo   Kind = "photo"
	Voice   Kind = "voice"
	Sticker Kind = "sticker"
	Other   Kind = "other" // anything else that a person sent
)

// Input is one thing that a person did.
type Input struct {
	Kind Kind
	Text string
	Now  time.Time // when the update was taken
	// Lang is the language that the person's device names, such as "en". It
	// only serves until the person chooses one.
	Lang string
}

// Button is one choice under a reply. Data is at most 64 bytes.
type Button struct {
	Label phrase.Text `json:"label"`
	Data  string      `json:"data"`
}

// Picture is a picture to be drawn at the edge.
type Picture struct {
	Opening plan.Opening `json:"opening"`
}

// Reply is one message to send.
type Reply struct {
	Text    phrase.Text `json:"text"`
	Lang    string      `json:"lang"`
	Buttons [][]Button  `json:"buttons,omitempty"`
	Picture *Picture    `json:"picture,omitempty"` // with Text as its caption
	// Open is the key of the question that is open after this reply; "" when
	// none is.
	Open string `json:"open,omitempty"`
}
