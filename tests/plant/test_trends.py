"""Published and common trends of oil burners hold in the solved plant.

Sources: EPA-600/2-75-069-a, Guidelines for Residential Oil-Burner Adjustments, 1975, from memory (cited as EPA);
the rest is common practice.
"""

from dataclasses import replace

import pytest

from advisor.plant import Plant, State, healthy, run_weeks, solve, with_faults
from advisor.plant.ignition import cycle

BOILER = healthy("boiler")
SOUND = solve(BOILER)


def ill(severity: float = 1.0, plant: Plant = BOILER, **faults: float) -> State:
    return solve(with_faults(plant, {name.replace("_", "-"): severity * size for name, size in faults.items()}))


def drop(s: State) -> float:
    return s.draft_over_fire - s.draft_breech


def test_smoke_curve_has_a_knee() -> None:
    # EPA: flat above the knee, steep below it.
    states = [solve(replace(BOILER, shutter=x / 100)) for x in range(20, 80)]
    curve = sorted((s.co2, s.smoke) for s in states if s.flame.excess_air > 2.0)
    clean = [smoke for co2, smoke in curve if co2 < SOUND.co2 - 1.0]
    rich = [smoke for co2, smoke in curve if co2 > SOUND.co2 + 1.5]
    assert max(clean) < 0.5
    assert min(rich) > 2.0


def test_tuned_air_stands_below_the_knee() -> None:
    # EPA: CO2 0.5 to 1 point below the knee.
    knee = max((solve(replace(BOILER, shutter=x / 200)) for x in range(40, 120)),
               key=lambda s: s.co2 if s.smoke <= 1.0 else 0.0)
    assert 0.4 < knee.co2 - SOUND.co2 < 1.1


def test_co_rises_at_both_ends() -> None:
    starved = solve(replace(BOILER, shutter=0.28))
    chilled = solve(replace(healthy("boiler"), shutter=1.0, nozzle_gph=0.5))
    assert starved.co_ppm > 4 * SOUND.co_ppm
    assert chilled.co_ppm > SOUND.co_ppm
    assert chilled.flame.excess_air > 90.0


def test_co_falls_through_the_knee_and_poor_mixing_raises_it() -> None:
    # Common practice: CO falls as air is given up to the flame's need, and mechanical faults keep it up.
    through = [solve(replace(BOILER, shutter=BOILER.shutter * x)).co_ppm for x in (0.75, 0.85, 0.95, 1.05, 1.3)]
    assert through == sorted(through, reverse=True)
    for s in (ill(dirty_retention_head=0.6), ill(flame_impingement=1.0), ill(burnt_or_loose_head=0.6)):
        assert s.co_ppm > SOUND.co_ppm + 60.0
        assert s.flame.excess_air > 10.0  # not for want of air


def test_smoke_shows_before_much_co() -> None:
    # Common practice: oil smokes before it makes much CO.
    for s in (ill(fan_wheel_dirty=0.3), ill(dirty_retention_head=0.4), ill(head_or_nozzle_misplaced=0.4)):
        assert s.smoke > 1.0
        assert s.co_ppm < 150.0


def test_soot_raises_stack_temperature_and_draft_drop() -> None:
    s = ill(sooted_gas_passages=0.6)
    assert s.stack_degf > SOUND.stack_degf + 80.0
    assert drop(s) > drop(SOUND) + 0.02
    assert s.efficiency < SOUND.efficiency - 2.0


def test_leaks_lower_co2_without_smoke_and_raise_draft_drop() -> None:
    s = ill(air_leak_in_appliance=1.0)
    assert s.co2 < SOUND.co2 - 2.0
    assert s.o2 > SOUND.o2 + 2.0
    assert s.smoke < SOUND.smoke + 0.3
    assert drop(s) > drop(SOUND)
    assert s.flame.excess_air < SOUND.flame.excess_air + 15.0  # the flame itself has its air


def test_excess_air_costs_efficiency_and_raises_the_stack() -> None:
    s = ill(air_shutter_too_open=0.6)
    assert s.stack_degf > SOUND.stack_degf
    assert s.efficiency < SOUND.efficiency - 2.0
    assert s.smoke <= SOUND.smoke


