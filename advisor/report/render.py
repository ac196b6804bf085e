"""The report as one self-contained page, and as text. Jinja2 lays out what `content` says, and escapes all of it."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.pages.wording import wrapped
from advisor.physics.units import PhysicsError
from advisor.reasoning.derive import limit_value
from advisor.report.charts import efficiency_chart, smoke_chart
from advisor.report.content import Content, capital, content
from advisor.report.plainwords import TILES
from advisor.report.report import Report
from advisor.visit.beforeafter import is_doubted

_SMOKE_LIMIT: Final = "smoke-clean"


def report_html(base: Base, report: Report) -> str:
    """The report as one HTML page that needs nothing from elsewhere: no script, no font, no picture file.

    Parameters
    ----------
    base : Base
    report : Report
        Everything typed in it is escaped.

    Examples
    --------
    >>> from datetime import date
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> found = assess(Case((Entry("smoke", "4", 4.0),)), load(), look_ahead=False)
    >>> page = report_html(load(), Report("<b>boiler</b>", date(2026, 11, 25), found))
    >>> "&lt;b&gt;boiler" in page, "<b>boiler" in page
    (True, False)
    """
    shown = content(base, report)
    return plain_text(_environment(True).get_template("report.html.j2").render(
        _words(base, shown), pictures=[Markup(svg) for svg in _pictures(base, report) if svg],
        tiles=[(title, row) for name, title in TILES.items() for row in shown.rows if row.name == name],
    ))


def report_text(base: Base, report: Report) -> list[str]:
    """The report as lines of at most 80 columns; parameters as for :func:`report_html`."""
    text = _environment(False).get_template("report.txt.j2").render(_words(base, content(base, report)))
    return [line.rstrip() for line in plain_text(text).rstrip("\n").split("\n")]


def _words(base: Base, shown: Content) -> dict[str, object]:
    report = shown.report
    return {
        "c": shown, "report": report, "base": base,
        "day": f"{report.on:%B} {report.on.day}, {report.on.year}",
        "last_state": "as left" if report.after else "",
    }


def _pictures(base: Base, report: Report) -> tuple[str, str]:
    sides = [("as found" if report.after else "this visit", report.before), ("as left", report.after)]
    points = []
    for words, one in sides:
        if one is None:
            continue
        numbers = one.findings.numbers
        needed = ("co2", "net_stack", "efficiency")
        if all(name in numbers for name in needed) and not any(is_doubted(one, name) for name in needed):
            co2, net, efficiency = (numbers[name].value for name in needed)
            points.append((words, co2, net, efficiency))
    last = report.last
    try:
        first = efficiency_chart(last.findings.fuel, points)
    except PhysicsError:  # readings beyond what the lines can be drawn for
        first = ""
    answers = {name: symbol for name, symbol in last.findings.symbols.items() if name in base.observations}
    figures = last.case.manufacturer
    clean = limit_value(base.limits[_SMOKE_LIMIT], answers, figures)[0] if _SMOKE_LIMIT in base.limits else 1.0
    left = last.findings.numbers.get("co2")
    return first, smoke_chart(report.air, clean, left.value if left else None)


def _wrap(text: object, indent: int = 0, first: str = "") -> str:
    """Text in lines of 80 columns; what was typed with line ends stays one paragraph."""
    return "\n".join(wrapped(" ".join(str(text).split()), indent, first=first))


@lru_cache(maxsize=2)
def _environment(escaped: bool) -> Environment:
    made = Environment(loader=PackageLoader("advisor.report"), autoescape=escaped, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=False)
    made.filters["wrap"] = _wrap
    made.filters["capital"] = capital
    return made


__all__ = ["Report", "report_html", "report_text"]
