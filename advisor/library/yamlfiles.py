"""Strict reading of our YAML files: every value with its line, every error with file and line.

Only the plain part of YAML is accepted: mappings, lists and text. Anchors, aliases and tags are refused, for
they can make a small file explode; so are files that are large, deeply nested or not UTF-8. All scalars stay
text (`yes` is a word here, not a truth value): what a value must be is decided where it is used.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from operator import attrgetter
from pathlib import Path
from typing import Any, Final

import yaml

from advisor.library.plaintext import plain_text

MOST_BYTES: Final = 1_000_000
MOST_FILES: Final = 10_000
"""Files and folders in a folder of rules."""
MOST_NODES: Final = 200_000
MOST_DEPTH: Final = 12

MOST_SHOWN: Final = 50
"""Problems that one message shows."""
_LONGEST_NAME: Final = 80
"""Letters of a word beyond which no near name is looked for: it is no misspelling."""

WRITE_OUT: Final = "write the value out where it is needed"
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong, with its place; `hint` looks for what may be meant, which takes a while, where it is shown."""

    file: str
    line: int
    what: str
    hint: Callable[[], str] = field(default=str, compare=False)

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.what}{self.hint()}"


def in_lines(problems: Iterable[Problem]) -> str:
    """Problems by file and line, one a line, up to `MOST_SHOWN`.

    >>> print(in_lines([Problem("b.yaml", 1, "is empty"), Problem("a.yaml", 2, "is empty")]))
    a.yaml:2: is empty
    b.yaml:1: is empty
    """
    return "\n".join(capped(sorted(problems, key=attrgetter("file", "line", "what")), "; mend these first"))


def capped(problems: Sequence[object], then: str = "") -> list[str]:
    """The lines of the first problems, up to `MOST_SHOWN`, and how many there are more.

    >>> capped(range(52))[-2:]
    ['49', 'and 2 more']
    """
    left = len(problems) - MOST_SHOWN
    return [*map(str, problems[:MOST_SHOWN]), *([f"and {left:,} more{then}"] if left > 0 else [])]


