"""The window. The only room that knows Qt; nothing is computed here that could be tested without a window."""
