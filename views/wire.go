package views

import (
	"bytes"
	"encoding/json"
	"slices"
)

// States are written and read by encoding/json, as their tags say. For a visit
// that is too slow: it has hundreds of holes and units, and each act in it changes
// one. So these two lists, which stand last, are written and read here, to the
// same bytes and from no others: what looks different goes to encoding/json.

func write(st state) ([]byte, error) {
	v, ok := st.(*Visit)
	if !ok {
		return json.Marshal(st)
	}
	slim := *v
	slim.Holes, slim.Units = nil, nil
	text, err := json.Marshal(&slim)
	if err != nil {
		return nil, err
	}
	text = slices.Grow(text, 400*(len(v.Holes)+len(v.Units)))
	w := wire{text: text[:len(text)-1]} // open again at the end
	v.lists(&w)
	return append(w.text, '}'), nil
}

func readInto(st state, text []byte) error {
	v, ok := st.(*Visit)
	if !ok {
		return json.Unmarshal(text, st)
	}
	// What is quoted holds no bare quotes, so this is a list, if perhaps not the
	// visit's own; then the text does not end where that one ends.
	from := bytes.Index(text, []byte(`,"holes":[`))
	if from < 0 {
		from = bytes.Index(text, []byte(`,"units":[`))
	}
	if from < 0 {
		return json.Unmarshal(text, v)
	}
	var read Visit
	w := wire{text: text[from:], reading: true}
	read.lists(&w)
	if w.strange || string(w.text[w.at:]) != "}" {
		return json.Unmarshal(text, v)
	}
	if err := json.Unmarshal(append(text[:from:from], '}'), v); err != nil {
		return err
	}
	v.Holes, v.Units = read.Holes, read.Units
	return nil
}

func (v *Visit) lists(w *wire) {
	list(w, "holes", &v.Holes, (*Bored).members)
	list(w, "units", &v.Units, (*Unit).members)
}

func (b *Bored) members(w *wire) {
	w.id("id", &b.ID)
	w.whole("at", &b.At)
	w.object("facts", func() {
		h, version, mark := &b.Facts, int64(b.Facts.V), int64(b.Facts.Mark)
		w.whole("v", &version)
		w.maybeID("by", &h.By)
		w.maybeWhole("at", &h.Head.At)
		w.id("visit", &h.Visit)
		w.id("tree", &h.Tree)
		w.maybeWords("stem", &h.Stem)
		w.whole("mark", &mark)
		w.whole("at_nm", &h.Around)
		w.whole("height_nm", &h.Height)
		w.maybeWhole("depth_nm", &h.Depth)
		w.maybeWhole("bit_nm", &h.Bit)
		w.maybeID("again", &h.Again)
		h.V, h.Mark = int(version), int(mark)
	})
}

func (u *Unit) members(w *wire) {
	w.id("id", &u.ID)
	w.maybeID("hole", &u.Hole)
	w.maybeID("tree", &u.Tree)
	w.maybeID("lot", &u.Lot)
	w.maybeWhole("fill_nl", &u.Fill)
	w.maybeWhole("seated", &u.Seated)
	w.maybeWhole("pressurised", &u.Pressurised)
	w.maybeWhole("gauge_pa", &u.Gauge)
	w.maybeWhole("drained", &u.Drained)
	w.maybeWhole("stuck", &u.Stuck)
	w.maybeWords("stuck_why", &u.StuckWhy)
	w.maybeWhole("lifted", &u.Lifted)
	w.maybeWhole("lost", &u.Lost)
	w.maybeWords("lost_why", &u.LostWhy)
	w.maybeWords("lost_signed", &u.LostSigned)
	if w.key("left_nl", u.Left != nil) {
		if w.reading {
			u.Left = new(int64)
		}
		w.number(u.Left)
	}
	w.maybeIDs("hands", &u.Hands)
}
