"""The curve of smoke against CO2: its readings, and how it is drawn in a terminal and as SVG.

References
----------
.. [1] EPA-600/2-75-069-a, Guidelines for Residential Oil-Burner Adjustments, October 1975: smoke plotted against
   CO2 over several air settings, and its knee (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

_SPOTS: Final = tuple(range(9, -1, -1))  # the ten spots of the scale, ASTM D2156 (from memory)
_COLUMNS: Final = 64


class SettingError(ValueError):
    """A reading or a figure that cannot be; says what would be right."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the air with the readings taken at it.

    Parameters
    ----------
    shutter : float
        Place of the air shutter in the marks of the burner, or in marks of one's own.
    smoke : float
        Smoke spot number, 0 to 9; between 0 and 1 is a trace.
    co2 : float
        Carbon dioxide, % of the dry gas, above 0 to 20.
    co : float, optional
        Carbon monoxide as read, ppm; None where it was not measured.

    Raises
    ------
    SettingError
        A value out of its range.

    Examples
    --------
    >>> Setting(3.5, 11.0, 12.0)
    Traceback (most recent call last):
    advisor.visit.curve.SettingError: smoke 11: the scale runs from 0 to 9
    """

    shutter: float
    smoke: float
    co2: float
    co: float | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.shutter):
            raise SettingError(f"shutter {self.shutter:g}: wants a mark, such as 3.5")
        if not 0.0 <= self.smoke <= 9.0:
            raise SettingError(f"smoke {self.smoke:g}: the scale runs from 0 to 9")
        if not 0.0 < self.co2 <= 20.0:
            raise SettingError(f"CO2 {self.co2:g} %: wants above 0 to 20 %")
        if self.co is not None and not 0.0 <= self.co < math.inf:
            raise SettingError(f"CO {self.co:g} ppm: wants 0 ppm or more")


@dataclass(frozen=True, slots=True)
class Knee:
    """Where the curve begins to rise.

    `co2` is the estimate, %; `low` the highest CO2 that was read clean, `high` the lowest that was read smoky.
    """

    co2: float
    low: float
    high: float


def chart(
    settings: Sequence[Setting], knee: Knee | None = None, target: float | None = None, ceiling: float | None = None
) -> list[str]:
    """The curve as text of at most 80 columns: the number of each reading at its smoke and CO2.

    Parameters
    ----------
    settings : sequence of Setting
        In the order in which they were read.
    knee : Knee, optional
        Marked `k` under the axis.
    target : float, optional
        CO2 to aim at, %; marked `a`.
    ceiling : float, optional
        Highest CO2 allowed, %; marked `c`.

    Examples
    --------
    >>> lines = chart([Setting(4, 0, 11), Setting(3, 3, 13)], Knee(12.3, 11, 13), 11.6, 13.0)
    >>> lines[7].split(), lines[11].split()
    (['3', '2'], ['0', '1'])
    >>> max(map(len, lines)) <= 80
    True
    """
    if not settings:
        return []
    marks = [("k", knee.co2 if knee else None), ("a", target), ("c", ceiling)]
    low, high = _reach([*(one.co2 for one in settings), *(co2 for _, co2 in marks if co2 is not None)])

    def column(co2: float) -> int:
        return round((co2 - low) / (high - low) * (_COLUMNS - 1))

    rows = ["9", "8", "7", "6", "5", "4", "3", "2", "1", "tr", "0"]
    grid = {row: [" "] * _COLUMNS for row in rows}
    for number, one in enumerate(settings, 1):
        row = grid["tr" if 0.25 <= one.smoke < 0.9 else str(math.floor(one.smoke + 0.5))]
        place = column(one.co2)
        row[place] = "*" if row[place] != " " else str(number) if number < 10 else "+"
    out = ["smoke"] + [f"{row:>2} {''.join(grid[row])}".rstrip() for row in rows]
    axis, labels, under = ["-"] * _COLUMNS, [" "] * (_COLUMNS + 4), [" "] * _COLUMNS
    for whole in range(math.ceil(low), math.floor(high) + 1):
        axis[column(whole)] = "+"
        for offset, digit in enumerate(str(whole)):
            labels[column(whole) + offset] = digit
    for letter, co2 in marks:
        if co2 is not None:
            place = column(co2)
            under[place if under[place] == " " else min(place + 1, _COLUMNS - 1)] = letter
    out += [f"   {''.join(axis)}", f"   {''.join(labels).rstrip()}  CO2, %"]
    words = {"k": "knee", "a": "aim", "c": "ceiling"}
    there = [f"{letter} {words[letter]} {co2:.1f} %" for letter, co2 in marks if co2 is not None]
    if there:
        out += [f"   {''.join(under).rstrip()}", f"   {', '.join(there)}; figures: the readings in order"]
    return out


def table(settings: Iterable[Setting]) -> list[str]:
    """The readings as lines.

    >>> table([Setting(3.5, 0.5, 12.1, 20.0)])[1]
    '  1   3.5     0.5   12.1      20'
    """
    out = ["  #  mark   smoke  CO2, %  CO, ppm"]
    for number, one in enumerate(settings, 1):
        co = "-" if one.co is None else f"{one.co:.0f}"
        out.append(f"{number:>3} {one.shutter:>5g} {one.smoke:>7g} {one.co2:>6.1f} {co:>7}")
    return out


def svg(
    settings: Sequence[Setting], knee: Knee | None = None, target: float | None = None, ceiling: float | None = None,
    title: str = "Smoke against CO2",
) -> str:
    """The curve as an SVG picture, which says the same in words for whoever cannot see it.

    Parameters
    ----------
    settings : sequence of Setting
        At least one.
    knee, target, ceiling : optional
        As for :func:`chart`; drawn as labeled lines, told apart by their dashes and words, not by color.
    title : str
        Title of the picture.

    Raises
    ------
    SettingError
        No readings.

    Examples
    --------
    >>> svg([Setting(4, 0, 11), Setting(3, 3, 13)]).count("<circle")
    2
    """
    if not settings:
        raise SettingError("no readings to draw; enter a setting of the air first")
    marks = [(word, co2, dash) for word, co2, dash in (
        ("knee", knee.co2 if knee else None, "2 4"), ("aim", target, ""), ("ceiling", ceiling, "9 4"),
    ) if co2 is not None]
    low, high = _reach([*(one.co2 for one in settings), *(co2 for _, co2, _ in marks)])
    left, right, top, bottom = 60, 620, 70, 350

    def x(co2: float) -> float:
        return round(left + (co2 - low) / (high - low) * (right - left), 1)

    def y(smoke: float) -> float:
        return round(bottom - smoke / 9.0 * (bottom - top), 1)

    words = "; ".join(
        f"reading {number}: shutter {one.shutter:g}, smoke {one.smoke:g}, CO2 {one.co2:.1f} %"
        + ("" if one.co is None else f", CO {one.co:.0f} ppm") for number, one in enumerate(settings, 1))
    words += "".join(f"; {word} at CO2 {co2:.1f} %" for word, co2, _ in marks)
    out = [
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 680 420" role="img" '
        'aria-labelledby="curve-title curve-desc" font-family="sans-serif" font-size="13">',
        f'<title id="curve-title">{escape(title)}</title>', f'<desc id="curve-desc">{escape(words)}</desc>',
        '<rect width="680" height="420" fill="white"/>',
        f'<path d="M{left} {top}V{bottom}H{right}" fill="none" stroke="black"/>',
        f'<text x="{left}" y="{top - 48}" font-size="16">{escape(title)}</text>',
        f'<text x="{left - 45}" y="{top - 12}">smoke spot</text>',
        f'<text x="{right - 60}" y="{bottom + 42}">CO2, % dry</text>',
    ]
    out += [f'<text x="{left - 10}" y="{y(spot) + 4}" text-anchor="end">{spot}</text>' for spot in _SPOTS]
    out += [f'<text x="{x(whole)}" y="{bottom + 18}" text-anchor="middle">{whole}</text>'
            for whole in range(math.ceil(low), math.floor(high) + 1)]
    for step, (word, co2, dash) in enumerate(marks):
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        out.append(f'<path d="M{x(co2)} {top}V{bottom}" stroke="black"{dashes}/>')
        out.append(f'<text x="{x(co2)}" y="{top - 34 + 14 * step}" text-anchor="middle">{word} {co2:.1f} %</text>')
    line = " ".join(f"{x(one.co2)},{y(one.smoke)}" for one in sorted(settings, key=lambda one: one.co2))
    out.append(f'<polyline points="{line}" fill="none" stroke="dimgray"/>')
    for number, one in enumerate(settings, 1):
        out.append(f'<circle cx="{x(one.co2)}" cy="{y(one.smoke)}" r="4"/>')
        out.append(f'<text x="{x(one.co2) + 7}" y="{y(one.smoke) - 7}">{number}: mark {one.shutter:g}</text>')
    return "\n".join([*out, "</svg>", ""])


def _reach(values: Iterable[float]) -> tuple[float, float]:
    """The stretch of the CO2 axis: all values with half a point beside them."""
    there = list(values)
    return min(there) - 0.5, max(there) + 0.5
