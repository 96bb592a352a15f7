"""Routes of the shop's settings; its owner's only, since they hold the prices."""

from __future__ import annotations

from typing import Any

from tundish.store.settings import change, read_own
from tundish.store.settings_change import put, put_back
from tundish.store.settings_table import settings_facts
from tundish.web.asked import OWNER, Asked, Given, Row, Text, Word

Facts = dict[str, Any]


class Setting(Given, frozen=True):
    """A setting and its value as text, as `tundish settings` takes it. usual : put it back instead."""

    key: Word
    value: Text = ""
    source: Word = ""
    usual: bool = False


def shown(asked: Asked) -> Facts:
    """Every setting with its value and where it is from."""
    path = asked.desk.config.settings
    return settings_facts(read_own(path), str(path))


def changed(asked: Asked) -> Facts:
    """Set one setting, or put it back to usual."""
    form, path = asked.form, asked.desk.config.settings
    # Read, changed and written alone: two owners do not undo each other
    own = change(
        path,
        lambda own: put_back(own, form.key) if form.usual else put(own, form.key, form.value, form.source),
    )
    return settings_facts(own, str(path))


ROWS = (
    Row("GET", "/api/settings", "the shop's settings", shown, needs=OWNER),
    Row("POST", "/api/settings", "sets one, or puts it back", changed, needs=OWNER, form=Setting),
)
