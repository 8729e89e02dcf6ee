"""Reading plates: image folders, multi-ink TIFF and multi-page TIFF, in bands of rows."""
