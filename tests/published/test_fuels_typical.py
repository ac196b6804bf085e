"""knowledge/fuels.yaml against published typical values, and the blends recomputed."""

from pathlib import Path
from typing import Any

import pytest
import yaml

from advisor.physics.combustion import Fuel, air_fuel_ratio, co2_max

ITEMS: list[dict[str, Any]] = yaml.safe_load(
    (Path(__file__).parents[2] / "knowledge" / "fuels.yaml").read_text(encoding="utf-8")
)


def load(item: dict[str, Any]) -> Fuel:
    numbers = ("carbon", "hydrogen", "sulfur", "nitrogen", "oxygen", "hhv_btu_per_lb", "density_lb_per_gal")
    return Fuel(
        name=item["fuel"],
        title=item["title"],
        source=str(item["source"]),
        **{n: float(item[n]) for n in numbers},
    )


FUELS = {item["fuel"]: load(item) for item in ITEMS}


def test_the_fuels_are_there() -> None:
    assert list(FUELS) == ["no-1-oil", "no-2-oil", "b5", "b10", "b20", "b50", "b100"]


@pytest.mark.parametrize("fuel", FUELS.values(), ids=lambda f: f.name)
def test_fractions_add_to_one(fuel: Fuel) -> None:
    total = fuel.carbon + fuel.hydrogen + fuel.sulfur + fuel.nitrogen + fuel.oxygen
    assert total == pytest.approx(1.0, abs=1e-9)


# 10 CFR 430 Subpart B App. O (heating value, air/fuel), EIA 138,500 and EPA AP-42 section 1.3 140,000
# Btu/gal: values from memory.
def test_no_2_oil() -> None:
    oil = FUELS["no-2-oil"]
    assert 0.866 <= oil.carbon <= 0.875
    assert 0.125 <= oil.hydrogen <= 0.134
    assert oil.hhv_btu_per_lb == 19500
    assert 138_000 <= oil.hhv_btu_per_lb * oil.density_lb_per_gal <= 140_500
    assert air_fuel_ratio(oil) == pytest.approx(14.49, rel=0.015)


def test_no_1_oil() -> None:
    oil = FUELS["no-1-oil"]
    assert oil.hhv_btu_per_lb == 19800
    assert air_fuel_ratio(oil) == pytest.approx(14.56, rel=0.015)
    assert co2_max(oil) == pytest.approx(14.22 / (1 - 0.0679), abs=0.2)


# Volume blend of No. 2 oil with a typical methyl ester (common practice: C 77 %, H 12 %, O 11 %,
# 17,150 Btu/lb).
@pytest.mark.parametrize(("name", "share"), [("b5", 0.05), ("b10", 0.1), ("b20", 0.20), ("b50", 0.5), ("b100", 1.0)])
def test_blends(name: str, share: float) -> None:
    oil, blend = FUELS["no-2-oil"], FUELS[name]
    ester_mass = share * 7.35 / (share * 7.35 + (1 - share) * oil.density_lb_per_gal)
    for part, ester in (("carbon", 0.770), ("hydrogen", 0.119), ("oxygen", 0.111)):
        mixed = (1 - ester_mass) * getattr(oil, part) + ester_mass * ester
        assert getattr(blend, part) == pytest.approx(mixed, abs=1e-4)
    assert blend.hhv_btu_per_lb == pytest.approx((1 - ester_mass) * 19500 + ester_mass * 17150, abs=6)
    assert blend.density_lb_per_gal == pytest.approx((1 - share) * 7.1 + share * 7.35, abs=0.006)


# Methyl oleate, C19H36O2, by its molar mass: the ester assumed lies close to the chief ester of its kind.
def test_ester_against_methyl_oleate() -> None:
    molar = 19 * 12.011 + 36 * 1.008 + 2 * 15.999
    assert 19 * 12.011 / molar == pytest.approx(0.770, abs=0.01)
    assert 36 * 1.008 / molar == pytest.approx(0.119, abs=0.005)
    assert 2 * 15.999 / molar == pytest.approx(0.111, abs=0.005)
