"""The guided setting of the air on the physical burner: it lands near the best clean setting, or says there is none.

The best setting is found from the burner model itself by a fine search: the highest CO2 with a smoke spot of 1 at
most and CO of 100 ppm at most (common practice), never above 13 % (common practice), less the margin
(1 to 2 points below the knee, common practice; EPA-600/2-75-069-a: 0.5 to 1 with the burners of 1975, from memory).
"""

import random
from collections.abc import Sequence
from dataclasses import replace

import pytest

from advisor.plant import KINDS, Plant, healthy, measure, solve, with_faults
from advisor.visit.airsetting import AirAdvice, Figures, Setting, advise

STARTS = (0.75, 1.0, 1.3, 2.0)  # times the tuned shutter: too closed, right, too open, far too open


def figures(p: Plant, margin: float = 1.0) -> Figures:
    return Figures(floor=9.0 if p.retention else 8.0, margin=margin)


def best_co2(p: Plant, keep: Figures) -> float | None:
    """The best clean setting less the margin, %; None where no setting is clean."""
    def clean(x: float) -> bool:
        s = solve(replace(p, shutter=x))
        return s.smoke <= keep.clean and s.co_ppm <= keep.co_limit

    good = [x / 25 for x in range(2, 26) if clean(x / 25)]
    if not good:
        return None
    high, low = min(good), min(good) - 0.04
    for _ in range(8):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if clean(middle) else (middle, high)
    return min(solve(replace(p, shutter=high)).co2, keep.ceiling) - keep.margin


def set_air(
    p: Plant, keep: Figures, start: float, rng: random.Random | None = None
) -> tuple[AirAdvice, list[Setting]]:
    """Follow the advice to its end; with `rng` by instruments with their errors, else by true values."""
    settings: list[Setting] = []
    mark = round(10.0 * min(1.0, start), 1)
    while True:
        state = solve(replace(p, shutter=max(0.02, mark / 10.0)))
        readings: Sequence[float | None] = (state.smoke, state.co2, state.co_ppm)
        if rng is not None:
            readings = [measure(state, state.plant, name, rng) for name in ("smoke", "co2", "co")]
        smoke, co2, co = readings
        assert smoke is not None
        assert co2 is not None
        settings.append(Setting(mark, smoke, max(0.2, co2), co))
        advice = advise(settings, keep)
        if advice.kind != "try":
            return advice, settings
        assert advice.shutter is not None
        assert advice.shutter not in [one.shutter for one in settings]
        mark = advice.shutter


def true_co2(p: Plant, advice: AirAdvice) -> float:
    assert advice.shutter is not None
    return solve(replace(p, shutter=max(0.02, advice.shutter / 10.0))).co2


@pytest.mark.parametrize("margin", [0.5, 1.0, 1.5])
@pytest.mark.parametrize("kind", KINDS)
def test_healthy_burners_land_within_half_a_point_in_six_readings(kind: str, margin: float) -> None:
    p = healthy(kind)
    keep = figures(p, margin)
    best = best_co2(p, keep)
    assert best is not None
    for start in STARTS:
        advice, settings = set_air(p, keep, p.shutter * start)
        assert advice.kind == "set", (start, advice)
        assert len(settings) <= 6, start
        assert true_co2(p, advice) == pytest.approx(best, abs=0.5), start


@pytest.mark.parametrize("kind", KINDS)
def test_instruments_with_their_errors_change_little(kind: str) -> None:
    p = healthy(kind)
    keep = figures(p)
    best = best_co2(p, keep)
    assert best is not None
    off, many = [], 0
    for start in STARTS:
        for seed in range(12):
            advice, settings = set_air(p, keep, p.shutter * start, random.Random(seed))
            assert advice.kind == "set", (start, seed, advice)
            many += len(settings) > 6
            off.append(abs(true_co2(p, advice) - best))
    assert many <= 2
    assert sum(one > 0.5 for one in off) <= 0.08 * len(off)
    assert max(off) <= 1.0  # the readings themselves are good to 0.25 points of CO2 and half a spot


@pytest.mark.parametrize("kind", KINDS)
def test_healthy_units_in_frost_and_with_an_outside_chimney(kind: str) -> None:
    p = healthy(kind, outdoor_degf=5.0)
    keep = figures(p)
    best = best_co2(p, keep)
    assert best is not None
    advice, settings = set_air(p, keep, p.shutter * 1.5)
    assert advice.kind == "set"
    assert len(settings) <= 6
    assert true_co2(p, advice) == pytest.approx(best, abs=0.5)


FAULTY = [
    ("boiler", "dirty-retention-head"), ("boiler", "burnt-or-loose-head"), ("boiler", "head-or-nozzle-misplaced"),
    ("boiler", "nozzle-plugged"), ("boiler", "air-leak-in-appliance"), ("boiler", "flame-impingement"),
    ("boiler", "nozzle-wrong-angle-or-pattern"), ("boiler", "air-inlet-blocked"), ("furnace", "nozzle-plugged"),
    ("furnace", "cracked-heat-exchanger"), ("furnace", "air-leak-in-appliance"), ("furnace", "over-fired"),
    ("old-boiler", "burnt-or-loose-head"), ("old-boiler", "air-leak-in-appliance"), ("old-boiler", "nozzle-plugged"),
]


@pytest.mark.parametrize(("kind", "fault"), FAULTY)
def test_faulty_burners_are_recognized(kind: str, fault: str) -> None:
    sound = healthy(kind)
    p = with_faults(sound, {fault: "gross"})
    keep = figures(sound)
    best = best_co2(p, keep)
    assert best is None or best < keep.floor  # the model agrees that nothing will do
    for rng in (None, random.Random(3)):
        advice, settings = set_air(p, keep, sound.shutter, rng)
        assert advice.kind == "none", advice
        assert len(settings) <= 8
        assert ("air_reset_effect", "no-setting-good") in advice.findings
        assert len(advice.reason) > 40


@pytest.mark.parametrize("fault", ["air-shutter-too-closed", "air-shutter-too-open"])
def test_a_shutter_out_of_place_is_just_set_right(fault: str) -> None:
    p = with_faults(healthy("boiler"), {fault: "moderate"})
    keep = figures(p)
    best = best_co2(p, keep)
    assert best is not None
    advice, _ = set_air(p, keep, p.shutter)
    assert advice.kind == "set"
    assert true_co2(p, advice) == pytest.approx(best, abs=0.5)


def test_it_does_not_give_up_on_burners_that_can_be_set() -> None:
    for fault in ("weak-cut-off", "sooted-gas-passages", "draft-regulator-misset", "pump-pressure-low",
                  "thermostat-short-cycling", "fan-wheel-dirty"):
        p = with_faults(healthy("boiler"), {fault: "moderate"})
        keep = figures(p)
        best = best_co2(p, keep)
        assert best is not None
        assert best > keep.floor + 0.3
        assert set_air(p, keep, p.shutter)[0].kind == "set", fault


def test_the_scale_does_not_matter() -> None:
    p = healthy("boiler")
    keep, other = figures(p), replace(figures(p), shut=60.0, wide=20.0)  # a dial that counts down
    settings = [Setting(round(60.0 - 4.0 * one.shutter, 4), one.smoke, one.co2, one.co)
                for one in set_air(p, keep, p.shutter * 1.6)[1]]
    for count in range(1, len(settings) + 1):
        mine = advise(settings[:count], other)
        assert mine.kind == ("set" if count == len(settings) else "try")
        if count < len(settings):
            assert mine.shutter == pytest.approx(settings[count].shutter, abs=1e-6)
