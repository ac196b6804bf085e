"""Words of the command line that name what a visit keeps, and how the words of `record` print."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from advisor.arguments import words_for
from advisor.library.items import Item
from advisor.library.plaintext import json_text
from advisor.library.yamlfiles import near, shorten
from advisor.reasoning.case import read_time
from advisor.visit.documents import VERSION
from advisor.visit.schema import RecordError


def names_of(shelf: Mapping[str, Item], words: Iterable[str], what: str) -> tuple[str, ...]:
    """The names that words mean, by name, title or alias; errors: `RecordError`."""
    meant = words_for(shelf)
    out = []
    for word in words:
        said = meant.get(word.casefold())
        if said is None:
            close = list(dict.fromkeys(meant[key] for key in near(word.casefold(), meant, 3)))
            hint = f"; did you mean {' or '.join(close)}?" if close else ""
            raise RecordError(f"there is no {what} {shorten(word)!r}{hint}")
        out.append(said)
    return tuple(out)


def time_of(typed: str | None) -> datetime | None:
    """The time that `--at` tells; none where it is not given. Errors: `RecordError`."""
    try:
        return read_time(typed) if typed else None
    except ValueError as error:
        raise RecordError(f"--at {error}") from error


def print_json(document: Mapping[str, object]) -> int:
    """Print a document with its version; returns the exit status of success."""
    print(json_text({"version": VERSION, **document}))
    return 0


def print_lines(lines: Iterable[str]) -> int:
    """Print lines; returns the exit status of success."""
    print("\n".join(lines))
    return 0
