package entries

// Check: see Body.
func (b Org) Check() error { panic("contract") }

// Check: see Body.
func (b Person) Check() error { panic("contract") }

// Check: see Body.
func (b Certificate) Check() error { panic("contract") }

// Check: see Body.
func (b DeviceEnrolled) Check() error { panic("contract") }

// Check: see Body.
func (b DeviceRevoked) Check() error { panic("contract") }

// Check: see Body.
func (b Grounds) Check() error { panic("contract") }

// Check: see Body.
func (b Tree) Check() error { panic("contract") }

// Check: see Body.
func (b Measurement) Check() error { panic("contract") }

// Check: see Body.
func (b Condition) Check() error { panic("contract") }

// Check: see Body.
func (b Wound) Check() error { panic("contract") }

// Check: see Body.
func (b Closure) Check() error { panic("contract") }

// Check: see Body.
func (b Label) Check() error { panic("contract") }

// Check: see Body.
func (b Lot) Check() error { panic("contract") }

// Check: see Body.
func (b Stock) Check() error { panic("contract") }

// Check: see Body.
func (b Plan) Check() error { panic("contract") }

// Check: see Body.
func (b VisitOpened) Check() error { panic("contract") }

// Check: see Body.
func (b Hole) Check() error { panic("contract") }

// Check: see Body.
func (b UnitSeated) Check() error { panic("contract") }

// Check: see Body.
func (b UnitPressurised) Check() error { panic("contract") }

// Check: see Body.
func (b UnitDrained) Check() error { panic("contract") }

// Check: see Body.
func (b UnitStuck) Check() error { panic("contract") }

// Check: see Body.
func (b UnitLifted) Check() error { panic("contract") }

// Check: see Body.
func (b UnitLost) Check() error { panic("contract") }

// Check: see Body.
func (b Tally) Check() error { panic("contract") }

// Check: see Body.
func (b VisitClosed) Check() error { panic("contract") }

// Check: see Body.
func (b BagSealed) Check() error { panic("contract") }

// Check: see Body.
func (b BagHanded) Check() error { panic("contract") }

// Check: see Body.
func (b Note) Check() error { panic("contract") }

// Check: see Body.
func (b Photo) Check() error { panic("contract") }

// Check: see Body.
func (b Amendment) Check() error { panic("contract") }

// Check: see Body.
func (b Retired) Check() error { panic("contract") }
