package dialog

// NeedsPeople says whether Step needs the list of who may use the bot, in
// Input.Access.
func NeedsPeople(s State, in Input) bool { return false }
