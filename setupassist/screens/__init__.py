"""Mesh, squeegee, strokes, off-contact and stencil for every screen."""
