package accounts

// NewCheapDesk is a desk whose passwords cost little, for tests that are not about
// the cost.
func NewCheapDesk(k Keeper, clock Clock) *Desk {
	d := NewDesk(k, clock)
	d.kitchen = newKitchen(cheap)
	return d
}
