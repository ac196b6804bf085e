"""Tomorrow's list as one page to print on letter paper or to read on a phone; it needs nothing from elsewhere."""

from __future__ import annotations

from advisor.library.plaintext import plain_text
from advisor.pages.wording import CAUTIONS
from advisor.visit.tomorrowitems import SECTIONS, DayList
from advisor.visit.tomorrowlines import ABOUT, figure_text, heading, made_from, nothing


def list_page(found: DayList, record: str, folder: str) -> str:
    """The page; whatever was typed is escaped.

    >>> from datetime import date
    >>> page = list_page(DayList(date(2026, 11, 28), (), 0, 0, 0, date(2026, 7, 1)), "<b>r.sqlite3", ".")
    >>> "&lt;b&gt;r.sqlite3 holds no unit yet" in page, "http" in page
    (True, False)
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(loader=PackageLoader("advisor.visit"), autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True)
    sections = [(name, title, ABOUT.get(name, ""), found.of(name)) for name, title in SECTIONS.items()]
    return plain_text(made.get_template("tomorrow.html.j2").render(
        heading=heading(found), made_from=made_from(found, record, folder), empty=nothing(found, record, folder),
        sections=sections, notes=found.notes, cautions=CAUTIONS, figure_text=figure_text,
    ))
