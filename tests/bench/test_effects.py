"""A knob turned on the model units: what the curves show, where they turn, and that nothing is said without words."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import pytest

from advisor.bench.benchfiles import BenchError
from advisor.bench.chain import chain_of, chain_svg, chain_text
from advisor.bench.effectspicture import pictures
from advisor.bench.effectstext import MODEL, effects_text, severity_table
from advisor.bench.knobs import knob_called, knobs, readings
from advisor.bench.sweep import Sweep, sweep
from advisor.bench.units import unit_called, units
from advisor.cli import main
from advisor.library.base import load
from advisor.plant import FAULTS, solve

KINDS = ("boiler", "furnace", "old-boiler", "water-heater", "power-vented", "sealed")


@lru_cache(maxsize=256)
def turned(knob: str, unit: str, steps: int = 21) -> Sweep:
    one = unit_called(unit)
    return sweep(load(), knob_called(knob), one.plant(), one.title, steps)


def test_the_air_shutter_does_what_the_trade_knows() -> None:
    """Common practice: less air, more CO2 and less O2 down to the knee; the knee, then the smoke limit, then CO."""
    made = turned("air-shutter", "boiler", 41)
    above_knee = [one for one in made.points if one.smoke_over_knee > 0]
    assert all(one.numbers["co2"] > two.numbers["co2"] and one.numbers["o2"] < two.numbers["o2"]
               for one, two in pairwise(above_knee))
    places = {mark.turn.of or mark.turn.at: mark.value for mark in made.marks}
    assert places["efficiency"] < places["co-flue"] < places["smoke-clean"] < places["knee"] < made.left.value
    assert made.left.value < places["draft-over-fire-weakest"] < places["draft-over-fire-none"]


def test_a_leak_thins_the_gas_and_leaves_the_fire_alone() -> None:
    """Common practice: CO2 falls at the probe, while smoke stays as it was; more air for the fire would clear it."""
    made = turned("air-leak", "boiler")
    first, last = made.points[0], made.points[-1]
    assert first.numbers["co2"] - last.numbers["co2"] > 3.0
    assert abs(first.numbers["smoke"] - last.numbers["smoke"]) < 0.2


def test_soot_parts_the_drafts_and_a_blocked_flue_takes_both() -> None:
    """Common practice: sooted passages leave the breech its pull; a blocked flue takes it from both."""
    soot, flue = turned("soot", "boiler"), turned("flue-blockage", "boiler")
    assert soot.points[-1].numbers["draft_over_fire"] > 0.1
    assert soot.points[-1].numbers["draft_breech"] < -0.03
    assert flue.points[-1].numbers["draft_over_fire"] > 0.05
    assert flue.points[-1].numbers["draft_breech"] > 0.05


def test_pressure_moves_the_oil_by_its_square_root() -> None:
    """The orifice law, source common practice: 44 % more pressure is 20 % more oil, with viscosity as it is."""
    plant, knob = unit_called("boiler").plant(), knob_called("pump pressure")
    flow = [solve(knob.moved(plant, psi)).oil.gph for psi in (100.0, 144.0)]
    assert flow[1] / flow[0] == pytest.approx(1.2, rel=0.01)


def test_every_turn_that_has_words_is_met_and_every_crossing_near_danger_has_words() -> None:
    """No words without a place on a curve, and no limit of smoke or CO passed in silence."""
    base = load()
    met, silent = set(), []
    for name, knob in knobs(base).items():
        for unit in KINDS:
            if not knob.fits(unit_called(unit).plant()):
                continue
            made = turned(name, unit)
            met |= {(name, mark.turn.because) for mark in made.marks}
            for reading, limit in (("smoke", "smoke-clean"), ("co", "co-flue")):
                value = next((case.value for case in base.limits[limit].cases
                              if all(made.equipment.get(key) in words for key, words in case.when.items())),
                             base.limits[limit].value)
                over = {point.numbers[reading] > value for point in made.points if point.runs}
                told = any(mark.turn.of == limit for mark in made.marks)
                if len(over) == 2 and not told:
                    silent.append((name, unit, limit))
    assert [(name, turn.at, turn.of, turn.side) for name, knob in knobs(base).items() for turn in knob.turns
            if (name, turn.because) not in met] == []
    assert silent == []


def test_a_turn_stands_where_its_limit_is_passed() -> None:
    for knob in ("air-shutter", "soot", "pump-pressure"):
        for mark in turned(knob, "old-boiler").marks:
            if mark.turn.at == "passes":
                limit = load().limits[mark.turn.of]
                value = next((case.value for case in limit.cases
                              if all(turned(knob, "old-boiler").equipment.get(key) in words
                                     for key, words in case.when.items())), limit.value)
                assert mark.point.numbers[limit.of] == pytest.approx(value, rel=0.05, abs=0.002)


def test_the_text_says_that_it_is_a_model_and_keeps_its_width() -> None:
    lines = effects_text(load(), [turned("soot", "boiler"), turned("soot", "sealed")])
    assert max(map(len, lines)) <= 80
    assert MODEL.split(":")[0] in " ".join(lines)
    text = " ".join(" ".join(lines).split())
    assert "All of the pull is spent in the passages" in text
    assert text.count("The ring closes") == 1  # told once, though both units come there


def test_every_unit_can_be_built_and_left_in_order() -> None:
    for unit in units().values():
        state = solve(unit.plant())
        assert state.burning
        assert state.smoke < 1.0, unit.name
        assert state.co_ppm < 100.0, unit.name


def test_pictures_say_in_words_what_they_show() -> None:
    drawn = {one.name: svg for one, svg in pictures(load(), [turned("air-shutter", "boiler")])}
    assert list(drawn) == [one.name for one in readings(load()).values() if one.state]
    assert "the knee, where smoke turns up at 33 % open" in drawn["smoke"]
    assert "the knee" not in drawn["co2"]
    assert drawn["smoke"].count("<circle") >= 21


@pytest.mark.parametrize("cause", sorted(load().causes))
def test_the_chain_of_every_cause_is_told_and_drawn(cause: str) -> None:
    chain = chain_of(load(), load().causes[cause])
    lines, svg = chain_text(load(), chain), chain_svg(load(), chain)
    assert max(map(len, lines)) <= 80
    assert svg.count("marker-end") == 2 * len(chain.effects) + bool(chain.behind)
    for _, reading, _ in chain.effects:
        assert reading in " ".join(" ".join(lines).split())


def test_a_fault_grows_on_the_model_unit() -> None:
    rows = severity_table(load(), "sooted-gas-passages", unit_called("boiler").plant())
    stacks = [float(row.split()[5]) for row in rows[1:]]
    assert stacks == sorted(stacks)
    assert severity_table(load(), "power-venter-weak", unit_called("boiler").plant()) == []
    assert FAULTS.keys() & load().causes.keys()


@pytest.mark.parametrize(("words", "said"), [
    (["effects", "rocket"], "no knob is called 'rocket'"),
    (["effects", "soot", "--unit", "kettle"], "no unit of the bench is called 'kettle'"),
    (["effects", "soot", "--from", "0", "--to", "900"], "wants two values from 0 % of the gap to 60 % of the gap"),
    (["effects", "draft", "--unit", "sealed"], "has nothing that setting of the draft regulator could move"),
    (["effects", "soot", "--places", "2"], "wants 3 to 200"),
    (["effects", "--cause", "gremlins"], "no cause is called 'gremlins'"),
    (["effects", "soot", "--cause", "weak-cut-off"], "--cause stands alone"),
])
def test_what_cannot_be_done_is_said(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert said in capsys.readouterr().err


def test_a_range_from_high_to_low_is_turned_that_way() -> None:
    made = sweep(load(), knob_called("soot"), unit_called("boiler").plant(), "boiler", 9, (50.0, 0.0))
    assert [round(one.value) for one in made.points][:2] == [50, 44]
    assert [mark.value for mark in made.marks] == sorted((mark.value for mark in made.marks), reverse=True)
    with pytest.raises(BenchError, match="wants two values"):
        sweep(load(), knob_called("soot"), unit_called("boiler").plant(), "boiler", 9, (5.0, 5.0))
