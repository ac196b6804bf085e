"""The pictures of the report: efficiency over CO2 and stack, and smoke over CO2.

A picture is a value (`Plot`); the PDF draws it with its own pen, and the page as SVG to stand within it. That is drawn
by pygal: a pure-Python library of charts kept up for years (releases in 2025 and 2026), 0.1 MB with
one small dependency, whose SVG keeps text as text. The large plotting libraries draw as well, but bring some 80 MB
with them onto a technician's laptop. pygal is imported only when a picture is drawn.

Of its output only the drawing is kept: scripts, styles and tooltips go, so the page needs nothing from elsewhere and
its own style sheet rules. Each picture says in words what it shows, and no line is told from another by color alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final
from xml.etree import ElementTree

from advisor.physics import combustion
from advisor.physics.combustion import Fuel
from advisor.physics.units import PhysicsError

_WIDTH, _HEIGHT = 420, 320
_LEVELS: Final = tuple(range(40, 92, 2))  # lines of equal efficiency, %
_ROOM: Final = 68.0  # degF; the lines hang on the net temperature and hardly on this


def net_stack_for(fuel: Fuel, efficiency: float, co2: float) -> float | None:
    """The net stack temperature at which a fuel burns with an efficiency at a CO2; None where there is none.

    Parameters
    ----------
    fuel : Fuel
    efficiency : float
        % of the higher heating value.
    co2 : float
        Dry volume %; above 0 to the fuel's maximum.

    Returns
    -------
    float or None
        degF difference, 0 to 1,100.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> fuel = load().fuels["no-2-oil"]
    >>> net = net_stack_for(fuel, 80.0, 11.4)
    >>> excess = combustion.excess_air_from_co2(fuel, 11.4)
    >>> round(combustion.losses(fuel, excess, 68.0 + net, 68.0).efficiency, 2)
    80.0
    """
    excess = combustion.excess_air_from_co2(fuel, co2)

    def at(net: float) -> float:
        try:
            return combustion.losses(fuel, excess, _ROOM + net, _ROOM).efficiency
        except PhysicsError:  # more loss than heat
            return 0.0

    low, high = 0.0, 1100.0
    if not at(high) <= efficiency <= at(low):
        return None
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if at(middle) > efficiency else (low, middle)
    return (low + high) / 2


@dataclass(frozen=True, slots=True)
class Series:
    """A line through points, or the points alone. `kind` is what it is: level, way, found, left, clean, curve, tried;
    `label` stands at the last point of a line, or beside a point.
    """

    kind: str
    points: tuple[tuple[float, float], ...]
    label: str = ""
    line: bool = True


@dataclass(frozen=True, slots=True)
class Plot:
    """A picture: its name, its title, what it says in words, its axes with their titles and ranges, its series."""

    name: str
    title: str
    said: str
    x_title: str
    y_title: str
    x: tuple[float, float]
    y: tuple[float, float]
    series: tuple[Series, ...]
    y_marks: tuple[float, ...] = ()
    """Where the axis is marked; empty where the drawing may choose."""


def efficiency_plot(fuel: Fuel, points: Sequence[tuple[str, float, float, float]]) -> Plot | None:
    """The points of a visit among lines of equal efficiency; None without points.

    Parameters
    ----------
    fuel : Fuel
    points : sequence of (str, float, float, float)
        One or two: words, CO2 in %, net stack temperature in degF, efficiency in %.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> plot = efficiency_plot(load().fuels["no-2-oil"], [("as found", 11.4, 542.0, 79.3)])
    >>> plot.series[-1].label
    'as found 79.3 %'
    """
    most = combustion.co2_max(fuel) - 0.2
    points = [one for one in points if 0 < one[1] <= most]
    if not points:
        return None
    low, high = _span([co2 for _, co2, _, _ in points], 1.5, 0.5)
    low, high = max(low, 2.0), min(high, most)
    bottom, top = _span([net for _, _, net, _ in points], 100.0, 50.0)
    bottom = max(bottom, 0.0)
    series = []
    for level in _LEVELS:
        line = tuple(_within(fuel, level, low, high, bottom, top))
        if len(line) > 1:
            series.append(Series("level", line, f"{level} %"))
    if len(points) == 2:
        series.append(Series("way", tuple((co2, net) for _, co2, net, _ in points)))
    for number, (words, co2, net, efficiency) in enumerate(points):
        series.append(Series("left" if number else "found", ((co2, net),), f"{words} {efficiency:.1f} %", line=False))
    said = "; ".join(f"{words}: CO2 {co2:.1f} %, exhaust {net:.0f} degF hotter than the air, efficiency "
                     f"{efficiency:.1f} %" for words, co2, net, efficiency in points)
    return Plot("chart-efficiency", "Efficiency by CO2 and temperature of the exhaust", said
                + ". Lines of equal efficiency rise to the right: more CO2 or a cooler exhaust gives more of it.",
                "CO2 in the exhaust, %", "exhaust over air, degF", (low, high), (bottom, top), tuple(series))


def smoke_plot(settings: Sequence[tuple[float, float]], clean: float, left: float | None = None) -> Plot | None:
    """Smoke against CO2 at the settings of the air that were tried; None without any.

    Parameters
    ----------
    settings : sequence of (float, float)
        Smoke spot number, 0 to 9, and CO2 in %, in the order in which they were read.
    clean : float
        The highest spot that counts as clean; drawn as a line.
    left : float, optional
        CO2 at which the burner was left, %; the last setting read there is marked.

    Examples
    --------
    >>> [one.kind for one in smoke_plot([(0.0, 11.0), (3.0, 13.0)], 1.0, 11.0).series]
    ['clean', 'curve', 'left', 'tried']
    """
    if not settings:
        return None
    low, high = _span([co2 for _, co2 in settings], 1.0, 0.5)
    in_order = sorted(settings, key=lambda one: one[1])
    series = [Series("clean", ((max(low, 0.0), clean), (high, clean)), f"clean up to {clean:g}"),
              Series("curve", tuple((co2, smoke) for smoke, co2 in in_order))]
    kept = next((place for place in range(len(settings) - 1, -1, -1) if left is not None
                 and abs(settings[place][1] - left) < 0.05), None)
    for number, (smoke, co2) in enumerate(settings):
        series.append(Series("left" if number == kept else "tried", ((co2, smoke),), str(number + 1), line=False))
    said = "; ".join(f"setting {number}: smoke {smoke:g} at CO2 {co2:.1f} %"
                     + (", as the burner was left" if number - 1 == kept else "")
                     for number, (smoke, co2) in enumerate(settings, 1))
    return Plot("chart-smoke", "Smoke against CO2", f"{said}. A spot of up to {clean:g} counts as clean.",
                "CO2 in the exhaust, %", "smoke spot", (max(low, 0.0), high), (0.0, 9.0), tuple(series),
                tuple(map(float, range(10))))


def svg_of(plot: Plot) -> str:
    """A picture as an `svg` element.

    >>> svg_of(smoke_plot([(0.0, 11.0), (3.0, 13.0)], 1.0)).count('r="4"')
    2
    """
    chart = xy_chart(plot.name, plot.x_title, plot.y_title, plot.x, plot.y)
    if plot.y_marks:
        chart.y_labels = [int(mark) for mark in plot.y_marks]
    for series in plot.series:
        values: list[Any] = [*series.points]
        if not series.line:
            size = 4 if series.kind == "tried" else 6
            chart.add("", [{"value": values[0], "label": series.label}], stroke=False, dots_size=size)
        elif not series.label:
            chart.add("", values, show_dots=False)
        else:  # of a line the label stands at a dot, which the style sheet hides
            place = 0 if series.kind == "clean" else -1
            values[place] = {"value": values[place], "label": series.label}
            chart.add("", values, dots_size=0)
    return drawn(chart, [series.kind for series in plot.series], plot.name, plot.title, plot.said)


def _within(fuel: Fuel, level: float, low: float, high: float, bottom: float, top: float) -> list[tuple[float, float]]:
    """A line of equal efficiency, as far as it runs within the picture."""
    steps = 60
    line = []
    for step in range(steps + 1):
        co2 = low + (high - low) * step / steps
        net = net_stack_for(fuel, level, co2)
        if net is not None and bottom <= net <= top:
            line.append((co2, net))
    return line


def _span(values: Sequence[float], beside: float, to: float) -> tuple[float, float]:
    """The values with room beside them, out to whole steps."""
    return math.floor((min(values) - beside) / to) * to, math.ceil((max(values) + beside) / to) * to


def xy_chart(name: str, x_title: str, y_title: str, x: tuple[float, float], y: tuple[float, float]) -> Any:
    import pygal  # only here, see above
    from pygal.style import Style

    style = Style(value_font_size=0, value_label_font_size=12, label_font_size=12, major_label_font_size=12,
                  title_font_size=13, font_family="sans-serif")
    return pygal.XY(style=style, width=_WIDTH, height=_HEIGHT, margin=6, margin_top=18, show_legend=False,
                     print_labels=True, js=(),
                     xrange=x, range=y, x_title=x_title, y_title=y_title, classes=("chart", name),
                     disable_xml_declaration=True, max_scale=8)


def drawn(chart: Any, series: Sequence[str], name: str, title: str, said: str) -> str:
    """The drawing alone, with its title and its words."""
    root = chart.render_tree()
    for parent in list(root.iter()):
        for child in list(parent):
            tag = child.tag.rsplit("}", 1)[-1] if isinstance(child.tag, str) else "comment"
            is_tooltip = "tooltip-overlay" in (child.get("class") or "").split()
            if tag in ("comment", "defs", "title", "desc") or is_tooltip:
                parent.remove(child)
    for key in [key for key in root.attrib if key not in ("viewBox", "class")]:
        del root.attrib[key]
    # What each series is, as its class, so that the style sheet can tell lines and points apart.
    for group in root.iter():
        for word in (group.get("class") or "").split():
            if word.startswith("serie-"):
                group.set("class", f"series of-{series[int(word.removeprefix('serie-'))]}")
    root.set("role", "img")
    root.set("aria-labelledby", f"{name}-title {name}-words")
    root.set("xmlns", "http://www.w3.org/2000/svg")
    for place, (tag, ending, text) in enumerate((("title", "title", title), ("desc", "words", said))):
        element = ElementTree.Element(tag, {"id": f"{name}-{ending}"})
        element.text = text
        root.insert(place, element)
    return ElementTree.tostring(root, encoding="unicode")
