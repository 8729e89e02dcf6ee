"""The line of stations as an editor: cards, the canvas they lie on, what is in hand, and what lies below the line."""
