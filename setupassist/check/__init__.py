"""Findings put together from all that is known."""
