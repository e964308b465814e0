package page

import (
	"encoding/base64"
	"strings"

	"lastsip/notebooks/internal/nbformat"
)

// MIME types of a figure. The narrow drawing is for phones.
const (
	mimeSVG    = "image/svg+xml"
	mimeNarrow = "application/vnd.lastsip.narrow+svg"
)

// output adds one output of a cell.
func (w *writer) output(o *nbformat.Output) {
	switch o.Type {
	case "stream":
		w.plain(o.Text)
	case "error":
		w.failure(o)
	case "display_data", "execute_result", "update_display_data":
		w.bundle(o.Data)
	}
}

// failure shows an error where it happened.
func (w *writer) failure(o *nbformat.Output) {
	head := strings.TrimSpace(o.EName + ": " + o.EValue)
	w.add("<div class=\"problem\"><p><strong>This cell failed.</strong> " + escape(head) + "</p>")
	if trace := strings.TrimSpace(strings.Join(o.Traceback, "\n")); trace != "" {
		w.add("<pre>" + escape(trace) + "</pre>")
	}
	w.add("</div>\n")
}

// bundle shows the richest form of one thing that can be shown safely.
func (w *writer) bundle(data map[string]any) {
	text := func(mime string) string { s, _ := data[mime].(string); return s }
	alt := strings.TrimSpace(text("text/plain"))
	if wide, err := figure(text(mimeSVG)); err == nil {
		narrow, err := figure(text(mimeNarrow))
		if err != nil {
			w.add("<figure>" + wide + "</figure>\n")
			return
		}
		w.add("<figure><div class=\"wide\">" + wide + "</div><div class=\"narrow\">" + narrow + "</div></figure>\n")
		return
	}
	for _, mime := range []string{"image/png", "image/jpeg"} {
		if img := strings.Join(strings.Fields(text(mime)), ""); isBase64(img) {
			w.add("<figure><img src=\"data:" + mime + ";base64," + img + "\" alt=\"" + escape(alt) + "\"></figure>\n")
			return
		}
	}
	switch {
	case text("text/markdown") != "":
		w.markdown(text("text/markdown"))
	case text("text/html") != "":
		w.untrusted(text("text/html"))
	case text(mimeSVG) != "": // a drawing that is not ours, without an image: its words
		w.add("<p>" + escape(alt) + "</p>\n")
	default:
		w.plain(alt)
	}
}

// isBase64 tells whether a text is one run of standard base64.
func isBase64(s string) bool {
	if s == "" {
		return false
	}
	_, err := base64.StdEncoding.DecodeString(s)
	return err == nil
}