def test_draft_faults() -> None:
    assert ill(blocked_flue=1.0).draft_over_fire > 0.0
    assert ill(draft_regulator_missing=1.0).draft_over_fire < SOUND.draft_over_fire - 0.02
    leaky = replace(BOILER, door_leak_in2=2.0)
    strong = with_faults(leaky, {"draft-regulator-missing": 1.0})
    assert solve(strong).co2 < solve(leaky).co2  # more draft draws more air through leaks
    assert ill(wind_downdraft=1.0).draft_breech > SOUND.draft_breech
    assert ill(house_under_suction=1.0).draft_over_fire > SOUND.draft_over_fire


def test_old_burner_feels_draft_more_than_a_retention_head() -> None:
    # Common practice: a strong fan holds its air against changing draft.
    old = healthy("old-boiler")

    def change(p: Plant) -> float:
        return solve(replace(p, regulator_off=0.04)).burner_air_lb_h / solve(p).burner_air_lb_h

    assert change(old) > change(BOILER) > 1.0


def test_cold_ducted_air_is_denser() -> None:
    ducted = healthy("boiler", air_supply="ducted-outdoor", outdoor_degf=45.0)
    s = ill(plant=ducted, cold_duct_air=1.0)
    assert s.flame.excess_air > solve(ducted).flame.excess_air + 5.0


def test_over_and_under_firing_move_the_stack() -> None:
    assert ill(over_fired=0.4).stack_degf > SOUND.stack_degf + 20.0
    assert ill(under_fired=1.0).stack_degf < SOUND.stack_degf - 40.0


def test_exchanger_starved_on_the_far_side_runs_hot() -> None:
    furnace = healthy("furnace")
    s = ill(plant=furnace, furnace_filter_loaded=1.0)
    assert s.air_rise_degf > 1.8 * solve(furnace).air_rise_degf
    assert s.stack_degf > solve(furnace).stack_degf + 40.0
    assert cycle(s.plant, s).stopped_by == "limit"


def test_cold_return_and_cold_chimney_condense() -> None:
    # Common practice: stacks below 350 degF and cold returns wet the passages and the flue.
    assert SOUND.exchange.condensate_lb_h == 0.0
    assert not SOUND.chimney_condenses
    assert ill(low_return_temperature=1.0).exchange.condensate_lb_h > 0.1
    assert ill(oversized_or_cold_chimney=1.0).chimney_condenses


def test_dew_point_rises_with_co2() -> None:
    assert solve(replace(BOILER, shutter=0.8)).dew_point_degf < SOUND.dew_point_degf
    assert SOUND.dew_point_degf == pytest.approx(115.0, abs=8.0)


def test_weak_spark_lights_late_then_not() -> None:
    delays = []
    for severity in (0.0, 0.3, 0.6, 0.8, 1.0):
        p = with_faults(BOILER, {"weak-igniter": severity})
        delays.append(cycle(p, solve(p)).delay_s)
    assert delays == sorted(delays)
    assert delays[0] < 1.0
    assert delays[-1] == 90.0


def test_cold_oil_lights_late() -> None:
    weak = with_faults(healthy("boiler", tank_place="outdoor"), {"weak-igniter": 0.6})
    cold = replace(weak, oil_degf=10.0)
    assert cycle(cold, solve(cold)).delay_s > cycle(weak, solve(weak)).delay_s


def test_weak_cut_off_and_air_drip() -> None:
    def drip(p: Plant) -> float:
        return cycle(p, solve(p)).afterdrip_ml

    assert drip(BOILER) < 0.2 < drip(with_faults(BOILER, {"weak-cut-off": 0.5}))
    assert drip(with_faults(BOILER, {"air-in-oil-line": 0.6})) > 0.5


def test_smoke_soots_the_passages_in_weeks() -> None:
    sick = with_faults(BOILER, {"air-shutter-too-closed": 0.5})
    later, clean = run_weeks(sick, 26.0), run_weeks(BOILER, 26.0)
    assert later.soot_closing > 0.08
    assert clean.soot_closing < 0.02
    assert solve(later).stack_degf > solve(sick).stack_degf + 20.0


def test_cracked_exchanger_blows_into_the_fire() -> None:
    furnace = healthy("furnace")
    s = ill(plant=furnace, cracked_heat_exchanger=1.0)
    assert s.o2 > solve(furnace).o2 + 2.0
    assert s.draft_over_fire > solve(furnace).draft_over_fire + 0.01
