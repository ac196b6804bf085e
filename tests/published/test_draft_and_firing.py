"""Draft, nozzle, openings and lift against handbook formulas."""

import pytest

from advisor.physics.combustion import Fuel
from advisor.physics.draft import theoretical_draft
from advisor.physics.firing import (
    Opening,
    btu_per_h_to_kw,
    combustion_air_opening,
    confined_space_volume,
    input_btu_per_h,
    nozzle_flow,
    oil_line_lift_vacuum,
)


# ASHRAE Handbook, chimneys: 0.2554 B H (1/To - 1/Tm), degR (constant from memory).
@pytest.mark.parametrize("barometer", [29.92, 24.9])
@pytest.mark.parametrize(
    ("height", "flue", "outdoor"), [(15.0, 300.0, 60.0), (25.0, 400.0, 30.0), (35.0, 550.0, 0.0)]
)
def test_theoretical_draft(height: float, flue: float, outdoor: float, barometer: float) -> None:
    reference = 0.2554 * barometer * height * (1 / (outdoor + 459.67) - 1 / (flue + 459.67))
    assert theoretical_draft(height, flue, outdoor, barometer) == pytest.approx(reference, rel=0.01)


def test_theoretical_draft_from_densities_of_coolprop() -> None:
    from CoolProp.CoolProp import PropsSI

    cold, hot = (PropsSI("D", "T", (t + 459.67) / 1.8, "P", 101325, "Air") for t in (30.0, 400.0))
    reference = (cold - hot) * 9.80665 * 25 * 0.3048 / 249.08891
    assert theoretical_draft(25.0, 400.0, 30.0) == pytest.approx(reference, rel=0.005)


# Orifice law from the 100 psi rating; common practice: 140 psi gives 18 % more, 150 psi 22 % more.
@pytest.mark.parametrize(("psi", "ratio"), [(100.0, 1.0), (140.0, 1.18), (150.0, 1.22), (175.0, 1.32)])
def test_nozzle_flow(psi: float, ratio: float) -> None:
    assert nozzle_flow(1.0, psi) == pytest.approx(ratio, abs=0.005)


# NFPA 31: one square inch per so many Btu/h (the single duct: value from memory).
@pytest.mark.parametrize(
    ("kind", "per_square_inch"),
    [
        ("inside-each-of-two", 1000),
        ("direct", 4000),
        ("vertical-duct", 4000),
        ("horizontal-duct", 2000),
        ("single", 5000),
    ],
)
def test_combustion_air_opening(kind: Opening, per_square_inch: float) -> None:
    assert combustion_air_opening(140_000.0, kind) == pytest.approx(140_000 / per_square_inch)


# NFPA 31: each of two openings to inside air has at least 100 square inches, however small the burner.
@pytest.mark.parametrize("btu_per_h", [40_000.0, 70_000.0, 100_000.0])
def test_an_opening_to_inside_air_has_at_least_100_square_inches(btu_per_h: float) -> None:
    assert combustion_air_opening(btu_per_h, "inside-each-of-two") == 100.0
    assert combustion_air_opening(btu_per_h, "direct") == pytest.approx(btu_per_h / 4000)


# NFPA 31: unconfined from 50 ft3 per 1,000 Btu/h.
def test_confined_space() -> None:
    assert confined_space_volume(140_000.0) == pytest.approx(7000.0)


# Common practice: about 0.75 in. Hg for each foot of lift.
def test_lift() -> None:
    assert oil_line_lift_vacuum(1.0) == pytest.approx(0.75, abs=0.01)


# EIA 138,500 Btu/gal (value from memory); kW by the definition of the Btu, against pint.
def test_input() -> None:
    import pint

    oil = Fuel("oil", "Light oil", 0.873, 0.127, 0.0, 0.0, 0.0, 19500.0, 7.1, "10 CFR 430 App. O")
    assert input_btu_per_h(1.0, oil) == pytest.approx(138_500, rel=0.005)
    kilowatts = pint.UnitRegistry().Quantity(138_500, "Btu_it/hour").to("kilowatt").magnitude
    assert btu_per_h_to_kw(138_500.0) == pytest.approx(kilowatts, rel=1e-6)
