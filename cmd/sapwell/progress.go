package main

import (
	"io"
	"os"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// progress is a bar over the bytes of a list: the number of trees is not known
// before the end, the size of the file is. Whoever has something to say while it
// is shown says it to talk: a line written past the bar would be wiped by it.
type progress struct {
	reader io.Reader
	talk   io.Writer
	bars   *mpb.Progress
	bar    *mpb.Bar
}

// worthABar is the size from which a bar is shown; less is done before it is
// drawn.
const worthABar = 256 << 10

func (w world) progress(f *os.File) progress {
	info, err := f.Stat()
	if err != nil || !w.talkative || info.Size() < worthABar {
		return progress{reader: f, talk: w.stderr}
	}
	bars := mpb.New(mpb.WithOutput(w.stderr), mpb.WithAutoRefresh(), mpb.WithWidth(60))
	bar := bars.AddBar(info.Size(), mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name("sapwell ")), mpb.AppendDecorators(decor.Percentage()))
	r, err := bar.ProxyReader(f)
	if err != nil {
		return progress{reader: f, talk: w.stderr}
	}
	return progress{r, bars, bars, bar}
}

func (p progress) done() {
	if p.bars == nil {
		return
	}
	p.bar.Abort(true) // a list that ends early must not leave a bar hanging
	p.bars.Wait()
}
