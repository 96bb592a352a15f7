"""Where files lie when nobody says otherwise."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

CACHE_VARIABLE = "TUNDISH_CACHE"
DATA_VARIABLE = "TUNDISH_DATA"
EVENTS_FILE = "calls.sqlite"
SETTINGS_FILE = "settings.json"
LEARNED_FILE = "learned.json"


def cache_folder(environ: Mapping[str, str] = os.environ, *, platform: str = sys.platform) -> Path:
    """Folder of things that can be computed anew: TUNDISH_CACHE, else the user's cache folder.

    References
    ----------
    XDG Base Directory Specification, https://specifications.freedesktop.org/basedir-spec/latest/
    For macOS and Windows: from memory.
    """
    places = {"win32": ("LOCALAPPDATA", "AppData/Local"), "darwin": ("", "Library/Caches")}
    return _folder(environ, CACHE_VARIABLE, places.get(platform, ("XDG_CACHE_HOME", ".cache")))


def data_folder(environ: Mapping[str, str] = os.environ, *, platform: str = sys.platform) -> Path:
    """Folder of the technician's own records: TUNDISH_DATA, else the user's data folder."""
    places = {"win32": ("APPDATA", "AppData/Roaming"), "darwin": ("", "Library/Application Support")}
    return _folder(environ, DATA_VARIABLE, places.get(platform, ("XDG_DATA_HOME", ".local/share")))


def events_path(environ: Mapping[str, str] = os.environ) -> Path:
    """The usual file of events."""
    return data_folder(environ) / EVENTS_FILE


def settings_path(environ: Mapping[str, str] = os.environ) -> Path:
    """The file of the shop's settings."""
    return data_folder(environ) / SETTINGS_FILE


def _folder(environ: Mapping[str, str], own: str, place: tuple[str, str]) -> Path:
    # own : variable naming the folder. place : variable naming its parent, and the parent without it.
    if environ.get(own):
        return Path(environ[own]).expanduser()
    variable, below_home = place
    parent = environ.get(variable, "")
    # The specification asks to ignore a relative path.
    if parent and Path(parent).is_absolute():
        return Path(parent) / "tundish"
    return Path.home() / below_home / "tundish"
