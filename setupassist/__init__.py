"""Setup Assist: from separated artwork to a press-ready plan for a textile screen-printing carousel."""

__version__ = "0.1.0"
