"""What the plates show."""
