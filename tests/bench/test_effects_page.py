"""The page with sliders in a real browser: it works offline, by keyboard too, and axe-core finds nothing serious.

Needs what tests/report/test_browser.py needs.
"""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path

import pytest

from advisor.bench.benchfiles import BenchError
from advisor.bench.effectspage import _together, between, effects_page
from advisor.bench.knobs import knob_called, knobs, readings
from advisor.bench.sweep import point_of
from advisor.bench.units import unit_called
from advisor.library.base import load
from tests.pages.axe import serious
from tests.report.test_browser import DESK, PHONE, SAY, needs_axe, needs_browser, seen


@lru_cache
def page() -> str:
    return effects_page(load(), [unit_called("boiler"), unit_called("sealed")], knob_called("soot"))


def test_it_needs_nothing_from_elsewhere() -> None:
    assert not re.search(r"<(?:link|img|iframe)\b|\bsrc=|@import|url\((?!#)|fetch\(|XMLHttpRequest", page())
    assert not re.search(r"https?://(?!www\.w3\.org/)", page())


def test_two_units_at_most() -> None:
    with pytest.raises(BenchError, match="one or two"):
        effects_page(load(), [unit_called("boiler")] * 3)


def test_between_the_places_the_mean_is_near_the_plant_itself() -> None:
    """The coarse grid against the model solved at places that it does not hold."""
    unit = unit_called("boiler")
    found = _together(load(), unit, readings(load()))
    places = [one["places"] for one in found["knobs"]]
    moved = [knob for knob in knobs(load()).values() if knob.together]
    for soot, psi in ((7.0, 140.0), (22.0, 120.0)):
        at = [one["left"] for one in found["knobs"]]
        at[2], at[3] = psi, soot
        mean = between(places, found["numbers"], at)
        plant = unit.plant()
        for knob, value in zip(moved, at, strict=True):
            plant = knob.moved(plant, value)
        true = point_of(plant, 0.0, readings(load())).numbers
        assert mean is not None
        shown = dict(zip([one.name for one in readings(load()).values() if one.state], mean, strict=True))
        assert shown["co2"] == pytest.approx(true["co2"], abs=0.6)
        assert shown["stack_temperature"] == pytest.approx(true["stack_temperature"], abs=20.0)
        assert shown["efficiency"] == pytest.approx(true["efficiency"], abs=1.0)


@needs_browser
def test_the_sliders_move_the_readings(tmp_path: Path) -> None:
    script = SAY + """
      const slide = document.getElementById('slide-soot'), cells = () =>
        [...document.querySelectorAll('#now-soot tr.here')].map(row => [...row.children].map(one => one.textContent));
      const open = [...document.querySelectorAll('section.knob')].filter(one => !one.hidden).map(one => one.id);
      const before = cells();
      slide.value = slide.max; slide.dispatchEvent(new Event('input'));
      const after = cells(), at = document.getElementById('at-soot').textContent;
      const dots = document.querySelectorAll('#knob-soot .of-unit0 circle.here').length;
      const passed = document.querySelectorAll('#knob-soot li.passed').length;
      const all = document.querySelector('fieldset.all'), shown = () =>
        [...all.querySelectorAll('tbody td')].map(one => one.textContent);
      const left = shown();
      const last = [...all.querySelectorAll('input')].pop();
      last.value = last.max; last.dispatchEvent(new Event('input'));
      say({open, before, after, at, dots, passed, left, moved: shown(),
           spoken: slide.getAttribute('aria-valuetext')});"""
    found = seen(tmp_path, page(), DESK, script)
    assert found["open"] == ["knob-soot"]
    stack = [one.head for one in readings(load()).values()].index("stack F")
    assert float(found["after"][0][stack + 1]) > float(found["before"][0][stack + 1]) + 200
    assert "60 % of the gap" in found["at"]
    assert found["spoken"] == found["at"]
    assert found["dots"] == len([one for one in readings(load()).values() if one.state])  # one in each picture
    assert found["passed"] >= 5
    assert float(found["moved"][stack]) > float(found["left"][stack]) + 200
    # as left the page shows what the model itself shows
    plain = point_of(unit_called("boiler").plant(), 0.0, readings(load())).numbers
    assert float(found["left"][0]) == pytest.approx(plain["co2"], abs=0.06)


@needs_browser
@pytest.mark.parametrize("width", [PHONE, 320])
def test_nothing_sticks_out_on_a_phone(tmp_path: Path, width: int) -> None:
    script = SAY + """const root = document.documentElement;
      say({inner: root.clientWidth, scroll: root.scrollWidth});"""
    found = seen(tmp_path, page(), width, script)
    assert found["scroll"] <= found["inner"] == width


@needs_browser
@needs_axe
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_accessibility_has_no_serious_finding(tmp_path: Path, width: int) -> None:
    assert serious(tmp_path, page(), width) == []
