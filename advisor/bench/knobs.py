"""The knobs of the model unit: what each moves, how far, and what happens at the turns of the curves, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from advisor.bench.benchfiles import DATA, called, items
from advisor.library.base import Base
from advisor.library.items import Origin
from advisor.library.knowledge import read_choices, read_origin
from advisor.library.yamlfiles import Fields, LibraryError, Problem
from advisor.plant import Plant

SIDES: Final = ("less", "more")
"""On which side of where the unit was left a turn lies: the knob turned down, or up."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A place on the curves that means something, and its mechanism.

    `at` is `passes` (a reading passes a limit, named in `of`), `knee` (smoke turns up), `most` or `least` (of a
    reading, inside of the range), or `out` (the fire cannot be kept up).
    """

    at: str
    of: str
    side: str
    where: Mapping[str, tuple[str, ...]]
    because: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class Knob:
    """One thing that can be moved, with the field of the plant that it moves.

    `low` and `high` are in its own `unit`, `shown` of which make one of the plant's; where it is `relative`, they are
    shares of what the unit was left at. `suction` knobs move from zero downward.
    """

    name: str
    title: str
    aliases: tuple[str, ...]
    moves: str
    unit: str
    digits: int
    shown: float
    low: float
    high: float
    relative: bool
    together: bool
    where: Mapping[str, tuple[str, ...]]
    about: str
    less: str
    more: str
    turns: tuple[Turn, ...]

    def fits(self, plant: Plant) -> bool:
        """Whether the unit has what this moves."""
        return all(str(getattr(plant, name)) in words for name, words in self.where.items())

    def ends(self, plant: Plant) -> tuple[float, float]:
        """The range on a unit, in the knob's own unit."""
        left = self.left(plant) if self.relative else 1.0
        return self.low * left, self.high * left

    def left(self, plant: Plant) -> float:
        """Where a unit was left, in the knob's own unit."""
        return float(getattr(plant, self.moves)) * self.shown

    def moved(self, plant: Plant, value: float) -> Plant:
        """The unit with the knob at a value of its own unit.

        >>> from advisor.bench.units import unit_called
        >>> knob_called("air-shutter").moved(unit_called("boiler").plant(), 50.0).shutter
        0.5
        """
        changes: dict[str, Any] = {self.moves: value / self.shown}
        if self.moves == "outdoor_degf" and plant.intake_degf is not None:  # the air in the duct follows the weather
            changes["intake_degf"] = plant.intake_degf + 0.6 * (value - plant.outdoor_degf)
        return replace(plant, **changes)

    def text(self, value: float) -> str:
        """A value with its unit.

        >>> knob_called("air-shutter").text(36.3)
        '36 % open'
        """
        return f"{value:.{self.digits}f} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class Shown:
    """A reading that is shown: where the solved plant keeps it, or, without `state`, a look at the flame."""

    name: str
    head: str
    title: str
    state: str
    digits: int
    moved_by: float
    """A change smaller than this is called none."""
    most: float
    """Over it the reading is only said to be more."""

    def held(self, value: float) -> float:
        """A value as it is drawn: not over `most`."""
        return min(value, self.most)


@lru_cache(maxsize=4)
def _read(base: Base) -> tuple[Mapping[str, Knob], Mapping[str, Shown]]:
    problems: list[Problem] = []
    knobs: dict[str, Knob] = {}
    shown: dict[str, Shown] = {}
    for kind, name, fields in items(DATA / "knobs.yaml", ("knob", "shows"), problems):
        if kind == "shows":
            if name not in base.named:
                fields.wrong(f"{fields.what}: no reading is called so")
            shown[name] = Shown(name, fields.text("head"), base.title(name), fields.text("state", ""),
                                int(fields.number("digits", 0.0)), fields.number("moved-by", 0.0),
                                fields.number("most", float("inf")))
        else:
            knobs[name] = _knob(fields, name, base, shown)
    if problems:
        raise LibraryError(problems)
    return knobs, shown


def _knob(fields: Fields, name: str, base: Base, shown: Mapping[str, Shown]) -> Knob:
    moves = fields.text("moves")
    if moves not in Plant.__dataclass_fields__:
        fields.wrong(f"{fields.what}: a unit has no {moves!r}")
    turns = []
    for node in fields.list("turns"):
        inner = Fields(node, fields.problems, f"{fields.what}: turn")
        at = inner.choice("at", ("passes", "knee", "most", "least", "out"))
        of = inner.text("of", "" if at in ("knee", "out") else None)
        if at == "passes" and (of not in base.limits or base.limits[of].of not in shown):
            inner.wrong(f"{inner.what}: no limit of a reading that is shown is called {of!r}")
        if at in ("most", "least") and of not in shown:
            inner.wrong(f"{inner.what}: no reading that is shown is called {of!r}")
        turns.append(Turn(at, of, inner.choice("side", ("", *SIDES), ""), read_choices(inner, "where"),
                          inner.text("because"), read_origin(inner)))
        inner.done()
    return Knob(
        name, fields.text("title"), fields.texts("aliases"), moves, fields.text("unit"),
        int(fields.number("digits", 0.0)), fields.number("shown", 1.0), fields.number("from"), fields.number("to"),
        fields.flag("relative"), fields.flag("together"), read_choices(fields, "where"), fields.text("about"),
        fields.text("less", ""), fields.text("more", ""), tuple(turns),
    )


def knobs(base: Base | None = None) -> Mapping[str, Knob]:
    """All knobs, by name; errors: `LibraryError`.

    >>> "air-shutter" in knobs()
    True
    """
    return _read(base or _ours())[0]


def readings(base: Base | None = None) -> Mapping[str, Shown]:
    """The readings that are shown, by name, in their order."""
    return _read(base or _ours())[1]


def _ours() -> Base:
    from advisor.library.base import load

    return load()


def knob_called(words: str, base: Base | None = None) -> Knob:
    """The knob that a name, a title or an alias means.

    Raises
    ------
    BenchError
        No knob is called so; the knobs are named.

    Examples
    --------
    >>> knob_called("shutter").name
    'air-shutter'
    """
    return called(words, knobs(base), "knob", "the knobs are")
