package documents

import (
	"fmt"
	"io"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// WasteBatch is emptied units in sealed bags that are kept and handed over
// together. All sums come in.
type WasteBatch struct {
	ID       string
	Firm     Party
	Date     quantity.Date // of the paper
	Contents []WasteContent
	Bags     []WasteBag
	Units    int // in all bags
	// LeftLow and LeftHigh are the liquid left in all of them, at least and at most.
	LeftLow, LeftHigh quantity.Volume
	Hazardous         string        // "yes", "no"; "": not determined
	Code              string        // waste code; "": not determined
	Began             quantity.Date // first bag in store
	Until             quantity.Date // reminder: to be gone by then; zero: none
	Store             string
	To                Party // who takes it
	Handed            quantity.Date
	Proof             string // number of receipt or transfer note
}

// WasteContent is what the units held before they were emptied.
type WasteContent struct {
	Product, RegNo, Active string
	Fictional              bool
	Lots                   []string
	Units                  int
}

// WasteBag is one sealed bag. Test is what the emptiness test came to: one of
// "meets_261_7", "does_not_meet", "undetermined", "not_applicable".
type WasteBag struct {
	Mark, By          string
	Sealed            quantity.Date
	From              string // whose trees, which visits
	Units             int
	LeftLow, LeftHigh quantity.Volume
	Test, Basis       string // Basis: how the residue is known
}

// Sheet writes the batch as it stands in the store: what is in each bag, how much
// is left, what the emptiness test comes to. It states no status under any law.
func (b WasteBatch) Sheet(w io.Writer, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := b.check(); err != nil {
		return fmt.Errorf("waste batch %.40q: %w", b.ID, err)
	}
	return printPages(w, b.sheetPages(v, paper), paper, fileTitle(v, "waste.title", b.ID, b.Date), v.lang, b.Date)
}

// Slip writes what goes with the batch when it is handed over, to be signed by
// both sides.
func (b WasteBatch) Slip(w io.Writer, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := b.check(); err != nil {
		return fmt.Errorf("waste hand-over %.40q: %w", b.ID, err)
	}
	return printPages(w, b.slipPages(v, paper), paper, fileTitle(v, "handover.title", b.ID, b.Date), v.lang, b.Date)
}

// check refuses what cannot be; whether the sums are right is for whoever made
// them.
func (b WasteBatch) check() error {
	if err := checkCounts("", "units", b.Units); err != nil {
		return err
	}
	if b.LeftLow < 0 || b.LeftHigh < b.LeftLow {
		return fmt.Errorf("left: %d to %d nL: want 0 or more, the lower first", b.LeftLow, b.LeftHigh)
	}
	if h := b.Hazardous; h != "" && h != "yes" && h != "no" {
		return fmt.Errorf(`hazardous: %q: want "yes", "no", or nothing where it is not determined`, h)
	}
	for i, c := range b.Contents {
		if err := checkCounts(fmt.Sprintf("contents[%d].", i), "units", c.Units); err != nil {
			return err
		}
	}
	for i, bag := range b.Bags {
		switch bag.Test {
		case "meets_261_7", "does_not_meet", "undetermined", "not_applicable":
		default:
			return fmt.Errorf(`bags[%d].test: %q: want "meets_261_7", "does_not_meet", "undetermined" or "not_applicable"`, i, bag.Test)
		}
		if err := checkCounts(fmt.Sprintf("bags[%d].", i), "units", bag.Units); err != nil {
			return err
		}
		if bag.LeftLow < 0 || bag.LeftHigh < bag.LeftLow {
			return fmt.Errorf("bags[%d].left: %d to %d nL: want 0 or more, the lower first", i, bag.LeftLow, bag.LeftHigh)
		}
	}
	return nil
}

func (b WasteBatch) fictional() bool {
	for _, c := range b.Contents {
		if c.Fictional {
			return true
		}
	}
	return false
}

func (b WasteBatch) sheetPages(v voice, paper Paper) []*page {
	f := sheetPaper(v, paper, "waste.title", b.ID, b.Firm, b.Date, v.Say("paper.foot"))
	f.fictional(b.fictional())
	f.part("waste.batch", b.particulars(v))
	f.wasteContents(b)
	f.section("waste.bags", 20)
	g := f.grid([]gridColumn{
		{"waste.bag", 0.12, false}, {"waste.sealed", 0.13, false}, {"waste.from", 0.18, false}, {"waste.units", 0.1, true},
		{"waste.left", 0.14, true}, {"waste.test", 0.15, false}, {"waste.basis", 0.18, false},
	})
	for _, bag := range b.Bags {
		g.row(v.or(bag.Mark), strings.TrimSpace(v.dayOr(bag.Sealed)+" "+bag.By), v.or(bag.From), fmt.Sprint(bag.Units),
			v.volumes(bag.LeftLow, bag.LeftHigh), v.Say("waste.test."+bag.Test), v.or(bag.Basis))
	}
	g.sum(v.Say("waste.total"), "", "", fmt.Sprint(b.Units), v.volumes(b.LeftLow, b.LeftHigh), "", "")
	f.y += 2
	f.say("waste.test.what")
	f.section("waste.count", handsHeight)
	f.hands("waste.counted_by", "waste.counted_on", "waste.counted_bags", "waste.counted_seals")
	f.small(v.Say("waste.note"))
	return f.done()
}

// particulars are the facts of the batch that both papers show.
func (b WasteBatch) particulars(v voice) []item {
	items := []item{
		v.needed("waste.id", b.ID), v.needed("waste.store", b.Store),
		v.needed("waste.began", day(b.Began)),
	}
	items = append(items, v.known("waste.until", day(b.Until))...)
	items = append(items, item{caption: v.Say("waste.count_bags"), value: fmt.Sprint(len(b.Bags))}, item{caption: v.Say("waste.count_units"), value: fmt.Sprint(b.Units)},
		item{caption: v.Say("waste.count_left"), value: v.volumes(b.LeftLow, b.LeftHigh)})
	return append(items, v.determined("waste.hazardous", map[string]string{"yes": v.Say("value.yes"), "no": v.Say("value.no")}[b.Hazardous]),
		v.determined("waste.code", b.Code))
}

// determined is a fact that somebody has to determine.
func (v voice) determined(key, value string) item {
	if value == "" {
		return item{caption: v.Say(key), value: v.Say("waste.not_determined"), missing: true}
	}
	return item{caption: v.Say(key), value: value}
}

// wasteContents is what a person who takes the bags must know of what was in them.
func (f *folio) wasteContents(b WasteBatch) {
	f.section("waste.contents", 16)
	f.say("waste.contents.what")
	g := f.grid([]gridColumn{
		{"waste.product", 0.28, false}, {"waste.reg_no", 0.14, false}, {"waste.active", 0.28, false}, {"waste.lots", 0.2, false}, {"waste.units", 0.1, true},
	})
	for _, c := range b.Contents {
		g.row(f.or(c.Product), f.or(c.RegNo), f.or(c.Active), f.or(strings.Join(c.Lots, ", ")), fmt.Sprint(c.Units))
	}
	f.y += 2
}

func (b WasteBatch) slipPages(v voice, paper Paper) []*page {
	f := sheetPaper(v, paper, "handover.title", b.ID, Party{Name: b.Firm.Name}, b.Date, v.Say("paper.foot"))
	f.fictional(b.fictional())
	f.part("handover.from", v.party(b.Firm))
	f.part("handover.to", v.party(b.To))
	f.part("waste.batch", append(append(b.particulars(v), v.known("handover.day", day(b.Handed))...), v.needed("handover.proof", b.Proof)))
	f.wasteContents(b)
	f.section("handover.bags", 20)
	g := f.grid([]gridColumn{
		{"waste.bag", 0.2, false}, {"waste.sealed", 0.16, false}, {"waste.units", 0.1, true}, {"waste.left", 0.18, true},
		{"waste.test", 0.2, false}, {"handover.seal_whole", 0.16, false},
	})
	for _, bag := range b.Bags {
		g.row(v.or(bag.Mark), v.dayOr(bag.Sealed), fmt.Sprint(bag.Units), v.volumes(bag.LeftLow, bag.LeftHigh), v.Say("waste.test."+bag.Test), v.Say("handover.tick"))
	}
	g.sum(v.Say("handover.bags_n", why.T("n", len(b.Bags))), "", fmt.Sprint(b.Units), v.volumes(b.LeftLow, b.LeftHigh), "", "")
	f.y += 2
	f.say("waste.test.what")
	f.need(2*handsHeight + 14)
	f.section("handover.signed", 2*handsHeight+4)
	f.hands("handover.given_by", "handover.given_sign", "handover.given_on")
	f.hands("handover.taken_by", "handover.taken_sign", "handover.taken_on")
	f.small(v.Say("handover.note"))
	return f.done()
}
