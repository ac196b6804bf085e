"""The knobs as one page with sliders: everything is computed beforehand and embedded, so it needs no network.

A slider stands on one of the places that were computed; where several are moved together, the page takes the mean
between the nearest places of a coarse grid (tested against the plant itself).
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import product
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from advisor.bench.benchfiles import BenchError
from advisor.bench.effectspicture import pictures
from advisor.bench.effectstext import LETTERS, MODEL, chosen_points, mark_title, reading_text
from advisor.bench.knobs import Knob, Shown, knobs, readings
from advisor.bench.sweep import Point, Sweep, grid, sweep
from advisor.bench.units import ModelUnit
from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.pages.wording import origin_text, plain

_STEPS: Final = 31
_PLACES: Final = 5
"""Places of each slider where several are moved together."""


@dataclass(frozen=True, slots=True)
class _Turned:
    """One knob on the units that have it."""

    knob: Knob
    sweeps: tuple[Sweep, ...]
    drawings: tuple[tuple[Shown, Markup], ...]


def effects_page(base: Base, units: Sequence[ModelUnit], knob: Knob | None = None) -> str:
    """The page of one unit, or of two side by side.

    Parameters
    ----------
    units : sequence of ModelUnit
        One or two.
    knob : Knob, optional
        The one that stands open first.

    Returns
    -------
    str
        HTML that needs nothing from elsewhere.

    Raises
    ------
    BenchError
        More than two units.
    """
    if not 1 <= len(units) <= 2:
        raise BenchError(f"{len(units)} units on one page: wants one or two")
    turned = [one for one in (_turned(base, units, each) for each in knobs(base).values()) if one.sweeps]
    shown = readings(base)
    together = [_together(base, unit, shown) for unit in units]
    page = _environment().get_template("effects.html.j2").render(
        title=" and ".join(unit.title for unit in units), model=MODEL, turned=turned, shown=shown,
        units=units, first=knob.name if knob and any(one.knob is knob for one in turned) else turned[0].knob.name,
        together=[(unit, one["knobs"]) for unit, one in zip(units, together, strict=True) if one["knobs"]],
        data=Markup(_json({"turned": {one.knob.name: [_of_sweep(made, shown) for made in one.sweeps]
                                      for one in turned},
                           "digits": [one.digits for one in shown.values() if one.state],
                           "most": [one.most if one.most < 1e9 else None for one in shown.values() if one.state],
                           "together": together})),
        letters=LETTERS, mark_title=partial(mark_title, base), source=partial(origin_text, base), cell=reading_text,
        rows=chosen_points,
    )
    return plain_text(page)


def _turned(base: Base, units: Sequence[ModelUnit], knob: Knob) -> _Turned:
    made = tuple(sweep(base, knob, unit.plant(), unit.title, _STEPS) for unit in units if knob.fits(unit.plant()))
    drawn = tuple((one, Markup(svg)) for one, svg in pictures(base, made, knob.name)) if made else ()
    return _Turned(knob, made, drawn)


def _of_sweep(made: Sweep, shown: Mapping[str, Shown]) -> dict[str, object]:
    """What the page needs of a sweep: the text of every place, and the places of the turns."""
    return {
        "unit": made.title,
        "at": [made.knob.text(point.value) for point in made.points],
        "left": _nearest(made, made.left.value),
        "shows": [[reading_text(one, point) if point.runs else "no fire" for one in shown.values()]
                  for point in made.points],
        "turns": [_nearest(made, mark.value) for mark in made.marks],
    }


def _nearest(made: Sweep, value: float) -> int:
    """The place that is nearest to a value."""
    return min(range(len(made.points)), key=lambda at: abs(made.points[at].value - value))


def _together(base: Base, unit: ModelUnit, shown: Mapping[str, Shown]) -> dict[str, Any]:
    """A grid of the knobs that are moved together on a unit."""
    plant = unit.plant()
    moved = tuple(knob for knob in knobs(base).values() if knob.together and knob.fits(plant))
    points, axes = grid(base, moved, plant, _PLACES)
    return {
        "unit": unit.title,
        "knobs": [{"name": knob.name, "title": knob.title, "unit": knob.unit, "digits": knob.digits,
                   "places": [round(one, 6) for one in axis], "left": round(knob.left(plant), 6)}
                  for knob, axis in zip(moved, axes, strict=True)],
        "numbers": [_numbers(point, shown) for point in points],
        "flame": [plain(next(iter(one.looks.values()), "")) if one and one.runs else "no fire" for one in points],
    }


def _numbers(point: Point | None, shown: Mapping[str, Shown]) -> list[float] | None:
    if point is None or not point.runs:
        return None
    return [round(one.held(point.numbers[one.name]), one.digits + 1) for one in shown.values() if one.state]


def between(places: Sequence[Sequence[float]], numbers: Sequence[Sequence[float] | None],
            at: Sequence[float]) -> list[float] | None:
    """The readings between the places of a grid, as the page works them out: linear in each knob.

    Parameters
    ----------
    places : sequence of sequences of float
        The places of each knob, rising.
    numbers : sequence
        The readings of every combination, the last knob running fastest; None where there is no fire.
    at : sequence of float
        Where each knob stands.

    Returns
    -------
    list of float or None
        None where one of the places around has no fire.

    Examples
    --------
    >>> between([(0.0, 1.0)], [[10.0], [20.0]], [0.25])
    [12.5]
    """
    spots = []
    for axis, value in zip(places, at, strict=True):
        low = max(0, min(len(axis) - 2, sum(one <= value for one in axis) - 1))
        share = (value - axis[low]) / (axis[low + 1] - axis[low])
        spots.append(((low, 1.0 - share), (low + 1, share)))
    out: list[float] = []
    for corner in product(*spots):
        weight, index = 1.0, 0
        for (spot, share), axis in zip(corner, places, strict=True):
            weight, index = weight * share, index * len(axis) + spot
        if weight == 0.0:
            continue
        found = numbers[index]
        if found is None:
            return None
        out = [old + weight * new for old, new in zip(out or [0.0] * len(found), found, strict=True)]
    return out


def _json(value: object) -> str:
    """JSON that can stand within a page."""
    return json.dumps(value, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")


@lru_cache(maxsize=1)
def _environment() -> Environment:
    return Environment(loader=PackageLoader("advisor.bench"), autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True)
