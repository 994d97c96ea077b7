package opening

import "strconv"

// Key names a field. Keys are storage.
type Key string

// keys are the fields in the order of the survey.
var keys = surveyKeys()

const fieldCount = 64

func surveyKeys() []Key {
	list := []Key{
		"nation", "date", "finish", "sill", "material",
		"width.top", "width.middle", "width.bottom", "height.left", "height.middle", "height.right",
		"inner.width", "inner.height", "diagonal.rising", "diagonal.falling", "sill.fall", "layout",
	}
	for n := 1; n <= 3; n++ {
		list = append(list, Key("mullion."+strconv.Itoa(n)))
	}
	list = append(list, "transom")
	for n := 1; n <= 8; n++ {
		list = append(list, Key("light."+strconv.Itoa(n)))
	}
	return append(list,
		"over", "room", "bath", "floor", "storey", "outside", "door", "glass", "vents",
		"pattern", "bedjoint", "restrictor", "release", "area", "tight",
		"name", "count", "colour", "hardware", "due", "price",
	)
}

var places = func() map[Key]int {
	m := make(map[Key]int, len(keys))
	for i, key := range keys {
		m[key] = i
	}
	return m
}()

// Index is the field's place in the table.
func Index(key Key) (int, bool) {
	i, ok := places[key]
	return i, ok
}

func keyAt(i int) Key { return keys[i] }

// covered says whether a signature covers the field.
func covered(i int) bool {
	switch keys[i] {
	case "due", "price", "name", "pattern", "bedjoint", "tight":
		return false
	}
	return true
}
