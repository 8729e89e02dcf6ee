"""The art on the garment, as pictures."""
