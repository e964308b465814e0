package folder

import "io"

// hold does nothing: what replaces folders does not run here.
func hold(string) (io.Closer, error) { return nil, nil }
