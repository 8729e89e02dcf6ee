"""Strokes, ink, pace, running time, dryer."""
