package opening

// Stated are the values that stand on the order line as they were said.
func (o Opening) Stated() []Pair {
	var stated []Pair
	for _, f := range keyed {
		if !f.Is(OnOrder) {
			continue
		}
		if value := f.from(&o, ""); value != "" {
			stated = append(stated, Pair{f.Key, value})
		}
	}
	return stated
}
