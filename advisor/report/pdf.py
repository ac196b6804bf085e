"""The report as a PDF, drawn from the same sheets as the page.

By fpdf2: pure Python but for Pillow, which comes as a wheel everywhere; kept up for years with releases each season;
it measures text before it is drawn, which a page that must not be two asks for. Libraries that lay out HTML need
system packages (Pango, Cairo) or a browser. It is imported only where a PDF is made.

Its built-in faces, which every reader has, know the letters of Western Europe. A letter that they lack becomes its
nearest plain one, or a question mark; the page in HTML has them all.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Collection, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final

from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.report.charts import Plot
from advisor.report.render import has_pictures, pictures_of, sheets_of
from advisor.report.report import Report
from advisor.report.sheets import BOX, DASH, LEADING, MARGIN, PAPER, SIDE, STEP, Line, Part, Sheet, Table

if TYPE_CHECKING:
    from fpdf import FPDF

_FACE: Final = "helvetica"
_INK, _SOFT, _RULE, _MARK = (29, 36, 48), (77, 86, 100), (150, 158, 168), (122, 46, 14)
_CARD: Final = 306.0
"""Width of a card that is cut out: half a sheet, in points."""
_BOTTOM: Final = PAPER[1] - MARGIN
_LIKE: Final = str.maketrans({"‘": "'", "’": "'", "“": '"', "”": '"', "–": "-", "—": "-", "…": "...", "•": "-",
                              "€": "EUR", "\u00a0": " "})


def report_pdf(base: Base, report: Report, names: Collection[str] = ()) -> bytes:
    """The report as a PDF on letter paper.

    Parameters
    ----------
    base : Base
    report : Report
    names : collection of str
        Of `render.SHEETS`; all by default.

    Examples
    --------
    >>> from datetime import date
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> found = assess(Case((Entry("smoke", "4", 4.0),)), load(), look_ahead=False)
    >>> report_pdf(load(), Report("boiler", date(2026, 11, 25), found), ["customer"])[:5]
    b'%PDF-'
    """
    from fpdf import FPDF  # only here, see above

    pdf = FPDF(unit="pt", format="letter")
    pdf.set_title(f"{in_face(report.title)}: report of {report.on:%Y-%m-%d}")
    pdf.set_author(in_face(report.shop.name or "burner-advisor"))
    pdf.set_lang("en-US")
    pdf.set_creation_date(datetime(report.on.year, report.on.month, report.on.day, 12, tzinfo=UTC))
    pdf.set_margins(MARGIN, MARGIN, MARGIN)
    pdf.set_auto_page_break(True, MARGIN)
    pdf.set_line_width(0.6)
    sheets = sheets_of(base, report, names)
    pictures = pictures_of(base, report) if has_pictures(sheets) else ()
    for sheet in sheets:
        _Pen(pdf, sheet, report, pictures).draw()
    return bytes(pdf.output())


def in_face(text: str) -> str:
    """A text in letters that the built-in faces have.

    >>> in_face("Größe, Łódź, “5”")
    'Größe, ?ódz, "5"'
    """
    def one(letter: str) -> str:
        if letter.isascii() or (ord(letter) < 256 and letter.isprintable()):
            return letter
        near = unicodedata.normalize("NFKD", letter).encode("latin-1", "ignore").decode("latin-1")
        return near or ("" if unicodedata.combining(letter) else "?")

    return "".join(map(one, unicodedata.normalize("NFC", plain_text(text)).translate(_LIKE)))


class _Pen:
    """Draws one sheet from its top to its end."""

    def __init__(self, pdf: FPDF, sheet: Sheet, report: Report, pictures: Sequence[Plot] = ()) -> None:
        self.pdf, self.sheet, self.report, self.pictures = pdf, sheet, report, pictures
        self.left = MARGIN + (14 if sheet.card else 0)
        self.right = MARGIN + _CARD - 14 if sheet.card else PAPER[0] - MARGIN
        self.side = 78.0 if sheet.card else SIDE

    def draw(self) -> None:
        """The letterhead, the title, and every part."""
        pdf, sheet, shop = self.pdf, self.sheet, self.report.shop
        pdf.add_page()
        if sheet.card:
            pdf.set_y(MARGIN + 12)
        if shop.name:
            self.text(shop.name, sheet.size + 2, bold=True)
        for line in shop.lines:
            self.text(line, sheet.size - 1, color=_SOFT)
        self.text(sheet.title, sheet.size + 4, bold=True)
        if sheet.below:
            self.text(sheet.below, sheet.size, color=_SOFT)
        self.rule(2.0)
        for part in sheet.parts:
            self.part(part)
        if sheet.card:
            pdf.set_draw_color(*_RULE)
            pdf.set_dash_pattern(4, 3)
            pdf.rect(MARGIN, MARGIN, _CARD, pdf.get_y() + 8 - MARGIN)
            pdf.set_dash_pattern()

    def text(self, text: str, size: float, *, at: float | None = None, to: float | None = None, bold: bool = False,
             color: tuple[int, int, int] = _INK, lead: str = "") -> None:
        """A paragraph from here on down, between two places across; `lead` are its first words, in bold."""
        pdf = self.pdf
        at, to = self.left if at is None else at, self.right if to is None else to
        pdf.set_font(_FACE, "B" if bold else "", size)
        pdf.set_text_color(*color)
        said = in_face(text)
        if lead:
            said = f"**{_unmarked(in_face(lead))}** {_unmarked(said)}".strip()
        pdf.set_left_margin(at)
        pdf.set_x(at)
        pdf.multi_cell(to - at, size * LEADING, said, align="L", new_x="LMARGIN", new_y="NEXT", markdown=bool(lead))
        pdf.set_left_margin(MARGIN)

    def rule(self, above: float, heavy: bool = False) -> None:
        """A line across the sheet."""
        y = self.pdf.get_y() + above
        self.pdf.set_draw_color(*_RULE)
        self.pdf.set_line_width(1.2 if heavy else 0.5)
        self.pdf.line(self.left, y, self.right, y)
        self.pdf.set_y(y + 2)

    def part(self, part: Part) -> None:
        """A part: its title beside what it says, or above it in a box where there is danger."""
        pdf, size = self.pdf, self.sheet.size - (0.5 if part.small else 0.0)
        at = self.left + (10 if part.danger else self.side)
        pdf.set_y(pdf.get_y() + size * 0.25)
        if pdf.get_y() + 3 * size * LEADING > _BOTTOM:
            pdf.add_page()
        page, top = pdf.page, pdf.get_y()
        if part.danger:
            pdf.set_y(top + 4)
            self.text(part.title, size + 2.5, at=at, bold=True, color=_MARK)
        else:
            self.text(part.title, size, to=at - 8, bold=True)
            below = pdf.get_y() if pdf.page == page else top
            pdf.set_y(top)
        numbers = 0
        for line in part.lines:
            numbers = numbers + 1 if line.mark == STEP else 0
            self.line(line, size, at, numbers)
        for table in part.tables:
            self.table(table, size - 0.5, self.left if part.picture else at)
        if part.picture and self.pictures:
            self.plots()
        if part.danger:
            pdf.set_y(pdf.get_y() + 4)
            self.frame(page, top)
        elif pdf.page == page:
            pdf.set_y(max(pdf.get_y(), below))
        if not part.danger:
            self.rule(size * 0.25)

    def frame(self, page: int, top: float) -> None:
        """A double frame around what stands between a place and here; a bar beside it where it runs over a page."""
        pdf = self.pdf
        pdf.set_draw_color(*_MARK)
        pdf.set_line_width(0.9)
        bottom = pdf.get_y()
        if pdf.page == page:
            pdf.rect(self.left, top, self.right - self.left, bottom - top)
            pdf.rect(self.left + 2.5, top + 2.5, self.right - self.left - 5, bottom - top - 5)
        else:
            pdf.line(self.left + 2, MARGIN, self.left + 2, bottom)
        pdf.set_y(bottom + 3)

    def line(self, line: Line, size: float, at: float, number: int) -> None:
        """A paragraph with the mark before it."""
        pdf = self.pdf
        if line.mark:
            if pdf.get_y() + size * LEADING > _BOTTOM:
                pdf.add_page()
            y = pdf.get_y()
            if line.mark == BOX:
                pdf.set_draw_color(*_INK)
                pdf.set_line_width(0.7)
                pdf.rect(at, y + size * 0.2, size * 0.9, size * 0.9)
            else:
                self.text("-" if line.mark == DASH else f"{number}.", size, at=at, to=at + 16)
                pdf.set_y(y)
            at += 16 if line.mark != DASH else 9
        self.text(line.text, size, at=at, to=self.right - 8, lead=line.lead)
        pdf.set_y(pdf.get_y() + size * 0.18)

    def table(self, table: Table, size: float, at: float) -> None:
        """A table; its head stands again on a new page, and no row is cut in two."""
        pdf = self.pdf
        if at == self.left and pdf.get_y() and table.caption:
            pdf.set_y(pdf.get_y() + size * LEADING)
        if table.caption:
            self.text(table.caption, size - 0.5, at=at, color=_SOFT)
        count = len(table.head or table.rows[0])
        shares: Sequence[float] = (0.37, 0.21, 0.21, 0.21) if count == 4 else (0.6, 0.4)
        wide = [(self.right - at) * share for share in shares]
        for bold, row in [(True, table.head)] * bool(table.head) + [(False, row) for row in table.rows]:
            tall = max(self.cell(text, width, size, 0.0, bold, dry=True)
                       for text, width in zip(row, wide, strict=True))
            if pdf.get_y() + tall > _BOTTOM:
                pdf.add_page()
            y, x = pdf.get_y(), at
            for text, width in zip(row, wide, strict=True):
                pdf.set_y(y)
                self.cell(text, width, size, x, bold)
                x += width
            pdf.set_draw_color(*_RULE)
            pdf.set_line_width(0.4)
            pdf.line(at, y + tall, self.right, y + tall)
            pdf.set_y(y + tall + 1)

    def cell(self, text: str, width: float, size: float, at: float, bold: bool = False, dry: bool = False) -> float:
        """A cell with its small type; returns its height, and with `dry` draws nothing."""
        main, _, small = text.partition("\n")
        tall = 0.0
        for said, type_size, color in ((main, size, _INK), (small, size - 1.5, _SOFT)):
            if not said:
                continue
            if dry:
                self.pdf.set_font(_FACE, "B" if bold else "", type_size)
                found: Any = self.pdf.multi_cell(width - 6, type_size * LEADING, in_face(said), align="L",
                                                 dry_run=True, output="HEIGHT")
                tall += float(found)
            else:
                self.text(said, type_size, at=at, to=at + width - 6, bold=bold, color=color)
        return tall + 2


    def plots(self) -> None:
        """The pictures side by side."""
        pdf, wide = self.pdf, (self.right - self.left) / 2
        tall = wide * 0.75
        if pdf.get_y() + tall + 8 > _BOTTOM:
            pdf.add_page()
        top = pdf.get_y() + 8
        for number, plot in enumerate(self.pictures):
            self.plot(plot, self.left + number * wide, top, wide - 10, tall - 10)
        pdf.set_y(top + tall)

    def plot(self, plot: Plot, left: float, top: float, wide: float, tall: float) -> None:
        """One picture, within a place: its axes, its lines, its points, each with its words."""
        pdf, size = self.pdf, 7.0
        x0, x1, y0, y1 = left + 30, left + wide - 6, top + tall - 26, top + 20

        def place(point: tuple[float, float]) -> tuple[float, float]:
            (low, high), (bottom, up) = plot.x, plot.y
            return (x0 + (point[0] - low) / (high - low) * (x1 - x0),
                    y0 + (point[1] - bottom) / (up - bottom) * (y1 - y0))

        def say(x: float, y: float, text: str, bold: bool = False, back: float = 0.0) -> None:
            pdf.set_font(_FACE, "B" if bold else "", size)
            pdf.set_text_color(*_INK)
            pdf.text(x - back * pdf.get_string_width(in_face(text)), y, in_face(text))

        pdf.set_draw_color(*_INK)
        pdf.set_line_width(0.7)
        pdf.line(x0, y0, x1, y0)
        pdf.line(x0, y0, x0, y1)
        say(left, top + 6, plot.title, bold=True)
        say((x0 + x1) / 2, y0 + 20, plot.x_title, back=0.5)
        with pdf.rotation(90, left + 6, (y0 + y1) / 2):
            say(left + 6, (y0 + y1) / 2, plot.y_title, back=0.5)
        for mark in marks(*plot.x):
            x, y = place((mark, plot.y[0]))
            pdf.line(x, y, x, y + 2.5)
            say(x, y + 10, f"{mark:g}", back=0.5)
        for mark in plot.y_marks or marks(*plot.y):
            x, y = place((plot.x[0], mark))
            pdf.line(x - 2.5, y, x, y)
            say(x - 4, y + 2.5, f"{mark:g}", back=1.0)
        for series in plot.series:
            points = [place(point) for point in series.points]
            pdf.set_draw_color(*(_RULE if series.kind == "level" else _INK))
            pdf.set_line_width(0.5 if series.kind == "level" else 0.9)
            if series.line:
                if series.kind in ("way", "clean"):
                    pdf.set_dash_pattern(*((1.5, 2.5) if series.kind == "way" else (4, 3)))
                pdf.polyline(points)
                pdf.set_dash_pattern()
                if series.label:
                    x, y = points[0] if series.kind == "clean" else points[-1]
                    say(x + 3 if series.kind == "clean" else x - 1, y - 2, series.label,
                        back=0.0 if series.kind == "clean" else 1.0)
            else:
                (x, y), = points
                radius = 2.5 if series.kind == "tried" else 3.5
                pdf.set_fill_color(*(_INK if series.kind == "left" else (255, 255, 255)))
                pdf.circle(x, y, radius, style="FD")
                say(x + 5, y - 5, series.label, bold=True)


def marks(low: float, high: float) -> tuple[float, ...]:
    """Round numbers within a range, four to nine of them, to mark an axis with.

    >>> marks(9.5, 13.5), marks(250.0, 650.0)
    ((10.0, 11.0, 12.0, 13.0), (300.0, 400.0, 500.0, 600.0))
    """
    size = 10.0 ** math.floor(math.log10((high - low) / 3))
    step = next(step for step in (size, 2 * size, 5 * size, 10 * size) if (high - low) / step <= 9)
    first = math.ceil(low / step - 1e-9)
    return tuple(round(number * step, 9) for number in range(first, math.floor(high / step + 1e-9) + 1))


def _unmarked(text: str) -> str:
    """A text in which nothing stands that would be read as a mark of bold, italic or underlined type."""
    for mark in ("**", "__", "--", "~~"):
        while mark in text:
            text = text.replace(mark, mark[0])
    return text
