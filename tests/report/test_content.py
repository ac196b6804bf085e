"""What the report says, and what it must never say."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from datetime import datetime
from html import unescape

import pytest

from advisor.physics import combustion
from advisor.physics.combustion import Fuel
from advisor.reasoning.assess import assess
from advisor.reasoning.case import CURED, Case, Entry
from advisor.report.charts import efficiency_plot, net_stack_for, smoke_plot, svg_of
from advisor.report.content import content
from advisor.report.customer import sentences_in
from advisor.report.plainwords import HOUSEHOLD, LEFT_OFF, READINGS, SUBJECTS, TILES, sentences
from advisor.report.render import Report, report_html, report_text, sheets_of
from advisor.report.spelled import spelled
from tests.report.pages import DAY, base, case, dangerous_report, demo, demo_report, lone_report

CLEAN = "room: 70 F, stack: 465 F, co2: 12.2 %, smoke: 0"


def flat(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def test_the_demo_says_what_was_found_done_and_saved() -> None:
    said = flat(report_text(base(), demo()))
    assert "The flame smoked heavily" in said
    assert "What we found behind it: soot in the flue passages." in said
    assert "Brush and vacuum the flue passages. It is done, and the tests after it show that it worked." in said
    assert "readings we took were as they should be." in said
    assert "$3.85 a gallon" in said
    assert "Swept the foot of the chimney too." in said
    # 1 - 79.3 / 84.0 by hand, of 860 gal at 3.85
    assert "about 5.5 % less oil" in said
    assert "about 48 gallons less" in said
    assert "relief valve and pressure (after the work)" in said
    assert "(value from memory)" in said


def test_page_and_text_say_the_same() -> None:
    page, text = without_tags(demo_report()), flat(report_text(base(), demo())).casefold()
    for sheet in sheets_of(base(), demo()):
        for said in (" ".join(line.split()) for text in sheet.texts for line in text.split("\n")):
            assert said.casefold() in text
            assert said in page


def without_tags(page: str) -> str:
    return " ".join(unescape(re.sub(r"<(?!svg)[^>]*>", "", page)).split())


def test_no_line_of_text_is_wider_than_80_columns() -> None:
    for report in (demo(), replace(demo(), after=None)):
        assert max(map(len, report_text(base(), report))) <= 80


def test_dangers_stand_first_in_words_for_the_household() -> None:
    page = dangerous_report()
    assert page.index(">Danger<") < page.index("What we found")
    assert "Left off, do not restart. Reason: somebody sick in the house" in page
    assert "See a doctor even if you feel better" in page
    report = Report("furnace", DAY, case('entries: {symptoms: "yes"}'))
    text = report_text(base(), report)
    assert text[3].startswith("DANGER")
    flowing = flat(text)
    assert "before each heating season" not in flowing
    assert "pipes can freeze" in flowing
    assert "not arranged yet" in flowing
    assert "Tuesday" in flat(report_text(base(), replace(report, coming="the service company, Tuesday 8 am")))


def test_nobody_is_told_to_heat_a_house_that_must_not_be_entered() -> None:
    for typed, heated in (("co_room: 120 ppm", False), ("oil_in_chamber: pool", True)):
        said = household_part(Report("furnace", DAY, case(f"entries: {{{typed}}}")))
        assert ("Heat only with what is made to heat rooms" in said) == heated
        assert "pipes can freeze" in said


def household_part(report: Report) -> str:
    """The customer's page as text."""
    return flat(report_text(base(), report, ["customer"]))


@pytest.mark.parametrize("hazard", sorted(base().hazards))
def test_the_household_reads_no_step_of_the_technician_and_no_sentence_against_another(hazard: str) -> None:
    """Sentences are known by their acts: none that an open hazard forbids is left, and no technician's step at all."""
    rule = next(rule for rule in base().rules.values() if rule.hazard == hazard)
    example = next(one for one in rule.examples if one.fires)
    entries = ", ".join(f'{name}: "{typed}"' for name, typed in example.entries.items())
    report = Report("unit", DAY, case(f"entries: {{{entries}}}"))
    said = household_part(report)
    assert all(spelled(sentence) in said for sentence in sentences_in(base().hazards[hazard].household))
    assert "Left off, do not restart" in said
    for step in (*HOUSEHOLD, *LEFT_OFF):
        if report.last.gate.stops(step.acts):
            assert step.text not in said
    steps = [step.text for one in base().hazards.values() for step in (*one.do, *one.emergency)]
    steps += [step.text for check in base().checks.values() for step in check.how]
    steps += [step.text for remedy in base().remedies.values() for step in remedy.steps]
    assert not [step for step in steps if len(step) > 30 and step in said]


