"""The customer's page: one letter page that anybody reads, from which nothing that protects people is ever cut.

Grades by textstat: Flesch-Kincaid (Kincaid and others, 1975), the automated readability index, Gunning's fog,
Coleman-Liau and SMOG (McLaughlin, 1969), each in school grades of the United States.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pypdfium2
import pytest
import textstat
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.call.autosave import CaseFile
from advisor.library.items import Observation, Quantity
from advisor.physics import units
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Case, Entry
from advisor.report.content import content
from advisor.report.customer import customer_sheet, sentences_in
from advisor.report.gather import Given, of_files
from advisor.report.pdf import report_pdf
from advisor.report.plainwords import HOUSEHOLD, LEFT_OFF, NOTES
from advisor.report.report import Report, report_of
from advisor.report.sheets import Sheet
from advisor.report.shop import Shop
from advisor.report.spelled import IN_FULL, spelled
from tests.call.playing import play
from tests.report.pages import DAY, base, dangerous, demo, lone

CALLS = sorted((Path(__file__).parents[2] / "demo" / "calls").glob("*.txt"))
SHOP = Shop("Harbor Street Oil Heat", ("12 Harbor Street", "Milltown"), "207 555 0100", "1234", "A. Example")
GRADES = (textstat.flesch_kincaid_grade, textstat.automated_readability_index, textstat.gunning_fog,
          textstat.coleman_liau_index, textstat.smog_index)
MEASURES = {units.symbol(quantity.kind) for quantity in base().quantities.values()} - {"", "%", "years", "in"}


@lru_cache
def of_call(script: Path) -> Report:
    """The report of a call of the demo, from the files that it leaves."""
    with TemporaryDirectory() as folder:
        file = CaseFile(Path(folder) / "case.yaml", base())
        play(file, *(line for line in script.read_text().splitlines() if line not in ("quit", "report")))
        return of_files(base(), file.path, None, Given(on=DAY), SHOP)


def page_of(report: Report) -> Sheet:
    return customer_sheet(base(), content(base(), report))


def prose(sheet: Sheet) -> str:
    """What the page says, each line a sentence; a decimal point ends none."""
    lines = [text.strip() for part in sheet.parts for line in part.lines for text in (line.lead, line.text) if text]
    ended = [text if text[-1] in ".?!" else f"{text.rstrip(':')}." for text in lines]
    return re.sub(r"(\d)[.,](\d)", r"\1\2", "\n".join(ended))


def short_forms(sheet: Sheet, quoted: str = "") -> list[str]:
    """The short forms on a page that its words do not explain: units of measure, gases, letters in capitals."""
    said = " ".join(sheet.texts).replace(quoted, "") if quoted else " ".join(sheet.texts)
    found = [measure for measure in MEASURES if re.search(rf"(?<=\d )\b{re.escape(measure)}(?!\w)", said)]
    found += [one for one in IN_FULL if not one.islower() and re.search(rf"(?<![\w.]){re.escape(one)}(?!\w)", said)
              and one != "A"]
    return [*found, *re.findall(r"\b[A-Z]{2,}\d*\b", said)]


def pages_in(paper: bytes) -> int:
    return len(pypdfium2.PdfDocument(paper))


@pytest.mark.parametrize("script", CALLS, ids=lambda path: path.stem)
def test_a_call_makes_one_page_of_grade_eight_or_lower_without_short_forms(script: Path) -> None:
    report = of_call(script)
    sheet = page_of(report)
    for grade in GRADES:
        assert grade(prose(sheet)) <= 8.0, grade.__name__
    assert short_forms(sheet, report.complaint) == []
    assert pages_in(report_pdf(base(), report, ["customer"])) == 1


def test_the_measures_of_these_tests_can_fail() -> None:
    hard = "Incomplete atomization precipitates carbonaceous accumulation throughout the convective exchanger surfaces."
    assert all(grade("\n".join([hard] * 30)) > 8 for grade in GRADES)
    bad = Sheet("customer", "CO 40 ppm at 480 degF", "", ())
    assert {"CO", "ppm", "degF"} <= set(short_forms(bad))
    long = replace(demo(), before=assess(Case(), base()), after=None, remedies=("clean-gas-passages",) * 90)
    assert pages_in(report_pdf(base(), long, ["customer"])) > 1


@pytest.mark.parametrize("report", [demo(), lone(), dangerous()], ids=["before and after", "one visit", "dangers"])
def test_the_pages_looked_at_are_of_grade_eight_or_lower(report: Report) -> None:
    sheet = page_of(report)
    assert max(grade(prose(sheet)) for grade in GRADES) <= 8.0
    assert short_forms(sheet) == []


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Any readings and looks, many or few: a page must hold whatever comes."""
    items = draw(st.lists(st.sampled_from(base().entered), max_size=60, unique_by=lambda item: item.name))
    entries = []
    for item in items:
        if isinstance(item, Quantity):
            low, high = item.plausible
            value = round(low + draw(st.floats(0, 1)) * (high - low), 2)
            entries.append(Entry(item.name, f"{value:g}", value))
        elif isinstance(item, Observation):
            answer = draw(st.sampled_from(sorted(item.answers)))
            entries.append(Entry(item.name, answer, answer))
    return Case(tuple(entries))


