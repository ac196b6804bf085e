"""What must rise or fall with what, whatever the rest; from the physics named beside each."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.plant import Plant, healthy, solve, with_faults
from advisor.plant.air import fan_air, orifice
from advisor.plant.exchanger import conductance
from advisor.plant.flame import flame
from advisor.plant.gas import adiabatic
from advisor.plant.oil import FUELS, supply, viscosity
from advisor.plant.venting import chimney, passage_drop

TIGHT = settings(max_examples=40, deadline=None)
UNITS = st.sampled_from([healthy(k) for k in ("boiler", "furnace", "old-boiler", "power-vented")])


@given(p=UNITS, low=st.floats(0.1, 0.9), step=st.floats(0.02, 0.1))
@TIGHT
def test_more_shutter_is_more_air(p: Plant, low: float, step: float) -> None:
    less, more = solve(replace(p, shutter=low)), solve(replace(p, shutter=low + step))
    assert more.burner_air_lb_h > less.burner_air_lb_h
    assert more.draft_over_fire > less.draft_over_fire  # more gas through the same flue


@given(p=UNITS, chamber=st.floats(-0.1, 0.2), step=st.floats(0.005, 0.1))
@TIGHT
def test_back_pressure_cuts_the_air(p: Plant, chamber: float, step: float) -> None:
    assert fan_air(p, chamber + step) < fan_air(p, chamber)


@given(air=st.floats(60.0, 300.0), step=st.floats(1.0, 60.0), worn=st.floats(0.0, 1.0))
@TIGHT
def test_smoke_never_grows_with_air_up_to_lift_off(air: float, step: float, worn: float) -> None:
    # Shape of the smoke curve: EPA-600/2-75-069-a, from memory.
    p = replace(healthy("boiler"), nozzle_worn=worn)
    oil = supply(p)
    more, less = (flame(p, oil, a, 90.0, -0.02) for a in (air + step, air))
    if more.excess_air < 100.0:
        assert more.smoke <= less.smoke + 1e-9


@given(psi=st.floats(70.0, 180.0), step=st.floats(5.0, 40.0))
@TIGHT
def test_pressure_gives_more_oil_in_finer_drops(psi: float, step: float) -> None:
    # Orifice law; Radcliffe's correlation (exponents from memory).
    low, high = (supply(replace(Plant(), pump_psi=x)) for x in (psi, psi + step))
    assert high.gph / low.gph == pytest.approx(((psi + step) / psi) ** 0.5, rel=1e-6)
    assert high.drop_size < low.drop_size


@given(degf=st.floats(0.0, 90.0), fuel=st.sampled_from(sorted(FUELS)))
@TIGHT
def test_cold_oil_is_thick_coarse_and_flows_more(degf: float, fuel: str) -> None:
    # Common practice: cold oil leaves the nozzle at a higher rate in coarser drops.
    cold, warm = (supply(replace(Plant(), fuel=fuel, oil_degf=t)) for t in (degf, degf + 10.0))
    assert viscosity(fuel, degf) > viscosity(fuel, degf + 10.0)
    assert cold.drop_size > warm.drop_size
    assert cold.gph > warm.gph


@given(plugged=st.floats(0.0, 0.85), step=st.floats(0.02, 0.1))
@TIGHT
def test_a_plugging_filter_raises_the_vacuum(plugged: float, step: float) -> None:
    assert supply(replace(Plant(), filter_plugged=plugged + step)).vacuum_in_hg > supply(
        replace(Plant(), filter_plugged=plugged)).vacuum_in_hg


@given(slight=st.floats(0.05, 0.5), more=st.floats(0.05, 0.5), fault=st.sampled_from(
    ["oil-line-kinked-or-shut", "filter-or-strainer-plugged"]))
@TIGHT
def test_each_step_of_a_narrowing_multiplies_what_is_left_open_alike(slight: float, more: float, fault: str) -> None:
    """Half of a flattened tube gone does little, nine tenths nearly shut it: common practice; the pump pulls harder."""
    sound = replace(healthy("boiler"), piping="two-pipe")

    def left(severity: float) -> float:
        sick = with_faults(sound, {fault: severity})
        return (1.0 - sick.filter_plugged) * (1.0 - sick.line_kinked)

    assert left(slight + more) / left(slight) == pytest.approx(left(more) / left(0.0))
    vacuum = [supply(with_faults(sound, {fault: severity})).vacuum_in_hg for severity in (0.0, slight, slight + more)]
    assert vacuum == sorted(vacuum)
    assert vacuum[0] < vacuum[2]


@given(drop=st.floats(0.001, 1.0), area=st.floats(0.1, 20.0), factor=st.floats(1.1, 4.0))
@TIGHT
def test_orifice_follows_area_and_root_of_pressure(drop: float, area: float, factor: float) -> None:
    flow = orifice(area, drop, 70.0)
    assert orifice(area * factor, drop, 70.0) == pytest.approx(factor * flow)
    assert orifice(area, drop * factor, 70.0) == pytest.approx(factor**0.5 * flow)
    assert orifice(area, -drop, 70.0) == pytest.approx(-flow)


@given(soot=st.floats(0.0, 0.4), step=st.floats(0.02, 0.1), flow=st.floats(60.0, 200.0))
@TIGHT
def test_soot_insulates_and_narrows(soot: float, step: float, flow: float) -> None:
    p = healthy("boiler")
    less, more = replace(p, soot_closing=soot), replace(p, soot_closing=soot + step)
    assert conductance(more, flow) < conductance(less, flow)
    assert passage_drop(more, flow, 900.0) > passage_drop(less, flow, 900.0)


@given(outdoor=st.floats(-10.0, 80.0), height=st.floats(12.0, 45.0))
@TIGHT
def test_draft_rises_with_height_and_cold(outdoor: float, height: float) -> None:
    p = replace(healthy("boiler"), outdoor_degf=outdoor, chimney_height_ft=height)
    here = chimney(p, 120.0, 450.0, -0.04, 0.0).theoretical
    assert chimney(replace(p, outdoor_degf=outdoor - 10.0), 120.0, 450.0, -0.04, 0.0).theoretical > here
    assert chimney(replace(p, chimney_height_ft=height + 3.0), 120.0, 450.0, -0.04, 0.0).theoretical > here


@given(excess=st.floats(0.0, 150.0), step=st.floats(2.0, 40.0))
@TIGHT
def test_air_cools_the_flame(excess: float, step: float) -> None:
    assert adiabatic(FUELS["no-2-oil"], excess + step) < adiabatic(FUELS["no-2-oil"], excess)


@given(p=UNITS, blocked=st.floats(0.0, 0.8), step=st.floats(0.05, 0.1))
@TIGHT
def test_a_blockage_weakens_every_draft(p: Plant, blocked: float, step: float) -> None:
    less, more = (solve(replace(p, chimney_blocked=b)) for b in (blocked, blocked + step))
    assert more.draft_chimney > less.draft_chimney
    assert more.draft_over_fire > less.draft_over_fire


@given(p=UNITS, setting=st.floats(0.01, 0.08), step=st.floats(0.005, 0.03))
@TIGHT
def test_a_heavier_regulator_leaves_more_draft(p: Plant, setting: float, step: float) -> None:
    low, high = (solve(replace(p, regulator_set=x)) for x in (setting, setting + step))
    assert high.draft_over_fire <= low.draft_over_fire + 1e-6
    assert high.vent.regulator_lb_h <= low.vent.regulator_lb_h + 1e-3
