"""A unit over the years: numbers of every visit, and drift by rules of common practice."""

from __future__ import annotations

from datetime import UTC, datetime
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.physics import combustion
from advisor.reasoning.case import SKIPPED, Case, Entry
from advisor.reasoning.casefile import parse_case
from advisor.reasoning.derive import derive
from advisor.visit.drift import DRIFT_RULES, drift, drift_text
from advisor.visit.record import Unit, Visit
from advisor.visit.trend import Moment, completed, history, measures, moment_of, sparkline
from advisor.visit.trendpicture import svg


def at(year: int) -> datetime:
    return datetime(year, 10, 1, 12, tzinfo=UTC)


def found(year: int, **numbers: float) -> Moment:
    return Moment(at(year), numbers)


def left(year: int, **numbers: float) -> Moment:
    return Moment(at(year), numbers, left=True)


def names(*moments: Moment) -> list[str]:
    return [one.rule.name for one in drift(moments)]


def test_thresholds_lie_beyond_what_two_readings_can_miss_by() -> None:
    base = load()
    numbers = derive(parse_case("entries: {stack: 520, room: 70, co2: 11, over fire: -.02, breech: -.05}", "case.yaml",
                                base), base).numbers
    errors = {name: numbers[name].error if base.quantities[name].derived else base.quantities[name].accuracy
              for rule in DRIFT_RULES for name in {**rule.moved, **rule.steady, **rule.like}}
    assert min(errors.values()) > 0
    for rule in DRIFT_RULES:
        for name, least in rule.moved.items():
            assert abs(least) >= 2 * errors[name], (rule.name, name)
        # what must be steady may move by one instrument's accuracy, or no honest pair of readings would count
        assert all(most >= errors[name] for name, most in {**rule.steady, **rule.like}.items())


def test_a_stack_up_fifty_degrees_at_the_same_co2_shows_fouling() -> None:
    """Common practice: with the same fire and excess air, a stack up 50 degF since last year shows fouling."""
    assert names(found(2025, stack_temperature=480, co2=12), found(2026, stack_temperature=530, co2=11.8)) == [
        "stack-up-at-the-same-co2"]
    assert names(found(2025, stack_temperature=480, co2=12), found(2026, stack_temperature=529, co2=11.8)) == []
    assert names(found(2025, stack_temperature=480, co2=12), found(2026, stack_temperature=530, co2=10.9)) == [
        "stack-up-with-less-co2"]
    assert names(found(2025, stack_temperature=480), found(2026, stack_temperature=600)) == []
    assert names(found(2026, stack_temperature=600, co2=12)) == names() == []


def test_another_nozzle_explains_a_higher_stack() -> None:
    then, now = {"stack_temperature": 480.0, "co2": 12.0}, {"stack_temperature": 540.0, "co2": 12.0}
    assert names(found(2025, **then, nozzle_size=0.85), found(2026, **now, nozzle_size=1.0)) == []
    assert names(found(2025, **then, nozzle_size=0.85), found(2026, **now, nozzle_size=0.85)) == [
        "stack-up-at-the-same-co2"]


def test_what_creeps_a_little_every_year_is_noticed() -> None:
    years = [found(2022 + k, stack_temperature=480 + 18 * k, co2=12) for k in range(5)]
    assert drift(years[:3]) == ()
    assert drift(years)[0].then == years[1]  # 54 degF in three years; the year before it says no less, but longer ago


def test_a_visit_is_compared_with_how_the_earlier_one_left_the_unit() -> None:
    sooted, cleaned = found(2025, stack_temperature=600, co2=12), left(2025, stack_temperature=480, co2=12)
    now = found(2026, stack_temperature=540, co2=12)
    assert names(sooted, now) == []
    assert drift([sooted, cleaned, now])[0].then == drift([now, cleaned, sooted])[0].then == cleaned
    # the moment after today's own remedy is not "now"
    after = left(2026, stack_temperature=480, co2=12)
    assert drift([sooted, cleaned, now, after])[0].now == now


@pytest.mark.parametrize("rule", DRIFT_RULES, ids=lambda rule: rule.name)
def test_every_rule_can_hold_and_is_told_in_words(rule: object) -> None:
    base = load()
    assert rule in DRIFT_RULES
    one = next(one for one in DRIFT_RULES if one is rule)
    start = {"stack_temperature": 480.0, "co2": 11.0, "smoke": 1.0, "draft_drop": 0.03, "draft_breech": -0.06,
             "co": 30.0, "efficiency": 84.0}
    then = {name: start[name] for name in (*one.moved, *one.steady)}
    now = {name: value + one.moved.get(name, 0.0) for name, value in then.items()}
    seen = {drifted.rule.name: drifted for drifted in drift([found(2025, **then), found(2026, **now)])}
    text = drift_text(seen[one.name], base)
    assert text.startswith("since 2025-10-01 ")
    assert text.endswith(one.says)
    back = {drifted.rule.name for drifted in drift([found(2025, **now), found(2026, **then)])}
    assert one.name not in back


