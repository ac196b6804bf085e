"""Firing and draft: round trips and errors."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.physics import draft, firing
from advisor.physics.combustion import Fuel
from advisor.physics.units import PhysicsError

OIL = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "typical")


@settings(max_examples=100)
@given(rated=st.floats(0.3, 10.0), pressure=st.floats(41.0, 399.0))
def test_pressure_there_and_back(rated: float, pressure: float) -> None:
    flow = firing.nozzle_flow(rated, pressure)
    assert firing.pressure_for_flow(rated, flow) == pytest.approx(pressure)


@settings(max_examples=100)
@given(height=st.floats(5.0, 100.0), flue=st.floats(150.0, 1000.0), outdoor=st.floats(-40.0, 100.0))
def test_taller_hotter_and_colder_outside_draws_more(height: float, flue: float, outdoor: float) -> None:
    base = draft.theoretical_draft(height, flue, outdoor)
    assert base > 0
    assert draft.theoretical_draft(height + 1, flue, outdoor) > base
    assert draft.theoretical_draft(height, flue + 10, outdoor) > base
    assert draft.theoretical_draft(height, flue, outdoor - 10) > base
    assert draft.theoretical_draft(height, flue, outdoor, 25.0) < base


def test_draft_drop_signs() -> None:
    assert draft.draft_drop(-0.02, -0.06) == pytest.approx(0.04)
    assert draft.draft_drop(-0.05, -0.02) == pytest.approx(-0.03)
    assert draft.draft_drop(0.02, -0.03) == pytest.approx(0.05)  # over-fire pressure


def test_output_is_input_times_efficiency() -> None:
    burned = firing.input_btu_per_h(0.85, OIL)
    assert firing.output_btu_per_h(burned, 80.0) == pytest.approx(0.85 * 7.1 * 19500 * 0.8)
    assert firing.output_btu_per_h(burned, 0.0) == 0.0


def test_heavier_oil_takes_more_vacuum() -> None:
    assert firing.oil_line_lift_vacuum(10.0, 7.3) > firing.oil_line_lift_vacuum(10.0, 6.8)
    assert firing.oil_line_lift_vacuum(0.0) == 0.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: firing.nozzle_flow(0.0, 100.0), "nozzle size 0 gph: wants above 0 to 30 gph"),
        (lambda: firing.nozzle_flow(0.85, 1000.0), "nozzle pressure 1000 psi: wants 40 to 400 psi"),
        (lambda: firing.pressure_for_flow(0.5, 2.0), "would need 1600 psi"),
        (lambda: firing.input_btu_per_h(-1.0, OIL), "oil flow"),
        (lambda: firing.btu_per_h_to_kw(float("nan")), "finite"),
        (lambda: firing.output_btu_per_h(1e5, 120.0), "efficiency 120 %"),
        (lambda: firing.output_btu_per_h(-1.0, 80.0), "wants 0 or more Btu/h"),
        (lambda: firing.combustion_air_opening(0.0, "direct"), "heat input"),
        (lambda: firing.combustion_air_opening(1e5, "window"), "opening 'window' is not known"),  # type: ignore[arg-type]
        (lambda: firing.confined_space_volume(-1.0), "heat input"),
        (lambda: firing.oil_line_lift_vacuum(40.0), "lift 40 ft"),
        (lambda: firing.oil_line_lift_vacuum(8.0, 850.0), "oil density"),
        (lambda: draft.theoretical_draft(25.0, 40.0, 50.0), "not warmer than outdoors"),
        (lambda: draft.theoretical_draft(0.0, 400.0, 50.0), "chimney height"),
        (lambda: draft.theoretical_draft(25.0, 400.0, 50.0, 1013.0), "barometer"),
        (lambda: draft.draft_drop(-2.0, -0.05), "overfire draft -2 in. w.c."),
        (lambda: draft.draft_drop(-0.02, float("nan")), "breech draft"),
    ],
)
def test_errors(call: Callable[[], object], words: str) -> None:
    with pytest.raises(PhysicsError) as caught:
        call()
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)
