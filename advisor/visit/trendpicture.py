"""A unit over its visits as an SVG picture, which says the same in words for whoever cannot see it."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from datetime import datetime, time
from html import escape
from typing import Final

from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.physics import units
from advisor.reasoning.case import local_time
from advisor.visit.course import Event, places
from advisor.visit.drift import Drift, drift_text
from advisor.visit.trend import Moment

DRAWN: Final = ("stack_temperature", "co2", "smoke", "efficiency")
"""The quantities that are drawn, each in a strip of its own, so that no scale is shared."""

_DAY: Final = 86400.0
_ROOM: Final = 20
"""Places beside each other that points may stand in."""
_WIDTH, _STRIP, _TOP, _LEFT, _RIGHT = 680, 110, 64, 130, 600


def svg(
    moments: Sequence[Moment], base: Base, label: str, drifts: Sequence[Drift] = (), changed: Sequence[Event] = (),
) -> str:
    """The course of the numbers by date: filled points as found, hollow ones as left, every point with its value.

    Parameters
    ----------
    moments : sequence of Moment
        From the first to the last; at least one.
    label : str
        What the shop calls the unit.
    drifts : sequence of Drift
        Told in words below.
    changed : sequence of Event
        What was changed within that time: a line through the strips, and told in words below.

    Raises
    ------
    ValueError
        No moments.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from advisor.library.base import load
    >>> years = [(2025, 480.0), (2026, 535.0)]
    >>> moments = [Moment(datetime(year, 10, 1, tzinfo=UTC), {"stack_temperature": stack}) for year, stack in years]
    >>> picture = svg(moments, load(), "Mill Lane boiler")
    >>> picture.count("<circle"), "535 degF" in picture
    (2, True)
    """
    if not moments:
        raise ValueError("no visits to draw")
    names = [name for name in DRAWN if any(name in one.numbers for one in moments)]
    title = f"{label}: the readings over the visits"
    notes = [drift_text(one, base) for one in drifts]
    words = "; ".join([_in_words(name, moments, base) for name in names] + notes) or "No such reading was kept."
    times = [local_time(one.at).timestamp() for one in moments]
    within = [(one, noon) for one in changed for noon in [datetime.combine(one.day, time(12)).timestamp()]
              if times[0] - _DAY <= noon <= times[-1] + _DAY]
    notes += [f"{one.day} changed: {one.words}" for one, _ in within]
    words = "; ".join([words, *notes[len(drifts):]])
    lines = [line for note in notes for line in _broken(note)]
    height = _TOP + _STRIP * len(names) + 40 + 18 * len(lines)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" role="img" '
        'aria-labelledby="trend-title trend-desc" font-family="sans-serif" font-size="12">',
        f'<title id="trend-title">{escape(title)}</title>', f'<desc id="trend-desc">{escape(words)}</desc>',
        f'<rect width="{_WIDTH}" height="{height}" fill="white"/>',
        f'<text x="12" y="24" font-size="16">{escape(title)}</text>',
        '<text x="12" y="44">filled: as found; hollow: as left after the work</text>',
    ]
    for _, noon in within:
        at = _LEFT + (_RIGHT - _LEFT) * _share(noon, times)
        out.append(f'<path d="M{at:.1f} {_TOP}V{_TOP + _STRIP * len(names)}" stroke="gray" stroke-dasharray="3 4"/>')
    for place, name in enumerate(names):
        out += _strip(name, moments, base, _TOP + _STRIP * place)
    foot = _TOP + _STRIP * len(names) + 14
    middle = len(moments) // 2
    shown = {0, len(moments) - 1}
    shown |= {middle} if all(abs(_x(middle, moments) - _x(end, moments)) > 80 for end in shown) else set()
    out += [f'<text x="{_x(place, moments)}" y="{foot}" text-anchor="middle">'
            f'{local_time(moments[place].at):%Y-%m-%d}</text>' for place in sorted(shown)]
    out += [f'<text x="12" y="{foot + 24 + 18 * row}">{escape(line)}</text>' for row, line in enumerate(lines)]
    return plain_text("\n".join([*out, "</svg>", ""]))


def _x(place: int, moments: Sequence[Moment]) -> float:
    """Where a moment stands, by its date; two of one day stand side by side."""
    times = [local_time(one.at).timestamp() for one in moments]
    if len(moments) == 1:
        return round((_LEFT + _RIGHT) / 2, 1)
    room = max(_ROOM, len(moments))
    return round(_LEFT + (_RIGHT - _LEFT) * places(times, room, times[0], times[-1])[place] / (room - 1), 1)


def _share(at: float, times: Sequence[float]) -> float:
    whole = times[-1] - times[0]
    return min(1.0, max(0.0, (at - times[0]) / whole)) if whole > 0 else 0.5


def _strip(name: str, moments: Sequence[Moment], base: Base, top: float) -> list[str]:
    """One quantity: its name, its line, and a point with its value for every moment at which it is known."""
    known = [(place, one.numbers[name], one.left) for place, one in enumerate(moments) if name in one.numbers]
    low, high = min(value for _, value, _ in known), max(value for _, value, _ in known)
    kind = base.quantities[name].kind

    def y(value: float) -> float:
        share = (value - low) / (high - low) if high > low else 0.5
        return round(top + _STRIP - 24 - share * (_STRIP - 56), 1)

    out = [f'<path d="M{_LEFT - 14} {top + _STRIP - 8}H{_RIGHT + 14}" stroke="silver"/>']
    out += [f'<text x="12" y="{top + 40 + 15 * row}">{escape(line)}</text>'
            for row, line in enumerate(_broken(base.title(name), 18))]
    points = " ".join(f"{_x(place, moments)},{y(value)}" for place, value, _ in known)
    out.append(f'<polyline points="{points}" fill="none" stroke="dimgray"/>')
    every = max(1, len(known) // 8)  # values that would run into each other are left out; the words hold all
    for number, (place, value, left) in enumerate(known):
        fill = "white" if left else "black"
        out.append(f'<circle cx="{_x(place, moments)}" cy="{y(value)}" r="4" fill="{fill}" stroke="black"/>')
        if number % every == 0 or number == len(known) - 1:
            shown = units.format_value(value, kind)
            shown = shown if number in (0, len(known) - 1) else shown.split(" ")[0]
            out.append(f'<text x="{_x(place, moments)}" y="{y(value) - 9}" text-anchor="middle">'
                       f'{escape(shown)}</text>')
    return out


def _in_words(name: str, moments: Sequence[Moment], base: Base) -> str:
    kind = base.quantities[name].kind
    said = ", ".join(f"{local_time(one.at):%Y-%m-%d} {'as left' if one.left else 'as found'} "
                     f"{units.format_value(one.numbers[name], kind)}" for one in moments if name in one.numbers)
    return f"{base.title(name)}: {said}"


def _broken(text: str, width: int = 100) -> list[str]:
    return textwrap.wrap(text, width)
