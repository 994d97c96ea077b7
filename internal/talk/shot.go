package talk

import "sillbot/internal/phrase"

// Spot is a place that a person sent.
type Spot struct {
	Figures string // latitude and longitude in degrees, 5 decimals, which is about a metre
	Address string // in the words of the map that it was picked on; "": it has none
}

// Shot is a photo that a person sent, or a note of sound or moving pictures. It stays with the platform, which sends it again
// by its file id.
type Shot struct {
	File string `json:"f"`
	// Document: it came as a file, and can only go out as one.
	Document bool `json:"d,omitempty"`
	// As is what it is where it is no picture, see opening.Notes.
	As string `json:"k,omitempty"`
	// Album is what the pictures of one album have in common; "": it came by itself.
	Album string `json:"a,omitempty"`
	// Label is what stands under it when it is shown again.
	Label *phrase.Text `json:"l,omitempty"`
}