def test_a_danger_is_made_safe_by_a_cure_and_its_proof_only() -> None:
    before = case("entries: {oil_leak: dripping}")

    def after(more: str, cured: bool) -> Report:
        left = case(f"entries: {{{CLEAN}{more}}}").case
        marks = (Entry("oil-leak", "new flare", None, CURED),) if cured else ()
        left = replace(left, earlier=(*before.case.entries, *marks))
        return Report("boiler", DAY, before, assess(left, base(), look_ahead=False))

    for more, cured, state, is_open in (
        ("", False, "Still open", True), (", oil_leak: none", False, "Still open", True),
        (", oil_leak: could not check", True, "not all made", True),
        (", oil_leak: none, start_behavior: clean", True, "tests afterwards show that it is safe", False),
    ):
        words = content(base(), after(more, cured))
        assert [(one.title, one.open) for one in words.dangers] == [("oil leaking", is_open)], more
        assert state in words.dangers[0].state
        assert bool(words.tag) == is_open


def test_what_was_typed_is_escaped() -> None:
    bad = "<script>alert('x')</script><img src=x onerror=alert(1)>&amp;"
    report = replace(demo(), title=bad, technician=bad, notes=(bad,),
                     before=assess(replace(demo().before.case, title=bad), base()))
    page = report_html(base(), report)
    assert "<script" not in page
    assert "<img" not in page
    assert page.count("&lt;script&gt;") >= 4  # in the title of the page too
    assert "&amp;amp;" in page
    assert "<script>" in flat(report_text(base(), report))  # text stays as it was typed


@pytest.mark.parametrize("page", [demo_report, lone_report, dangerous_report])
def test_the_page_needs_nothing_from_elsewhere(page: object) -> None:
    assert callable(page)
    html = page()
    assert not re.findall(r"<(?:script|link|img|iframe|object|embed)\b", html)
    assert not re.findall(r"""(?:src|href)=|url\(|@import""", html)
    # the name of the SVG language is the only address, and is not fetched
    assert set(re.findall(r"https?://[^\s\"'<]+", html)) <= {"http://www.w3.org/2000/svg"}


def test_not_checked_lists_readings_and_checks() -> None:
    words = content(base(), Report("boiler", DAY, case(
        "entries: {smoke: 0, spot_look: clean, relief_valve: could not check, flame_look: not checked}"))).unchecked
    assert words.could_not == ("relief valve and pressure",)
    assert words.passed_by == ("look of the flame",)
    assert "carbon monoxide in the room air" in words.never
    assert "smoke spot test" not in words.never
    both = content(base(), Report("boiler", DAY, case("entries: {smoke: 3, spot_look: dry-gray}"),
                                  case(f"entries: {{{CLEAN.removesuffix(', smoke: 0')}}}"))).unchecked
    assert "smoke spot test" in both.not_again


def test_what_the_unit_cannot_have_was_neither_left_out_nor_not_made_again() -> None:
    boiler = "equipment: {appliance: boiler, draft type: natural}\nentries: {smoke: 3, spot_look: dry-gray}"
    words = content(base(), Report("boiler", DAY, case(boiler), case(boiler))).unchecked
    titles = {base().checks[name].title for name in ("watch-house-fan", "check-venter", "check-seals")}
    assert not titles & {*words.never, *words.not_again}
    assert base().checks["spillage-test"].title in words.never


def test_oxygen_alone_counts_as_both_gases() -> None:
    never = content(base(), Report("boiler", DAY, case("entries: {o2: 5 %}"))).unchecked.never
    assert not any("CO2" in one or "oxygen" in one for one in never)


def test_a_remedy_without_retest_is_not_called_proved() -> None:
    report = Report("boiler", DAY, case("entries: {smoke: 4}"), None, remedies=("clean-gas-passages",))
    (done,) = content(base(), report).done
    assert "nothing proves" in done.state
    worse = replace(report, after=case("entries: {smoke: 4}"))
    (done,) = content(base(), worse).done
    assert "do not show" in done.state


def test_the_makers_figure_is_named_as_the_source() -> None:
    found = case("manufacturer: {co2-high: 13.4 %}\nentries: {co2: 12 %}")
    words = content(base(), Report("boiler", DAY, found))
    assert any("the manufacturer's figure for this unit" in source for source in words.sources)
    assert any("13.4 [" in one.limits for one in words.figures)


def test_doubted_readings_claim_nothing() -> None:
    # For one fuel O2 fixes CO2: 5 % and 8 % cannot both be right.
    found = case("entries: {o2: 5 %, co2: 8 %, stack: 500 F, room: 70 F, smoke: 3}")
    assert any(doubt.open for doubt in found.doubts)
    words = content(base(), Report("boiler", DAY, found, case(f"entries: {{{CLEAN}}}")))
    assert words.savings is None
    assert "in doubt" in words.worth[0]
    assert any(row.doubted for row in words.rows if row.name == "co2")
    assert not any("Of the heat in the oil" in one for one in words.found)


