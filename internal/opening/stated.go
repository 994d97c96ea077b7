package opening

import (
	"fmt"
	"reflect"
)

// Stated are the values that stand on the order line as they were said.
func (o Opening) Stated() []Pair {
	var stated []Pair
	for _, f := range keyed {
		if !f.Is(OnOrder) {
			continue
		}
		if f.File == "" {
			if value := f.from(&o, ""); value != "" {
				stated = append(stated, Pair{f.Key, value})
			}
			continue
		}
		for v := range placesIn(reflect.ValueOf(o), f.steps) {
			if !v.IsZero() {
				stated = append(stated, Pair{f.Key, fmt.Sprint(v.Interface())})
			}
		}
	}
	return stated
}
