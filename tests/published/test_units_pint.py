"""Every conversion that units.py knows, against pint. A unit without a partner below fails the first test."""

from functools import cache
from typing import Any

import pytest

from advisor.physics.units import KINDS, convert

PINT = {
    "degF": "degF",
    "degC": "degC",
    "K": "kelvin",
    "in. w.c.": "inch_H2O",
    "Pa": "pascal",
    "kPa": "kilopascal",
    "hPa": "hectopascal",
    "mbar": "millibar",
    "mm w.c.": "mm_H2O",
    "psi": "psi",
    "bar": "bar",
    "MPa": "megapascal",
    "in. Hg": "inch_Hg",
    "ppm": "ppm",
    "%": "percent",
    "gph": "gallon/hour",
    "L/h": "liter/hour",
    "Btu/h": "Btu_it/hour",
    "kBtu/h": "kBtu_it/hour",
    "MBH": "kBtu_it/hour",
    "kW": "kilowatt",
    "W": "watt",
    "in": "inch",
    "ft": "foot",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in2": "inch**2",
    "ft2": "foot**2",
    "cm2": "centimeter**2",
    "m2": "meter**2",
    "gal": "gallon",
    "L": "liter",
    "ft3": "foot**3",
    "m3": "meter**3",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "ohm": "ohm",
    "kohm": "kiloohm",
    "Mohm": "megaohm",
    "mA": "milliampere",
    "uA": "microampere",
    "A": "ampere",
    "V": "volt",
    "kV": "kilovolt",
    "mV": "millivolt",
    "rpm": "rpm",
    "deg": "degree",
    "years": "year",
    "months": "month",
    "per gal": "1/gallon",
    "per L": "1/liter",
    "cSt": "centistokes",
    "lb/gal": "pound/gallon",
    "kg/m3": "kilogram/meter**3",
    "kg/L": "kilogram/liter",
    "mph": "mile/hour",
    "km/h": "kilometer/hour",
    "m/s": "meter/second",
    "": "dimensionless",
}
PAIRS = [(kind, a, b) for kind, known in KINDS.items() for a in known.units for b in known.units]


@cache
def registry() -> Any:
    import pint

    found: Any = pint.UnitRegistry()
    # Conventional water, 1,000 kg/m3 exactly, and a column of it.
    found.define("mm_H2O = millimeter * 1000 kilogram/meter**3 * g_0")
    found.define("inch_H2O = inch * 1000 kilogram/meter**3 * g_0")
    return found


def test_every_unit_has_a_partner() -> None:
    assert {unit for known in KINDS.values() for unit in known.units} == set(PINT)


@pytest.mark.parametrize(("kind", "from_unit", "to_unit"), PAIRS)
def test_conversion(kind: str, from_unit: str, to_unit: str) -> None:
    prefix = "delta_" if kind == "temperature_difference" else ""
    names = [prefix + PINT[u] if prefix and u != "K" else PINT[u] for u in (from_unit, to_unit)]
    for value in (0.5, 12.0, 300.0):
        expected = registry().Quantity(value, names[0]).to(names[1]).magnitude
        assert convert(value, from_unit, to_unit, kind) == pytest.approx(expected, rel=1e-7, abs=1e-12)


# NIST SP 811, appendix B (values from memory).
@pytest.mark.parametrize(
    ("kind", "from_unit", "to_unit", "factor"),
    [
        ("draft", "in. w.c.", "Pa", 249.0889),
        ("vacuum", "in. Hg", "kPa", 3.386389),
        ("oil_pressure", "psi", "kPa", 6.894757),
        ("power", "kW", "Btu/h", 3412.142),
        ("volume", "gal", "L", 3.785412),
        ("density", "lb/gal", "kg/m3", 119.8264),
    ],
)
def test_factors_of_nist(kind: str, from_unit: str, to_unit: str, factor: float) -> None:
    assert convert(1.0, from_unit, to_unit, kind) == pytest.approx(factor, rel=1e-6)
