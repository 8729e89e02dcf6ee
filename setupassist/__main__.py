"""``python -m setupassist`` is the command."""

from setupassist.cli import entry

if __name__ == "__main__":
    entry()
