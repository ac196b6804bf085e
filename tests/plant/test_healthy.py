"""Healthy units read as a good technician leaves them (common practice; EPA-600/2-75-069-a from memory)."""

import random
from typing import Any

import pytest

from advisor.plant import KINDS, PlantError, healthy, measure, solve
from advisor.plant.ignition import cycle

WEATHER: list[dict[str, Any]] = [
    {"outdoor_degf": 5.0}, {"outdoor_degf": 35.0}, {"outdoor_degf": 60.0}, {"chimney_place": "outside"},
    {"air_supply": "enclosed-room"}, {"tank_place": "outdoor", "piping": "two-pipe"},
]


CASES = [(kind, scene) for kind in KINDS for scene in WEATHER
         if not (kind in ("sealed", "power-vented") and "chimney_place" in scene)]


@pytest.mark.parametrize(("kind", "scene"), CASES, ids=str)
def test_good_settings(kind: str, scene: dict[str, Any]) -> None:
    p = healthy(kind, **scene)
    s = solve(p)
    assert s.burning
    assert s.smoke <= 1.0
    assert s.co_ppm < 50.0
    assert 350.0 <= s.stack_degf <= 600.0
    low, high = (10.5, 13.0) if p.retention else (8.0, 10.0)
    assert low <= s.co2 <= high
    if p.sealed:
        assert s.draft_over_fire > 0.0  # blown through under pressure
    else:
        assert -0.021 <= s.draft_over_fire <= -0.009
        assert s.draft_over_fire - s.draft_breech < 0.05
    c = cycle(p, s)
    assert c.lights
    assert c.lockout == "never"
    assert c.stopped_by == "thermostat"
    assert s.spill_lb_h == pytest.approx(0.0, abs=0.1)


def test_a_reading_scatters_round_the_true_value() -> None:
    p = healthy("boiler")
    s = solve(p)
    rng = random.Random(7)
    readings = [measure(s, p, "stack_temperature", rng) for _ in range(400)]
    values = [r for r in readings if r is not None]
    assert len(values) == 400
    assert sum(values) / 400 == pytest.approx(s.stack_degf, abs=1.0)
    assert max(abs(v - s.stack_degf) for v in values) < 15.0


@pytest.mark.parametrize(("kind", "changes", "words"), [
    ("locomotive", {}, "kind"), ("boiler", {"wheels": 4}, "wheels"), ("boiler", {"pump_psi": 0.0}, "pump_psi"),
    ("boiler", {"fuel": "coal"}, "fuel")])
def test_clear_errors(kind: str, changes: dict[str, Any], words: str) -> None:
    with pytest.raises(PlantError, match=words):
        healthy(kind, **changes)
