"""Reading the bench's own files: lists of items, the first key of each being its kind, strict as all our YAML."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final, Protocol, TypeVar

from advisor.library.yamlfiles import Fields, Node, Problem, near, parse_yaml, read_text, shorten


class BenchError(ValueError):
    """Something asked of the bench that it cannot do; one line that says what would be right."""


class _Called(Protocol):
    """What has a name, a title and words that mean it."""

    @property
    def name(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def aliases(self) -> tuple[str, ...]: ...


T = TypeVar("T", bound=_Called)
DATA: Final = Path(__file__).parent / "data"


def called(words: str, shelf: Mapping[str, T], what: str, whole: str) -> T:
    """The item of a shelf that a name, a title or an alias means.

    Parameters
    ----------
    what : str
        What it is called where nothing has that name, such as `knob`.
    whole : str
        What all of them are called, such as `the knobs are`.

    Raises
    ------
    BenchError
        Nothing is called so; all are named.
    """
    said = " ".join(words.casefold().replace("-", " ").split())
    for item in shelf.values():
        if said in (item.name.replace("-", " "), item.title.casefold(), *item.aliases):
            return item
    meant = near(said, shelf)
    raise BenchError(f"no {what} is called {shorten(words)!r}" + (f"; did you mean {meant[0]}?" if meant else "")
                     + f"; {whole} {', '.join(shelf)}")


def items(
    path: Path, kinds: Mapping[str, object] | tuple[str, ...], problems: list[Problem], again: bool = False
) -> Iterator[tuple[str, str, Fields]]:
    """Each item of a file: its kind, its name and its fields, of which the reader takes what it knows.

    What is wrong with the file as a whole is raised; what is wrong within an item is added to `problems`.

    Parameters
    ----------
    kinds : names of kinds
        The first keys that an item may have.
    again : bool
        Whether a name may stand twice.

    Raises
    ------
    LibraryError
        A file that cannot be read or is no plain YAML.

    Examples
    --------
    >>> [kind for kind, name, _ in items(DATA / "units.yaml", ("unit",), [])][0]
    'unit'
    """
    shown = f"advisor/bench/data/{path.name}" if path.parent == DATA else path.name
    root = parse_yaml(read_text(path, shown), shown)
    if not isinstance(root.value, list):
        problems.append(Problem(shown, root.line, f"must be a list of items (- {next(iter(kinds))}: ...), not "
                                                  f"{root.kind}"))
        return
    seen: dict[tuple[str, str], Node] = {}
    for node in root.value:
        first = next(iter(node.value)) if isinstance(node.value, dict) and node.value else ""
        if first not in kinds:
            meant = near(first, kinds, 1, 0.75)
            problems.append(Problem(node.file, node.line, f"an item must begin with {' or '.join(kinds)}, not with "
                                    f"{shorten(first)!r}" + (f"; did you mean {meant[0]}?" if meant else "")))
            continue
        fields = Fields(node, problems, first)
        name = fields.text(first)
        fields.what = f"{first} {name}"
        if (first, name) in seen and not again:
            fields.wrong(f"{first} {name} stands twice; the other is in line {seen[first, name].line}")
        seen[first, name] = node
        yield first, name, fields
        fields.done()
