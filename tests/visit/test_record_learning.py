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
from advisor.visit.learning import STRENGTH, Learned, learned, learned_shares
from advisor.visit.record import Record, RecordError, Unit, add_unit, open_record, save_visit

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


@pytest.mark.parametrize("strength", [0.0, -1.0, math.nan, math.inf])
def test_a_strength_that_cannot_be_is_refused(tmp_path: Path, strength: float) -> None:
    with kept(tmp_path / "r.sqlite3", []) as record, pytest.raises(RecordError, match="must be above 0"):
        learned(record, load(), strength)
