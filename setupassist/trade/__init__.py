"""Knowledge as data with sources: mesh geometry, inks, fabrics, order, decisions, cautions."""
