"""The job on the desk: what a window shows and does, without a window."""
