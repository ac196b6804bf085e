"""What the readings say of every cause, by its signature."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.library.items import IN_ORDER
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.families import leading_family
from advisor.reasoning.odds import belief
from advisor.reasoning.signatures import chart_of, predicted, read, told_in_figures, with_sound

BASE = load()
KINDS: tuple[dict[str, str], ...] = (
    {}, {"burner_type": "old-style"}, {"draft_kind": "sealed"}, {"appliance": "water-heater"},
)
RETENTION = (Entry("burner_type", "retention-head", "retention-head"), Entry("appliance", "boiler", "boiler"),
             Entry("burner_fit", "matched", "matched"), Entry("heat_medium", "water", "water"),
             Entry("draft_kind", "natural", "natural"))


def told(**readings: float | str) -> Assessment:
    """The assessment of a retention head burner in a boiler on a chimney with these readings."""
    entries = tuple(Entry(name, str(value), float(value) if isinstance(value, int | float) else value)
                    for name, value in readings.items())
    return assess(Case((*RETENTION, *entries)), BASE, look_ahead=False)


def family(found: Assessment) -> str:
    return found.families[0].name


@pytest.mark.parametrize("kind", KINDS)
def test_the_shares_of_each_panel_sum_to_one_for_each_cause_and_what_it_is_given_with(kind: dict[str, str]) -> None:
    chart = chart_of(BASE, kind)
    for panel in chart.panels:
        for at in (*(chart.levels[chart.given[panel]] if chart.given[panel] else ()), ""):
            for cause in (IN_ORDER, *BASE.causes):
                for stage in (0, 1):
                    whole = sum(chart.rows[panel, level, at][cause][stage] for level in chart.levels[panel])
                    assert whole == pytest.approx(1.0, abs=0.02), (panel, at, cause)


def test_a_level_alone_is_the_mean_over_what_it_is_given_with() -> None:
    """The law of total probability."""
    chart, cause = chart_of(BASE, {}), "air-shutter-too-closed"
    for level in chart.levels["smoke"]:
        whole = sum(chart.rows["excess_air", air, ""][cause][0] * chart.rows["smoke", level, air][cause][0]
                    for air in chart.levels["excess_air"])
        assert chart.rows["smoke", level, ""][cause][0] == pytest.approx(whole, rel=0.02)


@given(st.sampled_from(sorted(BASE.panels)), st.sampled_from(KINDS))
def test_belief_averaged_over_the_levels_of_a_panel_is_the_belief_before(panel: str, kind: dict[str, str]) -> None:
    """Bayes: the predicted shares with and without a cause average to its own probability again."""
    beliefs = {cause: BASE.common[cause] / 2 for cause in BASE.causes}
    names, without, with_ = predicted(chart_of(BASE, kind), panel, kind, with_sound(beliefs), {})
    for cause, before in beliefs.items():
        column = names.index(cause)
        met = [(before * shown + (1 - before) * usual, before * shown)
               for usual, shown in zip(without[:, column], with_[:, column], strict=True)]
        assert sum(both for both, _ in met) == pytest.approx(1.0, abs=0.02)
        assert sum(both * (with_ / both) for both, with_ in met) == pytest.approx(before, rel=0.03)


def test_what_all_show_alike_says_nothing_and_no_reading_no_evidence() -> None:
    assert all(not found for found in read(chart_of(BASE, {}), {}, with_sound(BASE.common), BASE.causes).values())


@given(st.permutations(["excess_air", "smoke", "net_stack", "draft_drop"]))
def test_what_readings_say_together_does_not_hang_on_their_order(order: list[str]) -> None:
    levels = {"excess_air": "normal", "smoke": "some", "net_stack": "high", "draft_drop": "high"}
    sums = [sum(one.gone for one in read(chart_of(BASE, {}), {name: levels[name] for name in names},
                                         with_sound(BASE.common), ["sooted-gas-passages"])["sooted-gas-passages"])
            for names in (order, sorted(levels))]
    assert sums[0] == pytest.approx(sums[1])


def test_a_likelier_cause_explains() -> None:
    """A starved flame speaks less for a dirty wheel once the shutter is known to be shut (explaining away)."""
    known, cause = {"excess_air": "low", "smoke": "heavy"}, "fan-wheel-dirty"
    chart = chart_of(BASE, known)
    sums = [sum(one.gone for one in read(chart, known, with_sound({**BASE.common, **more}), [cause])[cause])
            for more in ({}, {"air-shutter-too-closed": 0.95})]
    assert sums[1] < sums[0] - 2


def test_a_sound_unit_weighs_as_much_as_that_nothing_is_there() -> None:
    assert with_sound({"a": 0.5, "b": 0.5})[IN_ORDER] == pytest.approx(0.25)


# What a master reads from the instruments together: all common practice.
@pytest.mark.parametrize(("readings", "expected"), [
    ({"co2": 13.8, "smoke": 6, "stack_temperature": 420, "room_temperature": 65}, "short-of-air"),
    ({"co2": 11.5, "smoke": 5, "stack_temperature": 420, "room_temperature": 65}, "poor-mixing"),
    ({"co2": 6.5, "smoke": 0, "stack_temperature": 430, "room_temperature": 65}, "too-much-air"),
    ({"co2": 12.0, "smoke": 0, "stack_temperature": 640, "room_temperature": 65, "draft_over_fire": -0.02,
      "draft_breech": -0.04}, "heat-not-taken-up"),
    ({"co2": 12.0, "smoke": 0, "stack_temperature": 400, "room_temperature": 65, "draft_over_fire": 0.01,
      "draft_breech": -0.005}, "not-drawing"),
    ({"co2": 12.0, "smoke": 0, "stack_temperature": 420, "room_temperature": 65, "draft_over_fire": -0.06,
      "draft_breech": -0.085}, "drawing-too-much"),
    ({"start_behavior": "delayed-puff", "co2": 12.0, "smoke": 0, "stack_temperature": 420, "room_temperature": 65},
     "late-light-off"),
])
def test_readings_name_the_family(readings: dict[str, float | str], expected: str) -> None:
    found = told(**readings)
    assert expected in [one.name for one in found.families[:2]], [(one.name, one.belief) for one in found.families[:3]]


def test_readings_alone_name_a_family_and_hardly_ever_a_member() -> None:
    """No reading, and no rule but a confirming look, takes a cause over 0.6 that others are able to do as well."""
    found = told(co2=13.8, smoke=6, stack_temperature=420, room_temperature=65, flame_look="dark-smoky")
    assert found.causes[0].belief < 0.6
    leading = leading_family(found.families, found.causes)
    assert leading is not None
    assert leading.name == "short-of-air"


def test_the_causes_for_which_something_speaks_share_the_call() -> None:
    found = told(complaint="smoke-while-running", co2=13.8, smoke=6, flame_look="dark-smoky")
    assert sum(one.belief for one in (*found.causes, found.none)) == pytest.approx(1.0, abs=0.01)
    assert found.none.belief < belief(found.none.prior)


def test_rules_that_only_say_in_words_what_signatures_say_in_figures_weigh_nothing() -> None:
    figures = told_in_figures(BASE)
    assert {"o2", "co2", "smoke", "net_stack", "draft_drop", "heat_uptake"} <= figures
    assert not {"electrodes", "air_changes_smoke", "room_temperature"} & figures


def _expected(levels: tuple[str, ...], shares: dict[str, float]) -> float:
    return sum(at * shares[level] for at, level in enumerate(levels)) / sum(shares.values())


def test_each_chain_and_its_signature_agree_in_direction() -> None:
    """Where a chain says in words that a cause moves a panel, the figures say so too, at least for the worst of it."""
    chart = chart_of(BASE, {})
    against = []
    for cause in BASE.causes.values():
        for link in cause.chain:
            if link.moves not in BASE.panels or len(link.to) > 2:
                continue
            rows = {level: chart.rows[link.moves, level, ""] for level in chart.levels[link.moves]}
            gain = max(rows[level][cause.name][0] / rows[level][IN_ORDER][0] for level in link.to)
            if math.log10(gain) < -0.1:
                against.append((cause.name, link.moves, link.to, round(gain, 2)))
    assert not against


def test_a_change_tells_more_than_a_level() -> None:
    """Common practice: a stack that is in order by the book, and was 140 degF lower last year at the same CO2, is heat
    no longer taken up; one that always stood there is the unit's own way.
    """
    level = {"stack_temperature": 440, "room_temperature": 65, "co2": 12, "smoke": 0}
    beliefs = []
    for last in (None, 240, 370):
        found = told(**level, **({"last_net_stack": last, "last_co2": 12, "last_smoke": 0} if last else {}))
        beliefs.append({one.name: one.belief for one in found.families}["heat-not-taken-up"])
    assert beliefs[1] > 2 * beliefs[0]
    assert beliefs[2] <= beliefs[0]


def test_smoke_that_is_new_speaks_louder_than_smoke_that_always_was() -> None:
    """Common practice: a unit left at zero that smokes has changed."""
    new, old = (told(co2=12, smoke=3, last_co2=12, last_smoke=last) for last in (0, 3))
    healthy = [math.prod(1.0 - belief(one.alone) for one in found.causes) for found in (new, old)]
    assert healthy[0] < healthy[1]
