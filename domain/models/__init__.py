"""Models of pieces: what their shape says about metal, section, flasks and the tree."""
