// Package dialog is the conversation as a pure function: a state and an input
// in, a new state and replies out. It knows no messaging platform, no
// database and no clock.
package dialog

import "sillbot/internal/talk"

// What passes the border is declared in package talk.
type (
	Ask      = talk.Ask
	Asked    = talk.Asked
	Button   = talk.Button
	Document = talk.Document
	Forget   = talk.Forget
	Input    = talk.Input
	Kind     = talk.Kind
	Letter   = talk.Letter
	Link     = talk.Link
	Lost     = talk.Lost
	Mail     = talk.Mail
	Paper    = talk.Paper
	Picture  = talk.Picture
	Card     = talk.Card
	Reply    = talk.Reply
	Seat     = talk.Seat
	Tape     = talk.Tape
	Shot     = talk.Shot
	Spot     = talk.Spot
	Why      = talk.Why
)

// The kinds of input.
const (
	Typed   = talk.Typed
	Pressed = talk.Pressed
	Edited  = talk.Edited
	Photo   = talk.Photo
	File    = talk.File
	Voice   = talk.Voice
	Sticker = talk.Sticker
	Place   = talk.Place
	Other   = talk.Other
	Mailed  = talk.Mailed

	Undelivered = talk.Undelivered
	Returned    = talk.Returned
	Moved       = talk.Moved
	Added       = talk.Added
	Due         = talk.Due
)

// Why a reply was given up.
const (
	Gone    = talk.Gone
	Late    = talk.Late
	Refused = talk.Refused
	Left    = talk.Left
)

// The papers.
const (
	OrderPDF    = talk.OrderPDF
	OrderCSV    = talk.OrderCSV
	OrderJSON   = talk.OrderJSON
	CheckPDF    = talk.CheckPDF
	CustomerPDF = talk.CustomerPDF
	FilePDF     = talk.FilePDF
	QuotePDF    = talk.QuotePDF
	Held        = talk.Held
)
