"""Refusals as a page words them: where a cure names a verb of the command line, the page on which the same is done."""

from __future__ import annotations

import re

# The page of each verb, by the names that the pages have. A verb of two words before its first.
PAGES = {
    "ask": "Ask", "book": "Ask", "machine": "Ask", "told": "Find", "reading": "Find", "withdraw": "Find", "odds": "Find",
    "next": "Find", "why": "Find", "expect": "Find", "plan": "Find", "quote": "Agree", "agree": "Agree", "fix": "Fix",
    "prove": "Prove", "state": "Make safe", "close": "Close", "pay": "Close", "paper handbook": "Handbook", "paper": "Close",
    "handbook": "Handbook", "bench": "Bench", "van": "Van", "stock": "Van", "settings": "Settings", "open": "Calls",
    "calls": "Calls", "do hand over": "Close", "do end": "Close", "do tested": "Prove", "do repair": "Fix", "do": "Make safe",
}  # fmt: skip
# Of all other verbs: they have no page.
ELSEWHERE = "at the shop's computer"
# First come whole phrases that would read oddly piece by piece.
PHRASES = (
    (r": tundish settings --import FILE keeps", f" {ELSEWHERE}, which keeps"),
    (r"the visit(?: alone)? with --visit\b", "the visit alone"),
    (r"leave --number out", "leave the number out"),
    (r"or another --market\b", "or another market"),
)
# What is said on a terminal with a word behind two dashes is a field of a page's form.
FIELDS = re.compile(r",? (?:with|use) --[a-z][a-z-]*(?: [A-Z]+)?")
QUOTED = re.compile(r"`tundish ([^`]*)`")
# A command ends with its sentence; a second one behind "or" or "then" goes with it.
COMMAND = re.compile(r"(?P<before>^|,? (?:with|then|or|by)?:? ?|: )tundish (?P<words>[^;,]*)(?:,? (?:then|or):? tundish [^;,]*)*")


def on_page(text: str) -> str:
    """A text of a refusal without the words of the command line.

    >>> on_page("quote first: tundish quote CALL --give")
    'quote first, on the page Agree'
    >>> on_page("say what you saw, with --proof; see `tundish handbook` for all checks")
    'say what you saw; see the page Handbook for all checks'
    """
    if "tundish " not in text and "--" not in text:
        return text
    for pattern, instead in PHRASES:
        text = re.sub(pattern, instead, text)
    text = QUOTED.sub(lambda found: page_of(found[1]), text)
    text = COMMAND.sub(lambda found: _placed(found["before"], found["words"]), text)
    return FIELDS.sub("", text)


def page_of(command: str) -> str:
    """Where a command's work is done: a page, or at the computer.

    >>> page_of("do smith hand over to WHO"), page_of("serve --shop-network")
    ('the page Close', "at the shop's computer")
    """
    verb, *rest = command.split() or [""]
    # Behind the verb stands the call; what is done with it comes after
    said = " ".join([verb, *rest[1:]]), " ".join([verb, *rest])
    for name, page in PAGES.items():
        if " " in name and any(one.startswith(name) for one in said):
            return f"the page {page}"
    return f"the page {PAGES[verb]}" if verb in PAGES else ELSEWHERE


def _placed(before: str, command: str) -> str:
    page = page_of(command)
    place = page if page == ELSEWHERE else f"on {page}"
    if not before:
        return place
    # "made with: tundish ..." reads on as it is, "quote first: tundish ..." wants a pause
    return f" {place}" if before.strip(" :,") in ("with", "by") else f", {place}"
