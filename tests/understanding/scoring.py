"""How well lines as technicians type them are understood: each line against what a careful colleague would note."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import yaml

from advisor.library.base import Base
from advisor.reasoning.entries import EntryError, read_entry
from advisor.understanding.understand import Understood, understand

SAID = Path(__file__).parents[1] / "call" / "said.yaml"
_NEAR = 0.011  # of a value: how it was rounded when it was written down


@dataclass(frozen=True)
class Item:
    """A line, what it must give, what it may give as well, and whether it is to be asked back or kept as a remark."""

    line: str
    gives: Mapping[str, str]
    may: Mapping[str, str]
    asks: bool
    remark: bool
    names: frozenset[str] = frozenset()
    """All names of its file: whoever wrote it did not know of what came later, and a line may say that, too."""

    @property
    def held_out(self) -> bool:
        """Whether it belongs to the third that nobody looks at, but for its score."""
        return sha256(self.line.encode()).digest()[0] % 3 == 0

    @property
    def kind(self) -> str:
        return "nothing" if not self.gives else "several" if len(self.gives) > 1 else "one"


def corpus(path: Path = SAID) -> tuple[Item, ...]:
    """The lines of a file."""
    items = yaml.load(path.read_text(), yaml.BaseLoader) or []
    names = frozenset(name for one in items for key in ("gives", "may") for name in one.get(key) or {})
    return tuple(Item(one["line"], one.get("gives") or {}, one.get("may") or {}, one.get("asks") == "true",
                      one.get("remark") == "true", names) for one in items)


def verdict(base: Base, item: Item) -> tuple[str, str]:
    """`right`, `asked` (what it must give is offered in a question back), `missed` (it is not there), or `wrong`
    (something is entered that was not said); with what."""
    said = understand(base, item.line)
    got = {one.name: one.value for one in said.entries}
    wrong = [f"{name} {value}" for name, value in got.items()
             if name in item.names and not any(name in wanted and _same(base, name, value, wanted[name])
                                               for wanted in (item.gives, item.may))]
    if wrong:
        return "wrong", ", ".join(wrong)
    missed = [name for name, wanted in item.gives.items()
              if name in base.named and name not in got and not _offered(base, said, name, wanted)]
    asked = [name for name in item.gives if name in base.named and name not in got and name not in missed]
    if missed or asked:
        return "missed" if missed else "asked", ", ".join([*missed, *(f"{name} (asked)" for name in asked)])
    if item.asks and not (said.questions or said.remarks or said.left or said.ask or got):
        return "missed", "neither asked nor kept"
    if item.remark and not (said.remarks or said.questions):
        return "missed", "no remark"
    return "right", ""


def _offered(base: Base, said: Understood, name: str, wanted: str) -> bool:
    return any(entry.name == name and _same(base, name, entry.value, wanted)
               for question in said.questions for choice in question.choices for entry in choice.entries)


def _same(base: Base, name: str, value: object, wanted: str) -> bool:
    if not isinstance(value, float):
        return value == wanted or (value is None and wanted in ("not checked", "could not check"))
    try:
        other = read_entry(base, name, wanted).value
    except EntryError:
        return False
    if not isinstance(other, float):
        return False
    return math.isclose(value, other, rel_tol=_NEAR, abs_tol=1e-9) or (
        base.quantities[name].suction and value == -other and not wanted.startswith(("+", "-")))


def score(base: Base, items: Iterable[Item]) -> Counter[tuple[str, str]]:
    """How many lines of each kind came out right, missed or wrong."""
    return Counter((item.kind, verdict(base, item)[0]) for item in items)
