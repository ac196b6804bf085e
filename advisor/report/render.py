"""The report as one self-contained page and as text. Both lay out the same sheets; the page escapes all of them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import groupby
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.pages.wording import columns, wrapped
from advisor.physics.units import PhysicsError
from advisor.reasoning.derive import limit_value
from advisor.report.charts import Plot, efficiency_plot, smoke_plot, svg_of
from advisor.report.content import Content, content
from advisor.report.customer import CUSTOMER, customer_sheet
from advisor.report.handover import HAND_OVER, TAG, handover_sheet, tag_sheet
from advisor.report.officepages import OFFICE, office_sheet
from advisor.report.report import Report
from advisor.report.sheets import BOX, DASH, STEP, Line, Part, Sheet, Table
from advisor.visit.beforeafter import is_doubted

SHEETS: Final[Mapping[str, Callable[[Base, Content], Sheet]]] = {
    CUSTOMER: customer_sheet, OFFICE: office_sheet, TAG: tag_sheet, HAND_OVER: handover_sheet,
}
"""The sheets of a report by their names, in the order in which they come out."""

_SMOKE_LIMIT: Final = "smoke-clean"


def sheets_of(base: Base, report: Report, names: Collection[str] = ()) -> tuple[Sheet, ...]:
    """The sheets of a report; all of them, or those of these names."""
    shown = content(base, report)
    return tuple(make(base, shown) for name, make in SHEETS.items() if not names or name in names)


def report_html(base: Base, report: Report, names: Collection[str] = ()) -> str:
    """The report as one HTML page that needs nothing from elsewhere: no script, no font, no picture file.

    Parameters
    ----------
    base : Base
    report : Report
        Everything typed in it is escaped.
    names : collection of str
        Of `SHEETS`; all by default.

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
    sheets = sheets_of(base, report, names)
    return plain_text(_environment().get_template("report.html.j2").render(
        sheets=sheets, report=report, shop=report.shop, day=f"{report.on:%B} {report.on.day}, {report.on.year}",
        pictures=[Markup(svg_of(plot)) for plot in pictures_of(base, report)] if has_pictures(sheets) else []))


def has_pictures(sheets: Sequence[Sheet]) -> bool:
    """Whether the pictures of the visit stand on one of the sheets."""
    return any(part.picture for sheet in sheets for part in sheet.parts)


def pictures_of(base: Base, report: Report) -> tuple[Plot, ...]:
    """The pictures of a visit, as far as there is something to draw."""
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
        first = efficiency_plot(last.findings.fuel, points)
    except PhysicsError:  # readings beyond what the lines can be drawn for
        first = None
    answers = {name: symbol for name, symbol in last.findings.symbols.items() if name in base.observations}
    figures = last.case.manufacturer
    clean = limit_value(base.limits[_SMOKE_LIMIT], answers, figures)[0] if _SMOKE_LIMIT in base.limits else 1.0
    left = last.findings.numbers.get("co2")
    return tuple(filter(None, (first, smoke_plot(report.air, clean, left.value if left else None))))


def _groups(lines: Sequence[Line]) -> list[tuple[str, list[Line]]]:
    """Lines with the same mark that follow each other, as the lists that they are."""
    return [(mark, list(group)) for mark, group in groupby(lines, lambda line: line.mark)]


@lru_cache(maxsize=1)
def _environment() -> Environment:
    made = Environment(loader=PackageLoader("advisor.report"), autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=False)
    made.filters["groups"] = _groups
    return made


# --- as text ----------------------------------------------------------------------------------------------------


def report_text(base: Base, report: Report, names: Collection[str] = ()) -> list[str]:
    """The report as lines that fit the screen; parameters as for :func:`report_html`."""
    out: list[str] = []
    for sheet in sheets_of(base, report, names):
        out += ["", "=" * min(columns(), 80), ""] if out else []
        for text in (report.shop.name, *report.shop.lines, sheet.title, sheet.below):
            out += wrapped(_one_line(text)) if text else []
        for part in sheet.parts:
            out += ["", *wrapped(_one_line(part.title).upper())]
            out += [line for text in _lines(part) for line in text]
            out += [line for table in part.tables for line in _table(table)]
    return [line.rstrip() for text in out for line in plain_text(text).split("\n")]


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _lines(part: Part) -> Iterator[list[str]]:
    for mark, group in _groups(part.lines):
        for number, line in enumerate(group, 1):
            first = {DASH: "! " if part.danger else "- ", BOX: "[ ] ", STEP: f"{number}. "}.get(mark, "")
            yield wrapped(_one_line(line.whole), 2, first=first)


_COLUMNS: Final = {2: (50, 30), 4: (33, 16, 17, 14)}
"""How wide the columns of a table are, by how many they are."""


def _table(table: Table) -> Iterator[str]:
    """A row a line, with the small type of its cells below it; where it has no room there, its cells one behind the
    other.
    """
    if table.caption:
        yield from wrapped(table.caption, 2)
    wide = _COLUMNS[len(table.rows[0])]
    for row in (table.head, *table.rows) if table.head and columns() >= 80 else table.rows:
        cells = [cell.partition("\n")[::2] for cell in row]
        texts = [text for text, _ in cells]
        if columns() >= 80 and all(len(text) < most for text, most in zip(texts, wide, strict=True)):
            yield "  " + "".join(f"{text:<{most}}" for text, most in zip(texts, wide, strict=True))
        else:
            yield from wrapped(f"{texts[0]}: {'; '.join(text for text in texts[1:] if text)}", 2, 6)
        sides = table.head[1:] if len(row) > 2 else ("",)
        smalls = [cells[0][1], "; ".join(f"{side.lower()} {small}".strip()
                                         for side, (_, small) in zip(sides, cells[1:], strict=True) if small)]
        for small in filter(None, smalls):
            yield from wrapped(small, 6)


__all__ = ["SHEETS", "Report", "report_html", "report_text", "sheets_of"]
