"""Before and after, and what the difference is worth."""

from __future__ import annotations

import math
import statistics
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.visit.beforeafter import ComparisonError, Savings, compare, savings
from tests.report.pages import base, case


def worth(before: str, after: str) -> Savings:
    return savings(base(), case(f"entries: {{{before}}}"), case(f"entries: {{{after}}}"))


def test_savings_follow_the_definition_of_efficiency() -> None:
    """Fuel for the same heat goes with 1 / efficiency, so it falls by 1 - before / after: definition.

    CO2 of burning distillate oil: 10.21 kg a gallon of No. 2 (EPA emission factors, 40 CFR 98, Table C-1 and C-2:
    73.96 kg a million Btu at 0.138 million Btu a gallon; values from memory), so 22.5 lb; ours within 2 %.
    """
    before, after = (case(f"equipment: {{gallons: 1000, price: $4}}\nentries: {{co2: {co2}, stack: {stack}, room: 70}}")
                     for co2, stack in ((9, 600), (12, 450)))
    found = savings(base(), before, after)
    first, last = (one.findings.numbers["efficiency"].value for one in (before, after))
    assert found.percent == pytest.approx(100 * (1 - first / last))
    assert found.saved == pytest.approx(10 * found.percent)
    assert found.money == pytest.approx(40 * found.percent)
    assert found.co2_before is not None
    assert found.co2_before == pytest.approx(1000 * 22.5, rel=0.02)
    assert found.co2_after == pytest.approx(found.co2_before * first / last)
    assert found.told


@settings(max_examples=15, deadline=None)
@given(co2=st.floats(7, 14), stack=st.floats(350, 700), other_co2=st.floats(7, 14), other_stack=st.floats(350, 700))
def test_no_change_and_the_way_back(co2: float, stack: float, other_co2: float, other_stack: float) -> None:
    here, there = (f"co2: {one:.2f}, stack: {two:.0f}, room: 70"
                   for one, two in ((co2, stack), (other_co2, other_stack)))
    assert worth(here, here).percent == 0.0
    assert not worth(here, here).told
    on, back = worth(here, there).percent, worth(there, here).percent
    assert (1 - on / 100) * (1 - back / 100) == pytest.approx(1.0)  # there and back burns what it burned


def test_a_change_within_the_instruments_is_not_told() -> None:
    small = worth("co2: 11, stack: 500, room: 70", "co2: 11.1, stack: 498, room: 70")
    assert 0 < small.percent < small.either_way
    assert not small.told
    # root of the sum of squares of the errors of two efficiencies near 82 %: JCGM 100
    off = case("entries: {co2: 11, stack: 500, room: 70}").findings.numbers["efficiency"].error
    assert small.either_way == pytest.approx(100 * math.hypot(off, off) / 82, rel=0.02)


def test_drawing_the_figures_at_random_confirms_the_errors_of_what_is_saved() -> None:
    """Monte Carlo (JCGM 101:2008) of oil and money saved, from both efficiencies, the tickets and the price.

    The standard deviation of 4,000 draws is off by 1.1 %; 6 % is more than five times that.
    """
    before, after = (case(f"equipment: {{gallons: 900, price: $3.85}}\nentries: {{{text}}}") for text in (
        "co2: 9, stack: 600, room: 70", "co2: 12, stack: 450, room: 70"))
    found = savings(base(), before, after)
    behind = [before.findings.numbers["efficiency"], *(after.findings.numbers[name] for name in (
        "efficiency", "yearly_gallons", "oil_price"))]
    rng, gallons, money = Random(11), [], []
    for _ in range(4000):
        first, last, burned, price = (rng.gauss(one.value, one.error / 2) for one in behind)
        gallons.append(burned * (1 - first / last))
        money.append(gallons[-1] * price)
    assert found.saved_error == pytest.approx(2 * statistics.stdev(gallons), rel=0.06)
    assert found.money_error == pytest.approx(2 * statistics.stdev(money), rel=0.06)
    assert found.saved == pytest.approx(statistics.fmean(gallons), rel=0.01)


