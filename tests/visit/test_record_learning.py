"""What the shop's own visits change: the shares of causes, and never anything else."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.library.items import COMMON
from advisor.reasoning.case import Case, Entry
from advisor.visit.kept import CONFIRMED, NOT_FOUND, NOTHING_WRONG
from advisor.visit.learning import STRENGTH, Learned, Told, corrected, learned, learned_shares, outcomes, told_in_words
from advisor.visit.record import Record, RecordError, Unit, add_unit, open_record, save_visit, units

SOOT = "sooted-gas-passages"


def kept(path: Path, confirmed: list[tuple[str, ...]], appliance: str = "", of_unit: str = "") -> Record:
    record = open_record(path)
    equipment = (Entry("appliance", of_unit, of_unit),) if of_unit else ()
    unit = add_unit(record, Unit("A", equipment=equipment))
    case = Case((Entry("appliance", appliance, appliance),) if appliance else ())
    for causes in confirmed:
        save_visit(record, unit, case, confirmed=causes)
    return record


@pytest.mark.parametrize(("prior", "found", "visits", "strength"), [
    (0.08, 12, 100, 200.0), (0.003, 0, 50, 200.0), (0.03, 5, 5, 40.0), (0.01, 1, 400, 200.0),
])
def test_the_share_is_the_mean_of_the_posterior(prior: float, found: int, visits: int, strength: float) -> None:
    """Bayes's rule itself, integrated numerically: beta prior of that mean and strength, binomial likelihood."""
    a, b = prior * strength, (1 - prior) * strength
    steps = 200_000
    points = [math.exp(-40 + 40 * (k + 0.5) / steps) for k in range(steps)]  # even in log p, where mass lies near 0
    weights = [math.exp((a + found) * math.log(p) + (b - 1 + visits - found) * math.log1p(-p)) for p in points]
    mean = math.fsum(p * w for p, w in zip(points, weights, strict=True)) / math.fsum(weights)
    assert Learned(prior, found, visits, strength).share == pytest.approx(mean, rel=1e-4)


@given(st.sampled_from(list(COMMON.values())), st.integers(0, 300), st.integers(0, 300), st.floats(1, 1000))
def test_the_share_lies_between_what_was_taken_and_what_was_found(
    prior: float, found: int, more: int, strength: float
) -> None:
    one = Learned(prior, found, found + more, strength)
    rate = found / (found + more) if found + more else prior
    assert min(prior, rate) - 1e-12 <= one.share <= max(prior, rate) + 1e-12
    assert Learned(prior, found + 1, found + more + 1, strength).share > one.share


def test_without_visits_every_share_is_the_one_taken_beforehand(tmp_path: Path) -> None:
    base = load()
    with kept(tmp_path / "r.sqlite3", [(), ()]) as record:  # left open: they say nothing either way
        shares = learned_shares(record, base)
    assert shares == pytest.approx({name: COMMON[cause.common] for name, cause in base.causes.items()})


def test_a_cause_confirmed_becomes_commoner_and_the_others_rarer(tmp_path: Path) -> None:
    base = load()
    with kept(tmp_path / "r.sqlite3", [(SOOT,)] * 30 + [("unknown-cause",), (SOOT, "dirty-fan-wheel")]) as record:
        found = learned(record, base)
    assert (found[SOOT].found, found[SOOT].visits, found[SOOT].strength) == (31, 32, STRENGTH)
    assert found[SOOT].share == pytest.approx((200 * base.common[SOOT] + 31) / 232)
    others = [one for name, one in found.items() if name not in (SOOT, "dirty-fan-wheel")]
    assert all(one.share < one.prior and one.visits == 32 for one in others)
    assert set(found) == set(base.causes)


def test_a_visit_to_other_equipment_says_nothing_of_a_cause(tmp_path: Path) -> None:
    base = load()
    limited = {name: cause.only["appliance"] for name, cause in base.causes.items() if "appliance" in cause.only}
    assert limited
    for count, (appliance, of_unit) in enumerate((("boiler", ""), ("", "boiler"), ("boiler", "furnace"))):
        with kept(tmp_path / f"{count}.sqlite3", [(SOOT,)] * 3, appliance, of_unit) as record:
            found = learned(record, base)
        assert {name: found[name].visits for name in limited} == {
            name: 3 if "boiler" in kinds else 0 for name, kinds in limited.items()}


