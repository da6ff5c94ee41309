package photos

import (
	"image"

	"golang.org/x/image/draw"
)

// shrink brings the longer side down to most pixels and lays the picture on
// white. It halves as long as it can: at a ratio of two the bilinear filter is
// the mean of four pixels, which a finer filter would reach only with several
// times the memory.
func shrink(src image.Image, most int) *image.RGBA {
	w, h := src.Bounds().Dx(), src.Bounds().Dy()
	for max(w, h) > 2*most {
		w, h = (w+1)/2, (h+1)/2
		src = scaled(src, w, h)
	}
	if long := max(w, h); long > most {
		w, h = max(1, (w*most+long/2)/long), max(1, (h*most+long/2)/long)
	}
	return scaled(src, w, h)
}

func scaled(src image.Image, w, h int) *image.RGBA {
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(dst, dst.Rect, image.White, image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(dst, dst.Rect, src, src.Bounds(), draw.Over, nil)
	return dst
}

// turn sets the picture upright. The orientation says where row 0 and column 0
// of what is stored belong (Exif 2.32, tag 0x0112); anything but 2 to 8 is 1,
// upright.
func turn(src *image.RGBA, orientation int) *image.RGBA {
	w, h := src.Rect.Dx(), src.Rect.Dy()
	var at func(x, y int) (int, int) // where a stored pixel belongs
	switch orientation {
	case 2: // top, right
		at = func(x, y int) (int, int) { return w - 1 - x, y }
	case 3: // bottom, right
		at = func(x, y int) (int, int) { return w - 1 - x, h - 1 - y }
	case 4: // bottom, left
		at = func(x, y int) (int, int) { return x, h - 1 - y }
	case 5: // left, top
		at = func(x, y int) (int, int) { return y, x }
	case 6: // right, top
		at = func(x, y int) (int, int) { return h - 1 - y, x }
	case 7: // right, bottom
		at = func(x, y int) (int, int) { return h - 1 - y, w - 1 - x }
	case 8: // left, bottom
		at = func(x, y int) (int, int) { return y, w - 1 - x }
	default:
		return src
	}
	size := image.Rect(0, 0, w, h)
	if orientation >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	dst := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			dx, dy := at(x, y)
			copy(dst.Pix[dst.PixOffset(dx, dy):][:4], src.Pix[src.PixOffset(x, y):][:4])
		}
	}
	return dst
}
