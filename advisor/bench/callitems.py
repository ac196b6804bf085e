"""A practice call as a value: the work order, what is hidden, and what may go wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from advisor.bench.benchfiles import DATA, items
from advisor.bench.units import ModelUnit, units
from advisor.library.base import Base
from advisor.library.items import Origin
from advisor.library.knowledge import read_origin
from advisor.library.yamlfiles import LibraryError, Problem
from advisor.plant import SOUND, Kit, Plant

LEVELS: Final = {1: "one fault that shows", 2: "one fault, slight or only begun, or none", 3: "two faults at once",
                 4: "a doubtful instrument, looks that may be misread, and perhaps nothing wrong"}
"""What each level asks."""

ALWAYS: Final = ""
"""As the cause of an answer that does not go away when something is put right."""


AIR_SET: Final = "air-set"
DRIED: Final = "chamber-dried"
"""What some remedies do to the model unit beside curing."""


@dataclass(frozen=True, slots=True)
class Given:
    """What a look gives on a call, whatever the model unit would say; it is gone once its `cause` is put right."""

    name: str
    typed: str
    cause: str = ALWAYS


@dataclass(frozen=True, slots=True)
class GoesWrong:
    """What happens where one of some acts is done before the looks named were made."""

    acts: tuple[str, ...]
    before: tuple[str, ...]
    then: str


@dataclass(frozen=True, slots=True)
class PracticeCall:
    """A call to practice on.

    `hidden` are the causes to be found; those that the model unit plays stand in `faults` with their severity, the
    others show what stands in `gives`. `misread` says whether looks may be misread, `kit` what is wrong with the
    instruments.
    """

    name: str
    title: str
    level: int
    subject: str
    says: str
    house: str
    weather: str
    history: str
    unit: str
    changes: tuple[tuple[str, float | str], ...]
    hidden: tuple[str, ...]
    faults: tuple[tuple[str, float], ...]
    gives: tuple[Given, ...]
    wrong: tuple[GoesWrong, ...] = ()
    kit: Kit = SOUND
    misread: bool = False
    seed: int = 0

    @property
    def model(self) -> ModelUnit:
        """The unit of the bench."""
        return units()[self.unit]

    @property
    def all_gives(self) -> tuple[Given, ...]:
        """What the call gives, over what stands on the unit's plates."""
        return (*(Given(name, typed) for name, typed in self.model.plates), *self.gives)

    @property
    def sound(self) -> Plant:
        """The unit without its faults."""
        return self.model.plant(**dict(self.changes))


@dataclass(frozen=True, slots=True)
class Subject:
    """A field to practice: the subjects of causes that it takes in."""

    name: str
    of: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Happens:
    """What happens to somebody who does an act over a hazard, or leaves it unseen."""

    name: str
    text: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class Part:
    """What some remedies take out of the van, and about what it costs (our own estimate)."""

    name: str
    title: str
    price: float
    remedies: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Proving:
    """What puts an instrument right: the check that finds it, and the fields of the kit that it sets."""

    name: str
    fields: tuple[str, ...]
    minutes: float


@dataclass(frozen=True)
class PracticeData:
    """All that practice knows beside knowledge: see the head of data/practice.yaml."""

    subjects: Mapping[str, Subject]
    happens: Mapping[str, Happens]
    parts: Mapping[str, Part]
    proving: Mapping[str, Proving]
    says: Mapping[str, tuple[str, ...]]
    houses: tuple[str, ...]
    histories: tuple[str, ...]
    effects: Mapping[str, tuple[str, ...]]
    """What some remedies do to the model unit beside curing: `AIR_SET`, `DRIED`."""
    asks: Mapping[str, str]
    """Further words for checks and remedies, and the name that each means."""


@lru_cache(maxsize=4)
def practice_data(base: Base) -> PracticeData:
    """What practice knows beside knowledge; errors: `LibraryError` with all that is wrong with it.

    >>> from advisor.library.base import load
    >>> "draft" in practice_data(load()).subjects
    True
    """
    problems: list[Problem] = []
    found: dict[str, dict[str, Any]] = {kind: {} for kind in ("subject", "happens", "part", "proving", "says", "house",
                                                              "history", "effect", "asks")}
    complaints = base.observations["complaint"].answers
    for kind, name, fields in items(DATA / "practice.yaml", tuple(found), problems):
        if kind == "subject":
            found[kind][name] = Subject(name, fields.texts("of", required=True))
        elif kind == "happens":
            if name not in base.hazards and name not in HAPPENS_BESIDE:
                fields.wrong(f"{fields.what}: no hazard is called so")
            found[kind][name] = Happens(name, fields.text("text"), read_origin(fields))
        elif kind == "part":
            remedies = fields.texts("for", required=True)
            for one in remedies:
                if one not in base.remedies:
                    fields.wrong(f"{fields.what}: no remedy is called {one!r}")
            found[kind][name] = Part(name, fields.text("title"), fields.number("price"), remedies)
        elif kind == "proving":
            known = Kit.__dataclass_fields__
            names = fields.texts("fields", required=True)
            if name not in base.checks or not set(names) <= set(known):
                fields.wrong(f"{fields.what}: wants the name of a check, and fields of {', '.join(known)}")
            found[kind][name] = Proving(name, names, fields.number("minutes"))
        elif kind == "says":
            if name not in complaints:
                fields.wrong(f"{fields.what}: no complaint is called so; they are {', '.join(complaints)}")
            found[kind][name] = fields.texts("words", required=True)
        elif kind == "effect":
            found[kind][name] = fields.texts("remedies", required=True)
            if name not in (AIR_SET, DRIED) or not set(found[kind][name]) <= set(base.remedies):
                fields.wrong(f"{fields.what}: wants {AIR_SET} or {DRIED}, with names of remedies")
        elif kind == "asks":
            if name not in base.checks and name not in base.remedies:
                fields.wrong(f"{fields.what}: no check or remedy is called so")
            for word in fields.texts("words", required=True):
                read = base.words.get(word, "")
                given = {check.name for check in base.checks_giving.get(read, ())}
                if given and name in base.checks and name not in given and read not in base.equipment:
                    fields.wrong(f"{fields.what}: {word!r} is {base.title(read)}, which {name} does not give")
                if found[kind].setdefault(word, name) != name:
                    fields.wrong(f"{fields.what}: {word!r} asks for {found[kind][word]} already")
        else:
            found[kind][name] = fields.text("text")
    if problems:
        raise LibraryError(problems)
    return PracticeData(found["subject"], found["happens"], found["part"], found["proving"], found["says"],
                        tuple(found["house"].values()), tuple(found["history"].values()), found["effect"],
                        found["asks"])


SECOND_RESET: Final = "second-reset"
MISSED: Final = "missed-danger"
HAPPENS_BESIDE: Final = (SECOND_RESET, MISSED)
"""What happens that is no hazard of its own."""

