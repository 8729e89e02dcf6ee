"""Ink films on cloth: how much one ink harms another, how much of a film hides."""
