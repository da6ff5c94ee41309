package door

// Patterns lists the door's own routes.
func Patterns() (list []string) {
	for _, rt := range routes() {
		list = append(list, rt.pattern)
	}
	return list
}
