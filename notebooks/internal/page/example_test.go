package page_test

import (
	"fmt"
	"log"
	"strings"

	"lastsip/notebooks/internal/nbformat"
	"lastsip/notebooks/internal/page"
)

func ExampleRender() {
	nb := &nbformat.Notebook{Cells: []nbformat.Cell{
		{Type: "markdown", Source: "# Good for 3½ minutes\n\nInvented data: a demonstration."},
		{Type: "code", Source: "%%\nfmt.Println(1)", Outputs: []nbformat.Output{{Type: "stream", Name: "stdout", Text: "1\n"}}},
	}}
	html, err := page.Render(nb, page.Options{HideCode: true})
	if err != nil {
		log.Fatal(err)
	}
	_, body, _ := strings.Cut(string(html), "<main>\n")
	body, _, _ = strings.Cut(body, "</main>")
	fmt.Print(body)
	// Output:
	// <h1>Good for 3½ minutes</h1>
	// <p class="made">Invented data: a demonstration.</p>
	// <pre class="out">1
	// </pre>
}
