"""The PDF: the same words as the sheets, on letter paper, with the letters that its faces have.

It is read back with pypdfium2, the library of the browser Chromium for PDF, which did not write it.
"""

from __future__ import annotations

from dataclasses import replace

import pypdfium2
import pytest

from advisor.report.charts import efficiency_plot
from advisor.report.pdf import in_face, marks, report_pdf
from advisor.report.render import SHEETS, sheets_of
from advisor.report.report import Report
from advisor.report.shop import Shop
from tests.report.pages import base, dangerous, demo, lone

REPORTS = pytest.mark.parametrize("report", [demo(), lone(), dangerous()], ids=["before and after", "one visit",
                                                                                "dangers"])


def squeezed(text: str) -> str:
    """A text without blanks and hyphens, so that it does not count where its lines are broken."""
    return "".join(text.split()).replace("-", "").replace("\u0002", "").replace("\ufffe", "")


@REPORTS
def test_it_says_what_the_sheets_say(report: Report) -> None:
    report = replace(report, shop=Shop("Harbor Oil", ("12 Harbor Street",), "207 555 0100"))
    paper = pypdfium2.PdfDocument(report_pdf(base(), report))
    said = squeezed("".join(page.get_textpage().get_text_bounded() for page in paper))
    for sheet in sheets_of(base(), report):
        for text in sheet.texts:
            for line in text.split("\n"):
                assert squeezed(line) in said, line
    assert squeezed("Harbor Oil 12 Harbor Street Telephone 207 555 0100") in said


@REPORTS
def test_every_page_is_letter_paper_and_nothing_stands_beyond_its_margin(report: Report) -> None:
    paper = pypdfium2.PdfDocument(report_pdf(base(), report))
    assert len(paper) <= 8
    for page in paper:
        assert page.get_size() == (612.0, 792.0)  # 8.5 by 11 in. at 72 points an inch
        text = page.get_textpage()
        boxes = [text.get_charbox(place) for place in range(text.count_chars())]
        assert all(left > 30 and right < 612 - 30 and bottom > 30 and top < 792 - 30
                   for left, bottom, right, top in boxes if right > left)


def test_one_sheet_alone_and_the_same_bytes_twice() -> None:
    for name in SHEETS:
        one = report_pdf(base(), demo(), [name])
        assert one == report_pdf(base(), demo(), [name])
        assert len(pypdfium2.PdfDocument(one)) <= 4


@pytest.mark.parametrize("typed", ["Größe “x” – 5 €", "Łódź, Москва, 東京", "**bold** __a__ --b-- [l](http://x)",
                                   "\x1b[31m", "x" * 3000, "a\nb\tc"])
def test_whatever_was_typed_makes_a_pdf(typed: str) -> None:
    report = replace(demo(), title=typed, notes=(typed,), technician=typed, shop=Shop(typed, (typed,)))
    assert len(pypdfium2.PdfDocument(report_pdf(base(), report))) >= 4
    assert in_face(typed).encode("latin-1")


def test_pictures_are_drawn_where_the_figures_are() -> None:
    """The points of the picture lie at CO2 11.4 and 12.2 % between the marks of its axis."""
    plot = efficiency_plot(base().fuels["no-2-oil"], [("as found", 11.4, 542.0, 79.3), ("as left", 12.2, 395.0, 84.0)])
    assert plot is not None
    assert marks(*plot.x)[0] >= plot.x[0]
    assert marks(*plot.x)[-1] <= plot.x[1]
    paper = pypdfium2.PdfDocument(report_pdf(base(), demo(), ["office"]))
    words = [page.get_textpage() for page in paper]
    text = next(text for text in words if "as found 79.3" in text.get_text_bounded())

    def left_of(said: str) -> float:
        place = text.search(said, match_case=True).get_next()
        assert place is not None
        return float(text.get_charbox(place[0])[0])

    assert left_of("as found 79.3") < left_of("as left 84.0")