def test_the_correction_is_that_of_begg_and_greenes() -> None:
    """Their method on the liver scans of Drum and Christacopoulos, as textbooks on diagnostic tests tabulate them (from
    memory): scan abnormal, 231 diseased, 32 not, 166 not verified; scan normal, 27, 54 and 140. Corrected sensitivity
    0.836 and specificity 0.738, where the verified patients alone give 0.895 and 0.628.
    """
    def patients(scan: str, ill: int, well: int, unknown: int) -> list[Told]:
        return [*[Told(scan, CONFIRMED, frozenset({"ill"}))] * ill, *[Told(scan, NOTHING_WRONG)] * well,
                *[Told(scan, NOT_FOUND)] * unknown]

    abnormal, normal = patients("abnormal", 231, 32, 166), patients("normal", 27, 54, 140)
    (ill, _), (ill_and_abnormal, _) = (corrected(group, "ill") or (0.0, 0.0) for group in (abnormal + normal, abnormal))
    share = len(abnormal) / len(abnormal + normal)
    assert share * ill_and_abnormal / ill == pytest.approx(0.836, abs=5e-4)
    assert 1 - share * (1 - ill_and_abnormal) / (1 - ill) == pytest.approx(0.738, abs=5e-4)


def test_counting_confirmed_visits_alone_is_biased_and_the_correction_is_not() -> None:
    """A shop of known truth: soot is behind half of the soot calls and never behind a tune-up; a third of them
    is left open, at random. The truth is 10 % of all calls.
    """
    soot = [Told("soot", CONFIRMED, frozenset({"soot"}))] * 100 + [Told("soot", CONFIRMED, frozenset({"other"}))] * 100
    left_open = [Told("soot", NOT_FOUND)] * 100
    tune_ups = [Told("routine", NOTHING_WRONG)] * 1200
    share, worth = corrected([*soot, *left_open, *tune_ups], "soot") or (0.0, 0.0)
    assert share == pytest.approx(150 / 1500)
    assert 4 * share < 100 / 200  # what confirmed visits alone would say
    assert worth < 1400  # fewer than were answered


@given(st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from([CONFIRMED, NOTHING_WRONG, NOT_FOUND, ""])),
                max_size=30))
def test_the_corrected_share_is_one_and_never_worth_more_than_its_answers(calls: list[tuple[str, str]]) -> None:
    visits = [Told(about, how, frozenset({"x"} if how == CONFIRMED else ())) for about, how in calls]
    answered = sum(one.answered for one in visits)
    found = corrected(visits, "x")
    assert (found is None) == (answered == 0)
    if found:
        assert 0 <= found[0] <= 1 + 1e-12
        assert 0 < found[1] <= answered + 1e-9


def test_a_visit_with_nothing_wrong_makes_every_cause_rarer(tmp_path: Path) -> None:
    base = load()
    with kept(tmp_path / "r.sqlite3", [(SOOT,)]) as record:
        before = learned(record, base)[SOOT]
        save_visit(record, units(record)[0], Case(), outcome=NOTHING_WRONG)
        after = learned(record, base)[SOOT]
        assert (after.found, after.visits, after.confirmed) == (1, 2, 1)
        assert after.share < before.share
        assert after.confirmed_alone == 1.0
        save_visit(record, units(record)[0], Case(), outcome=NOT_FOUND)
        assert outcomes(record) == {CONFIRMED: 1, NOTHING_WRONG: 1, NOT_FOUND: 1, "": 0}
        assert "on 1 the cause was not found" in told_in_words(outcomes(record))


@pytest.mark.parametrize("strength", [0.0, -1.0, math.nan, math.inf])
def test_a_strength_that_cannot_be_is_refused(tmp_path: Path, strength: float) -> None:
    with kept(tmp_path / "r.sqlite3", []) as record, pytest.raises(RecordError, match="must be above 0"):
        learned(record, load(), strength)
