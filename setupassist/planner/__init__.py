"""Which slot each screen and flash takes."""
