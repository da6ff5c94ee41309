package actions

func visitDeeds() []Deed { return nil }
