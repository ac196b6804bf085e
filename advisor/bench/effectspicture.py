"""The curves of a knob as pictures (SVG by pygal), one for each reading, so that no scale is shared."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.bench.effectstext import LETTERS, limits_within, mark_title, unit_of
from advisor.bench.knobs import Shown, readings
from advisor.bench.sweep import Sweep
from advisor.library.base import Base
from advisor.report.charts import drawn, xy_chart


def pictures(base: Base, sweeps: Sequence[Sweep], prefix: str = "knob") -> list[tuple[Shown, str]]:
    """A picture for each reading that is shown, with the curve of one unit or two.

    Every place of the knob is a dot, in its order, so that a page can mark the one where its slider stands.

    Parameters
    ----------
    sweeps : sequence of Sweep
        One, or two of the same knob.
    prefix : str
        Begins the name of each picture, so that several can stand in one page.

    Examples
    --------
    >>> from advisor.bench.knobs import knob_called
    >>> from advisor.bench.sweep import sweep
    >>> from advisor.bench.units import unit_called
    >>> from advisor.library.base import load
    >>> turned = sweep(load(), knob_called("soot"), unit_called("boiler").plant(), "boiler", 7)
    >>> [one.name for one, _ in pictures(load(), [turned])][:2]
    ['co2', 'o2']
    """
    return [(one, _picture(base, sweeps, one, f"{prefix}-{one.name.replace('_', '-')}"))
            for one in readings(base).values() if one.state]


def _picture(base: Base, sweeps: Sequence[Sweep], reading: Shown, name: str) -> str:
    knob, first = sweeps[0].knob, sweeps[0]
    values = [reading.held(point.numbers[reading.name]) for made in sweeps for point in (*made.points, made.left)]
    low, high = min(values), max(values)
    room = max(0.08 * (high - low), 0.5 * reading.moved_by)
    low, high = low - room, high + room
    ends = (min(made.points[at].value for made in sweeps for at in (0, -1)),
            max(made.points[at].value for made in sweeps for at in (0, -1)))
    unit = unit_of(base, reading.name)
    title = reading.title + (f", {unit}" if unit else "")
    chart = xy_chart(name, f"{knob.title}, {knob.unit}", title, ends, (low, high))
    series = []
    for value, words in limits_within(base, first, reading.name, low, high):
        chart.add("", [{"value": (ends[0], value), "label": words}, (ends[1], value)], dots_size=0)
        series.append("clean")
    for number, made in enumerate(sweeps):
        chart.add("", [(point.value, reading.held(point.numbers[reading.name])) for point in made.points], dots_size=2)
        series.append(f"unit{number}")
    for number, made in enumerate(sweeps):
        chart.add("", [{"value": (made.left.value, reading.held(made.left.numbers[reading.name])), "label": "as left"}],
                  stroke=False, dots_size=5)
        series.append(f"found{number}")
        turns = [{"value": (mark.value, reading.held(mark.point.numbers[reading.name])), "label": letter}
                 for letter, mark in zip(LETTERS, made.marks, strict=False) if _about(base, mark.turn.at, mark.turn.of,
                                                                                         reading.name)]
        if turns:
            chart.add("", turns, stroke=False, dots_size=3)
            series.append(f"turn{number}")
    return drawn(chart, series, name, f"{reading.title} over {knob.title}", _said(base, sweeps, reading))


def _about(base: Base, at: str, of: str, name: str) -> bool:
    """Whether a turn is one of this reading."""
    if at == "knee":
        return base.quantities[name].kind == "smoke"
    return of == name or (of in base.limits and base.limits[of].of == name)


def _said(base: Base, sweeps: Sequence[Sweep], reading: Shown) -> str:
    """What the picture shows, in words."""
    unit = unit_of(base, reading.name)
    out = []
    for made in sweeps:
        first, last = (made.points[at] for at in (0, -1))
        ends = " and ".join(f"{reading.held(one.numbers[reading.name]):.{reading.digits}f} {unit} at "
                            f"{made.knob.text(one.value)}" for one in (first, made.left, last))
        turns = "; ".join(f"{letter}: {mark_title(base, made, mark)} at {made.knob.text(mark.value)}"
                          for letter, mark in zip(LETTERS, made.marks, strict=False)
                          if _about(base, mark.turn.at, mark.turn.of, reading.name))
        out.append(f"{made.title}: {ends}." + (f" Turns: {turns}." if turns else ""))
    return " ".join(out)


def standalone(svg: str) -> str:
    """A picture as a file of its own, with the style that the page gives it.

    >>> standalone('<svg class="chart"><g/></svg>').startswith('<svg class="chart"><style>')
    True
    """
    from jinja2 import Environment, PackageLoader

    style = Environment(loader=PackageLoader("advisor.bench"), autoescape=True).get_template("chart.css.j2").render()
    begins = svg.index(">") + 1
    return f"{svg[:begins]}<style>{style}</style>{svg[begins:]}"
