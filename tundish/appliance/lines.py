"""A file as a tree of nodes that know their line, their path of keys and where to report what is wrong.

Every scalar stays the text it was written as: `no`, `off` and `12` may be names. What a text means is decided
by the reader of its field, so YAML's own guesses (no is false, 1:30 is 90) never come in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import yaml

from tundish.appliance.refusals import Ledger, Refusal

# The C loader gives the same marks and is about six times faster; where it is missing the plain one will do.
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# Deeper than any description needs, and far from where Python would run out of stack.
_DEEPEST = 50
_NULLS = ("", "~", "null", "Null", "NULL")
# How much of a long text or list goes into a message.
_MOST_SHOWN = 60
_MOST_ITEMS = 4


@dataclass(frozen=True)
class Node:
    """A piece of the file.

    line : counted from 1; of a value in a mapping the line of its key.
    path : keys from the top, joined by dots; list items count from 0, in brackets.
    """

    line: int
    path: str
    ledger: Ledger = field(repr=False, compare=False)

    @property
    def shown(self) -> str:
        """The node as it goes into a message."""
        return "nothing"

    def refuse(self, allowed: str, do: str, seen: str | None = None) -> None:
        """Record that this node is wrong."""
        shown = self.shown if seen is None else seen
        refusal = Refusal(self.ledger.file, self.line, self.path or "file", shown, allowed, do)
        self.ledger.refusals.append(refusal)


@dataclass(frozen=True)
class Text(Node):
    """A scalar as written; `plain` when it stood without quotes."""

    text: str
    plain: bool

    @property
    def shown(self) -> str:
        """In quotes, cut when long; a number as it stands."""
        if self.is_null:
            return "nothing"
        short = self.text if len(self.text) <= _MOST_SHOWN else self.text[:_MOST_SHOWN] + "..."
        return short if self.plain and short[:1] in "+-.0123456789" else f'"{short}"'

    @property
    def is_null(self) -> bool:
        """True for an empty value, ~ and null."""
        return self.plain and self.text in _NULLS


@dataclass(frozen=True)
class Items(Node):
    """A list."""

    items: tuple[Node, ...]

    @property
    def shown(self) -> str:
        """The items of a short list of texts, else how many there are."""
        texts = [item.shown for item in self.items if isinstance(item, Text)]
        if len(texts) < len(self.items) or len(texts) > _MOST_ITEMS:
            return f"a list of {len(self.items)}"
        return f"[{', '.join(texts)}]"


@dataclass(frozen=True)
class Fields(Node):
    """A mapping, in the file's order."""

    entries: Mapping[str, Node]

    @property
    def shown(self) -> str:
        """The first keys."""
        keys = ", ".join(list(self.entries)[:_MOST_ITEMS])
        return f"a mapping with {keys}" if keys else "an empty mapping"

    def split(self, *names: str) -> tuple[dict[str, Node], Fields]:
        """The entries of these names, and the mapping without them."""
        own = {key: node for key, node in self.entries.items() if key in names}
        rest = {key: node for key, node in self.entries.items() if key not in names}
        return own, Fields(self.line, self.path, self.ledger, rest)


def tree(text: str, ledger: Ledger) -> Fields | None:
    """The whole file; None, and a refusal in the ledger, when it is not a YAML mapping."""
    top = Node(1, "", ledger)
    try:
        root = yaml.compose(text, Loader=_LOADER)
    except (yaml.YAMLError, UnicodeError, RecursionError) as error:
        _refuse_yaml(text, error, ledger)
        return None
    if isinstance(root, yaml.MappingNode):
        made = _Maker(ledger).node(root, "", 1)
        return made if isinstance(made, Fields) else None
    top.refuse("a mapping of sections", "start the file with format: 1", seen=_kind(root))
    return None


def digest(text: str) -> str:
    """SHA-256 of the text as UTF-8, 64 hexadecimal digits.

    >>> digest("")[:8]
    'e3b0c442'
    """
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _kind(root: yaml.Node | None) -> str:
    if root is None:
        return "an empty file"
    return "a list" if isinstance(root, yaml.SequenceNode) else "a single text"


def _refuse_yaml(text: str, error: Exception, ledger: Ledger) -> None:
    # The mark of the problem is nearer to the mistake than that of its context.
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    # Unreadable signs come with a place in the text instead of a mark.
    before = text[: getattr(error, "position", None) or getattr(error, "start", 0)]
    line = mark.line + 1 if mark else before.count("\n") + 1
    problem = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
    advice = "correct the punctuation, indentation or quotes on this line or just above it"
    Node(line, "", ledger).refuse("YAML in UTF-8", advice, seen=f"what is no YAML ({problem})")


@dataclass(frozen=True)
class _Maker:
    """Turns YAML's nodes into ours. What stands for something elsewhere is refused and left out."""

    ledger: Ledger
    done: set[int] = field(default_factory=set)
    depth: int = 0

    def node(self, node: yaml.Node, path: str, line: int) -> Node | None:
        here = Node(line, path, self.ledger)
        # An alias gives the node of its anchor a second time.
        if id(node) in self.done:
            here.refuse("values written out where they stand", "write it out", seen="an alias")
            return None
        if self.depth > _DEEPEST:
            here.refuse(f"lists and mappings {_DEEPEST} deep", "close the brackets", seen="deeper ones")
            return None
        self.done.add(id(node))
        inner = replace(self, depth=self.depth + 1)
        if isinstance(node, yaml.MappingNode):
            return Fields(line, path, self.ledger, dict(inner.entries(node, path)))
        if isinstance(node, yaml.SequenceNode):
            return Items(line, path, self.ledger, tuple(inner.items(node, path)))
        return Text(line, path, self.ledger, str(node.value), not getattr(node, "style", None))

    def items(self, node: yaml.SequenceNode, path: str) -> Iterator[Node]:
        for index, item in enumerate(node.value):
            made = self.node(item, f"{path}[{index}]", item.start_mark.line + 1)
            if made:
                yield made

    def entries(self, node: yaml.MappingNode, path: str) -> Iterator[tuple[str, Node]]:
        # Lines of the keys seen so far, to name the first of two.
        first: dict[str, int] = {}
        for key, value in node.value:
            name, line = str(key.value), key.start_mark.line + 1
            here = Node(line, f"{path}.{name}" if path else name, self.ledger)
            if not isinstance(key, yaml.ScalarNode) or not name:
                above = Node(line, path, self.ledger)
                above.refuse("a name as key", "write a name", seen="a key that is not a name")
            elif name in first:
                advice = f"take one out or rename it; the first is on line {first[name]}"
                here.refuse("each key once", advice, seen=f'the key "{name}" again')
            elif made := self.node(value, here.path, line):
                first[name] = line
                yield name, made