class LibraryError(ValueError):
    """All that is wrong with a set of files, one line a problem."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(in_lines(self.problems))


@dataclass(frozen=True, slots=True)
class Node:
    """A value of a YAML file: text, a list of nodes, or a mapping of nodes, and the line where it begins."""

    value: str | list[Node] | dict[str, Node]
    line: int
    file: str

    @property
    def kind(self) -> str:
        """What this is, in words for a message."""
        if isinstance(self.value, str):
            return f"the text {shorten(self.value)!r}"
        return "a list" if isinstance(self.value, list) else "a mapping"


def shorten(text: str, most: int = 50) -> str:
    """Text cut for a message.

    >>> shorten("x" * 100, 8)
    'xxxxx...'
    """
    text = " ".join(text.split())
    return text if len(text) <= most else text[: most - 3] + "..."


def near(word: str, known: Iterable[str], most: int = 1, cutoff: float = 0.6) -> list[str]:
    """The names that are nearest to a misspelt one, the nearest first.

    >>> near("smokey", ["smoke", "co2"])
    ['smoke']
    """
    return get_close_matches(word, known, most, cutoff) if len(word) <= _LONGEST_NAME else []


def is_ours(root: Node, kinds: Iterable[str]) -> bool:
    """Whether a YAML file is meant to hold items of these kinds, perhaps misspelt; else it is of some other program.

    Only items that stand where ours stand count, for other programs have a `rules:` and a `- source:` somewhere too.

    >>> is_ours(parse_yaml("- rul: a\\n  when: {}", "x.yaml"), ["rule"])
    True
    >>> is_ours(parse_yaml("jobs:\\n- rules: [{if: x}]", "x.yaml"), ["rule"])
    False
    """
    kinds = tuple(kinds)
    if isinstance(root.value, list):
        return not root.value or any(_is_item(node, kinds) for node in root.value)
    inner = [root] if isinstance(root.value, str) else [
        root, *(node for part in root.value.values() if isinstance(part.value, list) for node in part.value)]
    return any(isinstance(node.value, dict) and ("because" in node.value or next(iter(node.value), "") == "rule")
               for node in inner)


def _is_item(node: Node, kinds: tuple[str, ...]) -> bool:
    first = next(iter(node.value), "") if isinstance(node.value, dict) else ""
    return bool(first) and ("because" in node.value or bool(near(first.lower(), kinds, 1, 0.75)))


def may_be_ours(text: str, kinds: Iterable[str]) -> bool:
    """The same of a file that is not plain YAML, by the lines where items begin.

    >>> may_be_ours("- rule: a: b", ["rule"]), may_be_ours("all: &all\\n  - rule: *it", ["rule"])
    (True, False)
    """
    kinds = tuple(kinds)
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith(("#", "%", "---"))]
    if any(re.match(r"\s*because\s*:", line) for line in lines):
        return True
    outer = re.match(r"\s*(-\s+)?", lines[0] if lines else "")
    begin = re.escape(outer[0]) if outer else ""
    firsts = {found[1].lower() for line in lines if (found := re.match(rf"{begin}[\"']?([\w-]+)[\"']?\s*:", line))}
    return any(near(word, kinds, 1, 0.75) for word in firsts) if outer and outer[1] else "rule" in firsts


def read_text(path: Path, shown: str | None = None) -> str:
    """The text of a file; errors: `LibraryError` where it cannot be read, is too large or not UTF-8."""
    file = shown or path.name
    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        raise LibraryError([Problem(file, 1, f"cannot be read: {reason[:1].lower()}{reason[1:]}")]) from error
    return decode(raw, file)


def decode(raw: bytes, file: str) -> str:
    """Bytes as text; errors: `LibraryError` for more than a megabyte or for bytes that are not UTF-8."""
    if len(raw) > MOST_BYTES:
        what = f"larger than {MOST_BYTES:,} bytes; split it, or check that it is the right file"
        raise LibraryError([Problem(file, 1, what)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise LibraryError([Problem(file, line, "is not UTF-8 text; save it as UTF-8")]) from error


def parse_yaml(text: str, file: str) -> Node:
    """The tree of one YAML document; an empty one is an empty list.

    Errors: `LibraryError` for whatever is not plain YAML, with the line.

    >>> parse_yaml("- rule: a\\n  when: {smoke: [heavy]}", "x.yaml").value[0].value["when"].line
    2
    >>> parse_yaml("a: &x 1", "x.yaml")
    Traceback (most recent call last):
    advisor.library.yamlfiles.LibraryError: x.yaml:1: an anchor (&x); write the value out where it is needed
    """
    try:
        return _compose(text, file)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        quote = " - a text with `: ` in it must stand in quotation marks" if "mapping values" in str(error) else (
            " - a text with a comma, a bracket, `: ` or ` #` in it must stand in quotation marks")
        raise _refusal(file, mark.line + 1 if mark else 1, f"is not YAML: {error.problem}{quote}") from error
    except yaml.YAMLError as error:  # a character that YAML does not allow
        raise _refusal(file, 1, f"is not YAML: {shorten(str(error), 90)}") from error


def _refusal(file: str, line: int, what: str) -> LibraryError:
    return LibraryError([Problem(file, line, what)])


def _compose(text: str, file: str) -> Node:
    root: list[Node] = []
    open_lists: list[Node] = []  # the mappings and lists that we are inside of, outermost first
    keys: list[Node | None] = []  # for each of them: the key that waits for its value
    flow: list[bool] = []  # for each of them: whether it is written in brackets
    count = 0
    event: Any  # the event classes of PyYAML share no typed base
    for event in yaml.parse(text, Loader=_LOADER):
        kind = type(event)
        if kind is yaml.ScalarEvent or kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
            line = event.start_mark.line + 1
            count += 1
            if event.anchor:
                raise _refusal(file, line, f"an anchor (&{event.anchor}); {WRITE_OUT}")
            if event.tag:
                raise _refusal(file, line, f"a tag ({event.tag}); write plain text, lists and mappings")
            if count > MOST_NODES:
                raise _refusal(file, line, f"more than {MOST_NODES:,} values; split the file")
            if kind is yaml.ScalarEvent:
                node = Node(plain_text(event.value), line, file)
            else:
                node = Node({} if kind is yaml.MappingStartEvent else [], line, file)
            bare = kind is yaml.ScalarEvent and event.value == "" and not event.style
            if bare and flow and flow[-1] and keys[-1] is not None:
                raise _refusal(file, line, f"`{shorten(str(keys[-1].value))}` has no value; write one, and put a text "
                                           "with a comma or `: ` in it in quotation marks")
            _place(node, open_lists, keys, root, file)
            if kind is not yaml.ScalarEvent:
                if len(open_lists) >= MOST_DEPTH:
                    raise _refusal(file, line, f"nested more than {MOST_DEPTH} deep")
                open_lists.append(node)
                keys.append(None)
                flow.append(bool(event.flow_style))
        elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            open_lists.pop()
            keys.pop()
            flow.pop()
        elif kind is yaml.AliasEvent:
            line = event.start_mark.line + 1
            raise _refusal(file, line, f"an alias (*{event.anchor}); {WRITE_OUT}")
        elif kind is yaml.DocumentStartEvent and root:
            raise _refusal(file, event.start_mark.line + 1, "a second document (---); one file holds one")
    return root[0] if root else Node([], 1, file)


def _place(node: Node, open_lists: list[Node], keys: list[Node | None], root: list[Node], file: str) -> None:
    """Put a node where it belongs: into the innermost open mapping or list, or at the root."""
    if not open_lists:
        root.append(node)
        return
    parent = open_lists[-1].value
    if isinstance(parent, list):
        parent.append(node)
        return
    assert isinstance(parent, dict)
    key = keys[-1]
    if key is None:
        if not isinstance(node.value, str):
            raise _refusal(file, node.line, f"a key must be text, not {node.kind}")
        if node.value in parent:
            raise _refusal(file, node.line, f"{node.value!r} stands twice in one mapping; keep one")
        keys[-1] = node
    else:
        assert isinstance(key.value, str)
        parent[key.value] = node
        keys[-1] = None


class Fields:
    """The fields of one mapping, taken out one by one; what is wrong is added to a list of problems.

    A taker returns a harmless value when the field is wrong, so that all errors of a file come out at once.
    """

    def __init__(self, node: Node, problems: list[Problem], what: str) -> None:
        self.node = node
        self.problems = problems
        self.what = what
        self._left: dict[str, Node] = {}
        if isinstance(node.value, dict):
            self._left = dict(node.value)
        else:
            self.wrong(f"{what} must be a mapping (name: value), not {node.kind}")
        self._known: list[str] = []

    def wrong(self, what: str, at: Node | None = None) -> None:
        """Note a problem at this mapping, or at a node inside of it."""
        self.problems.append(Problem(self.node.file, (at or self.node).line, what))

    def take(self, key: str, required: bool = False) -> Node | None:
        """The node under a key, or None."""
        self._known.append(key)
        node = self._left.pop(key, None)
        if node is None and required:
            self.wrong(f"{self.what} has no `{key}`; add it")
        return node

    def text(self, key: str, default: str | None = None) -> str:
        """A text; required where no default is given."""
        node = self.take(key, default is None)
        if node is None:
            return default or ""
        if isinstance(node.value, str) and node.value.strip():
            return " ".join(node.value.split())
        what = "is empty" if node.value == "" else f"must be text, not {node.kind}"
        self.wrong(f"{self.what}: `{key}` {what}", node)
        return default or ""

    def choice(self, key: str, allowed: Iterable[str], default: str | None = None) -> str:
        """A text out of a closed list."""
        allowed = tuple(allowed)
        node = self._left.get(key)
        text = self.text(key, default)
        if node is not None and text and text not in allowed:
            self.wrong(f"{self.what}: `{key}: {shorten(text)}` is not one of {', '.join(allowed)}", node)
            return default or allowed[0]
        return text or allowed[0]

    def flag(self, key: str) -> bool:
        """yes or no; no where it is missing."""
        return self.choice(key, ("yes", "no"), "no") == "yes"

    def number(self, key: str, default: float | None = None) -> float:
        """A number; required where no default is given."""
        node = self.take(key, default is None)
        if node is None:
            return default or 0.0
        value = as_number(node)
        if value is None:
            self.wrong(f"{self.what}: `{key}` must be a number, not {node.kind}", node)
            return default or 0.0
        return value

    def list(self, key: str, required: bool = False) -> list[Node]:
        """The nodes of a list; a single text stands for a list of one."""
        node = self.take(key, required)
        if node is None:
            return []
        if isinstance(node.value, list):
            if required and not node.value:
                self.wrong(f"{self.what}: `{key}` is an empty list", node)
            return node.value
        if isinstance(node.value, str) and node.value:
            return [node]
        self.wrong(f"{self.what}: `{key}` must be a list, not {node.kind}", node)
        return []

    def texts(self, key: str, required: bool = False) -> tuple[str, ...]:
        """A list of texts."""
        out = []
        for node in self.list(key, required):
            if isinstance(node.value, str) and node.value.strip():
                out.append(" ".join(node.value.split()))
            else:
                self.wrong(f"{self.what}: `{key}` must list texts, not {node.kind}; quote a `: `", node)
        return tuple(out)

    def mapping(self, key: str, required: bool = False) -> dict[str, Node]:
        """The nodes of a mapping."""
        node = self.take(key, required)
        if node is None:
            return {}
        if isinstance(node.value, dict):
            if required and not node.value:
                self.wrong(f"{self.what}: `{key}` is empty", node)
            return node.value
        self.wrong(f"{self.what}: `{key}` must be a mapping (name: value), not {node.kind}", node)
        return {}

    def done(self) -> None:
        """Note every key that nobody took."""
        for key, node in self._left.items():
            self.wrong(f"{self.what}: unknown key `{shorten(key)}`; known are {', '.join(self._known)}", node)


def as_number(node: Node) -> float | None:
    """The node as a finite number, or None."""
    if isinstance(node.value, str):
        try:
            value = float(node.value)
        except ValueError:
            return None
        return value if abs(value) < 1e15 else None
    return None


def yaml_files(folder: Path, links: list[Path] | None = None) -> Iterator[Path]:
    """Every YAML file in a folder and below, folder by folder in the order of their names.

    Hidden ones are left out, and folders that are links, which may lead in a circle or out of the folder (`links` takes
    them); a link to a file is read, wherever it leads. Errors: `LibraryError` for a folder that holds far more than
    rules, or that cannot be read, and for a device or a pipe, which may never end.
    """
    seen = 0
    waiting = [folder]
    while waiting:
        here = waiting.pop()
        try:
            entries = sorted(here.iterdir(), key=lambda path: path.name)
            folders = {entry for entry in entries if entry.is_dir()}
        except OSError as error:
            raise _refusal(str(here), 1, f"cannot be read: {error.strerror or error}") from error
        seen += len(entries)
        if seen > MOST_FILES:
            what = f"holds more than {MOST_FILES:,} files; name a folder that holds the rules alone"
            raise _refusal(str(folder), 1, what)
        entries = [entry for entry in entries if not entry.name.startswith((".", "__"))]
        waiting += [entry for entry in reversed(entries) if entry in folders and not entry.is_symlink()]
        if links is not None:
            links += [entry for entry in entries if entry in folders and entry.is_symlink()]
        for entry in entries:
            if entry.name.endswith((".yaml", ".yml")) and entry not in folders:
                if entry.exists() and not entry.is_file():
                    raise _refusal(str(entry), 1, "is no ordinary file; move it out of the folder of rules")
                yield entry