def test_plain_words_know_every_band_and_subject() -> None:
    for name, words in READINGS.items():
        assert set(words) <= set(base().quantities[name].bands), name
    assert set(TILES) <= set(base().quantities)
    assert {cause.subject for cause in base().causes.values()} <= set(SUBJECTS)


JARGON = ("breech", "draft", "knee", "stack", "nozzle", "flue", "retention", "CO2", "excess air", "w.c.", "ppm")


def test_plain_words_are_free_of_jargon() -> None:
    texts = [text for words in READINGS.values() for text in words.values()] + [*SUBJECTS.values()]
    texts += sentences(demo().before)
    assert not [(word, text) for text in texts for word in JARGON if word.lower() in text.lower()]


def test_the_day_and_an_empty_case_make_a_report() -> None:
    empty = Report("boiler", datetime(2026, 2, 3).date(), assess(Case(), base()))
    assert "February 3, 2026" in report_html(base(), empty)
    assert "No reading was taken" in report_html(base(), empty)
    assert "No repair was entered." in flat(report_text(base(), empty))


def efficiency_chart(fuel: Fuel, points: list[tuple[str, float, float, float]]) -> str:
    plot = efficiency_plot(fuel, points)
    return svg_of(plot) if plot else ""


def smoke_chart(settings: list[tuple[float, float]], clean: float, left: float) -> str:
    plot = smoke_plot(settings, clean, left)
    assert plot is not None
    return svg_of(plot)


# --- pictures ---------------------------------------------------------------------------------------------------


def test_pictures_are_sound_xml_with_words_and_no_script() -> None:
    fuel = base().fuels["no-2-oil"]
    for svg in (efficiency_chart(fuel, [("as found", 11.4, 542.0, 79.3), ("as left", 12.2, 395.0, 84.0)]),
                smoke_chart([(0.0, 10.6), (3.0, 13.6)], 1.3, 10.6)):
        root = ElementTree.fromstring(svg)
        tags = {one.tag.rsplit("}", 1)[-1] for one in root.iter()}
        assert not tags & {"script", "style", "image", "a", "foreignObject"}
        named = str(root.get("aria-labelledby")).split()
        texts = {one.get("id"): one.text for one in root.iter() if one.get("id")}
        assert root.get("role") == "img"
        assert all(texts[name] for name in named)
    words = smoke_chart([(0.0, 10.6), (3.0, 13.6)], 1.3, 10.6)
    assert "setting 1: smoke 0 at CO2 10.6 %, as the burner was left" in words


def test_points_stand_where_the_figures_say() -> None:
    """The two points of the picture lie in the drawing as the figures lie: lower for a cooler exhaust."""
    fuel = base().fuels["no-2-oil"]
    root = ElementTree.fromstring(efficiency_chart(fuel, [("as found", 11.0, 550.0, 79.0), ("as left", 12.0, 400.0,
                                                                                            84.0)]))
    dots = [one for one in root.iter() if one.tag.endswith("circle") and one.get("r") == "6"]
    (first, last) = ((float(one.get("cx", "")), float(one.get("cy", ""))) for one in dots)
    assert first[0] < last[0]
    assert first[1] < last[1]  # y runs down


@pytest.mark.parametrize("points", [
    [("this visit", 0.5, 900.0, 30.0)], [("this visit", 15.2, 60.0, 92.0)], [("a", 3.0, 20.0, 90.0),
                                                                            ("b", 14.9, 1000.0, 70.0)]])
def test_odd_readings_still_draw(points: list[tuple[str, float, float, float]]) -> None:
    svg = efficiency_chart(base().fuels["no-2-oil"], points)
    assert svg == "" or ElementTree.fromstring(svg) is not None


def test_lines_agree_with_the_energy_balance() -> None:
    fuel = base().fuels["no-2-oil"]
    for co2, level in ((8.0, 70.0), (11.0, 80.0), (14.0, 86.0)):
        net = net_stack_for(fuel, level, co2)
        assert net is not None
        found = combustion.losses(fuel, combustion.excess_air_from_co2(fuel, co2), 68.0 + net, 68.0)
        assert found.efficiency == pytest.approx(level, abs=1e-4)


def test_every_reading_that_is_compared_stands_in_the_table() -> None:
    words = content(base(), demo())
    after = {one.row.name: one.row.after for one in words.figures}
    assert {"smoke", "co2", "co", "stack_temperature", "draft_over_fire", "draft_breech", "co_room"} <= set(after)
    assert (after["smoke"], after["co2"], after["stack_temperature"]) == (0.0, 12.2, 465.0)