@settings(max_examples=40, deadline=None)
@given(before=cases(), after=st.none() | cases(), notes=st.lists(st.text(max_size=2000), max_size=2),
       remedies=st.lists(st.sampled_from(sorted(base().remedies)), max_size=4))
def test_whatever_was_found_the_page_keeps_what_protects(
    before: Case, after: Case | None, notes: list[str], remedies: list[str]
) -> None:
    report = report_of(base(), before, after, "Mill Lane", DAY, remedies=remedies, notes=notes, shop=SHOP)
    words = content(base(), report)
    sheet = customer_sheet(base(), words)
    said = "\n".join(line.whole for part in sheet.parts for line in part.lines)
    for danger in words.open_dangers:
        assert all(spelled(sentence) in said for sentence in sentences_in(danger.household))
    for step in (*HOUSEHOLD, *(LEFT_OFF if words.open_dangers else ())):
        assert report.last.gate.stops(step.acts) or step.text in said
    assert all(text in said for text in (*NOTES, *words.unchecked.always))
    assert all(spelled(one.what) in said or (one.short and one.short in said) for one in words.advised)
    if not notes:
        assert textstat.flesch_kincaid_grade(prose(sheet)) <= 8.0
        assert short_forms(sheet) == []
    if len(words.open_dangers) <= 8 and len(words.advised) <= 8:
        assert pages_in(report_pdf(base(), report, ["customer"])) == 1


def test_every_danger_at_once_takes_a_second_page_and_loses_no_word() -> None:
    entries: dict[str, str] = {}
    for rule in base().rules.values():
        example = next((one for one in rule.examples if one.fires), None) if rule.hazard else None
        for name, typed in example.entries.items() if example else ():
            entries.setdefault(name, typed)
    from advisor.reasoning.casefile import parse_case

    text = "entries:\n" + "\n".join(f"- {name}: {typed!r}" for name, typed in entries.items())
    report = Report("Mill Lane", DAY, assess(parse_case(text, "all.yaml", base()), base(), look_ahead=False))
    assert len(report.last.hazards) > 30
    paper = pypdfium2.PdfDocument(report_pdf(base(), report, ["customer"]))
    said = " ".join(" ".join(page.get_textpage().get_text_bounded() for page in paper).split())
    assert len(paper) > 1
    for found in report.last.hazards:
        assert all(spelled(sentence) in said for sentence in sentences_in(base().hazards[found.name].household))


def test_what_was_done_is_said_and_nothing_is_said_not_to_be_there() -> None:
    done = {script.stem: [line.whole for part in page_of(of_call(script)).parts if part.title == "What we did"
                          for line in part.lines] for script in CALLS}
    assert any("Brush and vacuum the flue passages." in line for line in done["soot"])
    assert any("Switch on after asking who turned it off" in line for line in done["no-heat"])
    assert any("oil leaking: new gasket on the filter, wiped dry" in line for line in done["oil-smell"])
    assert done["tune-up"] == ["We made no repair on this visit."]
    assert not any("no repair" in line for name in ("soot", "no-heat", "furnace", "oil-smell") for line in done[name])


def test_the_complaint_stands_in_the_customers_own_words() -> None:
    said = {script.stem: of_call(script).complaint for script in CALLS}
    for name, words in (("no-heat", ("no heat", "the burner is dead")),
                        ("oil-smell", ("oil smell in the basement", "got a delivery yesterday")),
                        ("callback", ("sooting again", "we were here three weeks ago"))):
        assert [said[name].count(one) for one in words] == [1] * len(words)


def test_a_report_of_nothing_is_a_page_too() -> None:
    sheet = page_of(Report("Mill Lane", DAY, assess(Case(), base())))
    assert "No reading was taken that tells of the fire." in [line.text for part in sheet.parts for line in part.lines]