@settings(max_examples=40, deadline=None)
@given(co2=st.floats(9, 12.5), more=st.floats(-1, 1), hotter=st.floats(-20, 20))
def test_two_values_nearer_than_their_joint_error_are_the_same(co2: float, more: float, hotter: float) -> None:
    before, after = (case(f"entries: {{co2: {one:.3f}, stack: {two:.2f}, room: 70, co: 60}}")
                     for one, two in ((co2, 500.0), (co2 + more, 500.0 + hotter)))
    rows = {row.name: row for row in compare(base(), before, after)}
    for name, row in rows.items():
        first, last = (one.findings.numbers[name] for one in (before, after))
        near = abs(last.value - first.value) < math.hypot(first.error, last.error)
        assert (row.way == "same") == near, (name, row)
    assert rows["efficiency"].change_error


def test_the_same_nozzle_before_and_after_counts_once() -> None:
    """Its size may be wrong, but it is as wrong before as after: of a change of the flow only the gauge's errors count.
    """
    before, after = (case(f"equipment: {{nozzle: 0.85}}\nentries: {{pressure: {psi}}}") for psi in (140, 146))
    other = case("equipment: {nozzle: 0.9}\nentries: {pressure: 140}")
    (kept,), (changed,) = (compare(base(), before, one, ["oil_flow"]) for one in (after, other))
    # flow goes with the root of the pressure: 2 psi of 140 are 0.7 % of 1.0 gph, and that twice
    assert kept.change_error == f"{math.hypot(0.5 * 2 / 140, 0.5 * 2 / 146) * 1.01:.3f} gph"
    assert float(changed.change_error.split()[0]) > 3 * float(kept.change_error.split()[0])


@pytest.mark.parametrize(("before", "after", "says"), [
    ("smoke: 4", "co2: 12, stack: 450, room: 70", "on arrival is not known"),
    ("co2: 12, stack: 450, room: 70", "smoke: 0", "after the work is not known"),
    ("fuel: no-1-oil, co2: 12, stack: 450, room: 70", "co2: 12, stack: 450, room: 70", "the fuel was"),
    ("o2: 5, co2: 8, stack: 450, room: 70", "co2: 12, stack: 450, room: 70", "in doubt"),
])
def test_no_saving_without_two_sound_efficiencies(before: str, after: str, says: str) -> None:
    with pytest.raises(ComparisonError, match=says):
        worth(before, after)


def test_money_and_gallons_are_left_out_where_nobody_entered_them() -> None:
    found = worth("co2: 9, stack: 600, room: 70", "co2: 12, stack: 450, room: 70")
    assert (found.gallons, found.saved, found.money, found.co2_before) == (None, None, None, None)


def test_rows_say_better_and_worse() -> None:
    rows = {row.name: row for row in compare(
        base(), case("entries: {smoke: 0, co: 20, over fire: -.005, breech: -.03, stack: 500, room: 70, co2: 12}"),
        case("entries: {smoke: 3, co: 22, over fire: -.02, stack: 500, room: 70, co2: 12}"))}
    assert rows["smoke"].way == "worse"
    assert rows["co"].way == "same"  # 2 ppm is less than the analyzer can tell
    assert rows["draft_over_fire"].way == "better"
    assert rows["draft_breech"].after_text == "not read"
    assert rows["draft_breech"].change_text == ""
    assert rows["stack_temperature"].change_text == "no change"
    assert rows["efficiency"].way == "same"


def test_a_change_agrees_with_the_figures_beside_it() -> None:
    for row in compare(base(), case("entries: {co2: 11.04, stack: 500, room: 70}"),
                       case("entries: {co2: 11.16, stack: 480, room: 70}")):
        first, last = (float(text.split()[0]) for text in (row.before_text, row.after_text))
        said = 0.0 if row.change_text == "no change" else float(row.change_text.split()[0])
        assert said == pytest.approx(last - first, abs=1e-6)
