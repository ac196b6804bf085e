"""A knob turned, as text: the table, the curves in letters, and what happens at each turn of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from advisor.bench.knobs import Shown, readings
from advisor.bench.sweep import Mark, Point, Sweep, point_of
from advisor.library.base import Base
from advisor.pages.wording import origin_text, plain, wrapped
from advisor.physics import units
from advisor.plant import SEVERITY, Plant, PlantError, applicable, with_faults
from advisor.reasoning.derive import limit_value

MODEL: Final = (
    "This is physics of a model unit: it shows which way things go and why. It is no evidence about the customer's "
    "unit, and no figure to set a burner by."
)
LETTERS: Final = "abcdefghijklmnopqrstuvwxyz"
_SIGNS: Final = "*+"
_ROWS: Final = 11
"""Rows of the table."""
_HIGH, _WIDE, _SIDE = 7, 61, 10
"""Rows and columns of a curve, and the columns beside it."""


def effects_text(base: Base, sweeps: Sequence[Sweep]) -> list[str]:
    """A knob turned on one unit or two, in lines of at most 80 columns.

    Parameters
    ----------
    sweeps : sequence of Sweep
        One, or two of the same knob.

    Examples
    --------
    >>> from advisor.bench.knobs import knob_called
    >>> from advisor.bench.sweep import sweep
    >>> from advisor.bench.units import unit_called
    >>> from advisor.library.base import load
    >>> turned = sweep(load(), knob_called("soot"), unit_called("boiler").plant(), "boiler", 7)
    >>> effects_text(load(), [turned])[0]
    'SOOT IN THE FLUE PASSAGES, turned on: boiler'
    """
    shown, knob = readings(base), sweeps[0].knob
    out = wrapped(f"{knob.title.upper()}, turned on: {' and: '.join(one.title for one in sweeps)}", 0, 2)
    out += ["", *wrapped(MODEL), "", *wrapped(knob.about)]
    for one in sweeps:
        out += ["", *wrapped(f"{one.title}, left at {knob.text(one.left.value)}", 0, 2), *_table(one, shown)]
    moving = [name for name in shown if shown[name].state and any(_moves(one, shown[name]) for one in sweeps)]
    for name in moving:
        out += ["", *_curve(base, sweeps, shown[name])]
    if moving:
        out += [*_foot(sweeps), *_key(sweeps)]
    still = [shown[name].title for name in shown if shown[name].state and name not in moving]
    if still:
        out += ["", *wrapped(f"Hardly moved by it: {'; '.join(still)}.", 0, 2)]
    for heading, words in (("Turned to less", knob.less), ("Turned to more", knob.more)):
        out += ["", *wrapped(words, 2, 2, f"{heading}: ")] if words else []
    told: set[str] = set()
    for one in sweeps:
        out += marks_text(base, one, told)
    return out


def _moves(made: Sweep, reading: Shown) -> bool:
    values = [point.numbers[reading.name] for point in made.points]
    return max(values) - min(values) > reading.moved_by


def marks_text(base: Base, made: Sweep, told: set[str]) -> list[str]:
    """The turns of the curves, each with its letter, its place and its mechanism, unless that was `told` before."""
    out = ["", *wrapped(f"At the turns, on: {made.title}", 0, 2)]
    if not made.marks:
        return [*out, "  none within this range"]
    for letter, mark in zip(LETTERS, made.marks, strict=False):
        out += wrapped(f"{made.knob.text(mark.value)}: {mark_title(base, made, mark)}", 2, first=f"{letter}  ")
        if mark.turn.because not in told:
            out += wrapped(f"{mark.turn.because} [{origin_text(base, mark.turn.origin)}]", 5)
        told.add(mark.turn.because)
    return out


def mark_title(base: Base, made: Sweep, mark: Mark) -> str:
    """What happens at a turn, in a few words.

    A limit is named with its figure for this equipment, and with the source that the limit itself has.
    """
    turn = mark.turn
    if turn.at == "knee":
        return "the knee, where smoke turns up"
    if turn.at == "out":
        return "the fire cannot be kept up"
    if turn.at in ("most", "least"):
        return f"{'highest' if turn.at == 'most' else 'lowest'} {base.title(turn.of)}"
    limit = base.limits[turn.of]
    value, _ = limit_value(limit, made.equipment, {})
    return (f"{base.title(limit.of)} passes {units.format_value(value, base.quantities[limit.of].kind)}, between "
            f"{plain(limit.below)} and {plain(limit.above)}")


def reading_text(reading: Shown, point: Point) -> str:
    """A reading of a point, without its unit; the flame in words."""
    if not reading.state:
        return plain(point.looks.get(reading.name, ""))
    value = point.numbers[reading.name]
    if value > reading.most:
        return f">{reading.most:.0f}"
    return f"{0.0 if round(value, reading.digits) == 0 else value:.{reading.digits}f}"


def _table(made: Sweep, shown: Mapping[str, Shown]) -> list[str]:
    unit = made.knob.unit
    rows = [[f"{point.value:.{made.knob.digits}f}" + (" =" if point is made.left else "  "),
             *(reading_text(one, point) if point.runs else ("no fire" if not one.state else "-")
               for one in shown.values())] for point in chosen_points(made)]
    head = ["at", *(one.head for one in shown.values())]
    widths = [max(len(row[at]) for row in (head, *rows)) for at in range(len(head))]
    lines = [" ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in (head, *rows)]
    return [*lines, f"at: {unit}; =: as the unit was left; drafts in in. w.c."]


def chosen_points(made: Sweep, most: int = _ROWS) -> list[Point]:
    """Points evenly spread over the range, with the one where the unit was left among them."""
    step = max(1, (len(made.points) - 1) // (most - 1))
    points = [*made.points[::step]]
    if made.points[-1] not in points:
        points.append(made.points[-1])
    falls = made.points[0].value > made.points[-1].value
    low, high = sorted((made.points[0].value, made.points[-1].value))
    if low <= made.left.value <= high:
        points = [one for one in points if abs(one.value - made.left.value) > 1e-6 * (high - low)] + [made.left]
    return sorted(points, key=lambda one: one.value, reverse=falls)


def limits_within(base: Base, made: Sweep, name: str, low: float, high: float) -> list[tuple[float, str]]:
    """The limits of a reading that lie within a span, with the bands that each parts."""
    return [(value, f"{plain(limit.below)} / {plain(limit.above)}") for limit in base.limits_of.get(name, ())
            for value in [limit_value(limit, made.equipment, {})[0]] if low < value < high]


def _curve(base: Base, sweeps: Sequence[Sweep], reading: Shown) -> list[str]:
    """One reading over the knob: the curve of each unit with a sign of its own, limits dashed, the places as left."""
    values = [reading.held(point.numbers[reading.name]) for made in sweeps for point in made.points if point.runs]
    if not values:
        return []
    low, high = min(values), max(values)
    span = high - low or 1.0
    field = [[" "] * _WIDE for _ in range(_HIGH)]
    notes = [""] * _HIGH

    def row(value: float) -> int:
        return _HIGH - 1 - round((value - low) / span * (_HIGH - 1))

    for value, _ in limits_within(base, sweeps[0], reading.name, low, high):
        field[row(value)] = ["-"] * _WIDE
        notes[row(value)] = f"{value:.{reading.digits}f}"
    for sign, made in zip(_SIGNS, sweeps, strict=False):
        for point in made.points:
            if point.runs:
                field[row(reading.held(point.numbers[reading.name]))][_column(made, point.value)] = sign
        if made.left.runs and low <= made.left.numbers[reading.name] <= high:
            field[row(made.left.numbers[reading.name])][_column(made, made.left.value)] = "O"
    notes[0] = f"{high:.{reading.digits}f}" + ("+" if high == reading.most else "")
    notes[-1] = f"{low:.{reading.digits}f}"
    lines = [f"{notes[at]:>{_SIDE - 1}} |{''.join(field[at]).rstrip()}" for at in range(_HIGH)]
    return [*wrapped(reading.title + (f", {unit}" if (unit := unit_of(base, reading.name)) else ""), 0, 2), *lines]


def unit_of(base: Base, name: str) -> str:
    """The unit of a quantity, without a number.

    >>> from advisor.library.base import load
    >>> unit_of(load(), "draft_breech"), unit_of(load(), "smoke")
    ('in. w.c.', '')
    """
    return units.format_value(0.0, base.quantities[name].kind).partition(" ")[2]


def _column(made: Sweep, value: float) -> int:
    first, last = made.points[0].value, made.points[-1].value
    return min(_WIDE - 1, max(0, round((value - first) / (last - first) * (_WIDE - 1))))


def _foot(sweeps: Sequence[Sweep]) -> list[str]:
    """The axis below the curves, with the letters of the turns."""
    out = []
    for made in sweeps:
        line = ["_"] * _WIDE
        for letter, mark in zip(LETTERS, made.marks, strict=False):
            at = _column(made, mark.value)
            while at < _WIDE - 1 and line[at] != "_":
                at += 1
            line[at] = letter
        out.append(f"{'turns':>{_SIDE - 1}} |{''.join(line)}")
        ends = [f"{made.points[at].value:.{made.knob.digits}f}" for at in (0, -1)]
        out.append(" " * (_SIDE + 1) + ends[0] + ends[1].rjust(_WIDE - len(ends[0])))
    return out


def _key(sweeps: Sequence[Sweep]) -> list[str]:
    signs = "; ".join(f"{sign} {made.title}" for sign, made in zip(_SIGNS, sweeps, strict=False))
    return wrapped(f"{signs}; O as left; --- a limit of {sweeps[0].title}; each curve has a scale of its own; the "
                   "letters at its foot are the turns told below", 0, 2)


def severity_table(base: Base, fault: str, plant: Plant) -> list[str]:
    """What a fault of the model unit does as it grows; empty where the unit cannot have it.

    >>> from advisor.bench.units import unit_called
    >>> from advisor.library.base import load
    >>> severity_table(load(), "fan-wheel-dirty", unit_called("boiler").plant())[1].split()[0]
    'sound'
    """
    if fault not in applicable(plant):
        return []
    shown = readings(base)
    rows = [["", *(one.head for one in shown.values())]]
    for word, severity in {"sound": 0.0, **SEVERITY}.items():
        try:
            point = point_of(with_faults(plant, {fault: severity}), 0.0, shown)
            cells = [reading_text(one, point) if point.runs else ("no fire" if not one.state else "-")
                     for one in shown.values()]
        except PlantError:
            cells = ["no fire" if not one.state else "-" for one in shown.values()]
        rows.append([word, *cells])
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    return [" ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows]
