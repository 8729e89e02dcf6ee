"""Where things lie: the platform's usual folders, all moved by ``SETUPASSIST_HOME``."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

APP = "setupassist"


def config_folder() -> Path:
    """Folder of the shop book."""
    home = os.environ.get("SETUPASSIST_HOME")
    return Path(home) / "config" if home else Path(platformdirs.user_config_path(APP))


def state_folder() -> Path:
    """Folder of autosaves and recents."""
    home = os.environ.get("SETUPASSIST_HOME")
    return Path(home) / "state" if home else Path(platformdirs.user_state_path(APP))


def shop_book_path() -> Path:
    """The user's own shop book, whether it is there or not."""
    return config_folder() / "shop.toml"