@given(st.lists(st.none() | st.floats(-1e6, 1e6), max_size=30), st.booleans())
def test_a_sparkline_has_a_mark_a_value_and_keeps_their_order(values: list[float | None], plain: bool) -> None:
    line = sparkline(values, plain)
    assert len(line) == len(values)
    assert [mark == " " for mark in line] == [value is None for value in values]
    assert not plain or line.isascii()
    marks = "_.-~=+*#" if plain else "▁▂▃▄▅▆▇█"
    pairs = sorted((value, marks.index(mark)) for value, mark in zip(values, line, strict=True) if value is not None)
    assert [level for _, level in pairs] == sorted(level for _, level in pairs)
    if pairs and pairs[0][0] < pairs[-1][0]:
        assert (pairs[0][1], pairs[-1][1]) == (0, 7)


def test_history_computes_what_was_not_entered_in_our_units() -> None:
    base = load()
    case = Case((Entry("stack_temperature", "250 C", 250.0), Entry("room_temperature", "20 C", 20.0),
                 Entry("co2", "12", 12.0), Entry("gone", "1", 1.0)))
    visit = Visit("u", at(2026), case, Case((Entry("smoke", "0", 0.0),)), number=3,
                  measured_in={"stack_temperature": "degC", "room_temperature": "degC", "co2": "%"})
    before, after = history([visit], base)
    assert before.numbers["stack_temperature"] == pytest.approx(482.0)
    # the exact definition of the degree Fahrenheit (NIST SP 811, appendix B): 230 K are 414 degF
    assert before.numbers["net_stack"] == pytest.approx(414.0)
    fuel = base.fuels["no-2-oil"]
    excess = combustion.excess_air_from_co2(fuel, 12.0)
    losses = combustion.losses(fuel, excess, 482.0, 68.0)
    assert before.numbers["efficiency"] == pytest.approx(losses.efficiency)
    assert "gone" not in before.numbers
    assert (after.left, after.visit, dict(after.numbers)) == (True, 3, {"smoke": 0.0})


def test_a_case_is_completed_by_what_is_known_of_its_unit() -> None:
    base = load()
    unit = Unit("A", equipment=(Entry("appliance", "boiler", "boiler"), Entry("nozzle_size", "0.85", 0.85)),
                measured_in=measures(base))
    case = completed(Case((Entry("nozzle_size", "1.0", 1.0),)), unit, base)
    assert {name: entry.value for name, entry in case.latest.items()} == {"appliance": "boiler", "nozzle_size": 1.0}
    assert moment_of(case, base, datetime(2026, 1, 1)).at.tzinfo is not None
    skipped = completed(Case((Entry("nozzle_size", SKIPPED, None, SKIPPED),)), unit, base)  # it says nothing itself
    assert skipped.latest["nozzle_size"].value == 0.85


def test_the_picture_says_every_value_in_words_and_shows_it_without_color() -> None:
    base = load()
    moments = [found(2024, stack_temperature=480, co2=12, smoke=0), left(2024, stack_temperature=470, co2=12, smoke=0),
               found(2025, stack_temperature=505, co2=11.9), found(2026, stack_temperature=540, co2=11.8, smoke=1)]
    picture = svg(moments, base, "Mill <Lane> & barn", drift(moments))
    root = ElementTree.fromstring(picture)
    space = "{http://www.w3.org/2000/svg}"
    title, words = root.find(f"{space}title"), root.find(f"{space}desc")
    assert title is not None
    assert words is not None
    assert title.text == "Mill <Lane> & barn: the readings over the visits"
    assert root.get("aria-labelledby") == f"{title.get('id')} {words.get('id')}"
    for said in ("2024-10-01 as found 480 degF", "2024-10-01 as left 470 degF", "2025-10-01 as found 11.9 %",
                 "2026-10-01 as found 1", "look for soot or scale"):
        assert said in str(words.text)
    assert "efficiency" not in str(words.text)  # not known, not drawn
    points = root.findall(f"{space}circle")
    assert len(points) == 4 + 4 + 3
    assert sum(point.get("fill") == "white" for point in points) == 3  # hollow, as left
    stack = [float(point.get("cy", "0")) for point in points[:4]]
    assert stack[3] < stack[2] < stack[0] < stack[1]  # hotter stands higher
    texts = [str(text.text) for text in root.findall(f"{space}text")]
    assert {"480 degF", "540 degF", "2024-10-01", "2026-10-01"} <= set(texts)
    assert svg(moments[:1], base, "one").count("<circle") == 3
    assert "No such reading was kept." in svg([found(2024, co=3)], base, "none")
    with pytest.raises(ValueError, match="no visits"):
        svg([], base, "none")
