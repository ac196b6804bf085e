"""Units of the trade: read what was typed, convert it exactly, write it back.

Every quantity has a *kind* (temperature, draft, oil pressure ...). A kind has one canonical unit, in which
all arithmetic of this package is done, and the other units in which it may be typed. All factors follow
from exact definitions [1]_; the inch of water is the conventional one (water of 1,000 kg/m3) and the inch
of mercury that of mercury at 0 degC (13,595.1 kg/m3) [2]_, both under standard gravity, 9.80665 m/s2.

References
----------
.. [1] NIST Special Publication 811, Guide for the Use of the International System of Units, 2008, appendix B.
.. [2] The same, conventional inch of water and inch of mercury (32 degF); values from memory.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["KINDS", "Kind", "Parsed", "PhysicsError", "convert", "format_value", "parse", "spelled", "symbol",
           "within"]


class PhysicsError(ValueError):
    """A number or unit outside what physics allows; one line: what, the value, what would be right."""


@dataclass(frozen=True)
class Kind:
    """A kind of quantity.

    ``units`` maps each unit's symbol to (factor, offset): canonical = value * factor + offset.
    ``spellings`` maps each accepted spelling, as :func:`_plain` leaves it, to a symbol. ``loose`` does the
    same for spellings that leave something open ("in" for a draft): they are read, and marked as assumed.
    """

    name: str
    symbol: str
    noun: str
    decimals: tuple[int, int]
    units: Mapping[str, tuple[float, float]]
    spellings: Mapping[str, str] = field(repr=False)
    loose: Mapping[str, str] = field(default_factory=dict, repr=False)


@dataclass(frozen=True)
class Parsed:
    """A number as typed, in the canonical unit ``unit``; ``assumed`` is true where the unit was not typed."""

    value: float
    unit: str
    typed_unit: str | None
    assumed: bool


_REPLACED = str.maketrans({"²": "2", "³": "3", "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "µ": "u",
                           "μ": "u", "Ω": "ohm", "\u2126": "ohm", "º": "°", "℉": "°F", "℃": "°C", "·": "."})
_DROPPED = re.compile(r"[\s.^_]+")


def _plain(spelling: str) -> str:
    """Fold case, dots, spaces and degree signs away, so that "in. W.C." and "inwc" are one spelling."""
    text = _DROPPED.sub("", spelling.translate(_REPLACED)).replace("°", "deg").casefold()
    return text.replace("inches", "in").replace("inch", "in").replace('"', "in")


def _kind(
    name: str,
    decimals: tuple[int, int],
    units: Mapping[str, tuple[float, str]],
    noun: str = "",
    offsets: Mapping[str, float] | None = None,
    loose: Mapping[str, str] | None = None,
) -> Kind:
    """Build a kind; ``units`` maps symbol -> (factor, other spellings parted by |), canonical unit first."""
    spellings = {_plain(s): unit for unit, (_, others) in units.items() for s in (unit, *others.split("|"))}
    spellings.pop("", None)
    return Kind(
        name=name,
        symbol=next(iter(units)),
        noun=noun or name.replace("_", " "),
        decimals=decimals,
        units={unit: (factor, (offsets or {}).get(unit, 0.0)) for unit, (factor, _) in units.items()},
        spellings=spellings,
        loose={_plain(s): unit for s, unit in (loose or {}).items()},
    )


_FT, _IN = 0.3048, 0.0254  # m, exact
_GAL = 231 * _IN**3  # m3 in a US gallon, exact
_LB = 0.45359237  # kg, exact
_G = 9.80665  # m/s2, standard gravity, exact
_IN_WC = 1000.0 * _G * _IN  # Pa
_MM_WC = _G  # Pa
_IN_HG = 13595.1 * _G * _IN  # Pa
_PSI = _LB * _G / _IN**2  # Pa
_BTU_PER_H = 1055.05585262 / 3600.0  # W, International Table Btu, exact

_F = "F|deg F|fahrenheit|degrees F"
_C = "C|deg C|celsius|degrees C|centigrade"
_WATER = "in wc|wc|wg|in wg|in w|in h2o|iwc|iwg|in water|inches of water|in wcg|in water column"
_MM_WATER = "mm wc|mm wg|mm h2o|mm water"

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        _kind("temperature", (0, 0), {"degF": (1.0, _F), "degC": (1.8, _C)}, offsets={"degC": 32.0},
              loose={"deg": "degF", "degs": "degF", "degree": "degF", "degrees": "degF"}),
        _kind("temperature_difference", (0, 0), {"degF": (1.0, _F), "degC": (1.8, _C), "K": (1.8, "kelvin")},
              loose={"deg": "degF", "degs": "degF", "degree": "degF", "degrees": "degF"}),
        _kind("draft", (2, 3), {"in. w.c.": (1.0, _WATER), "Pa": (1 / _IN_WC, "pascal|pascals"),
                                "kPa": (1000 / _IN_WC, ""), "hPa": (100 / _IN_WC, ""),
                                "mbar": (100 / _IN_WC, "millibar"),
                                "mm w.c.": (_MM_WC / _IN_WC, _MM_WATER)},
              noun="pressure", loose={"in": "in. w.c.", "mm": "mm w.c."}),
        _kind("oil_pressure", (0, 1), {"psi": (1.0, "psig|lb/in2|lbs/in2|pounds|psis"),
                                       "bar": (1e5 / _PSI, "barg"),
                                       "kPa": (1000 / _PSI, ""), "MPa": (1e6 / _PSI, "")},
              noun="pressure", loose={"lb": "psi", "lbs": "psi"}),
        _kind("vacuum", (0, 1), {"in. Hg": (1.0, "in hg vac|in mercury|inches of mercury|hg|in vac|in vacuum|"
                                     "inches of vacuum"),
                                 "psi": (_PSI / _IN_HG, ""), "kPa": (1000 / _IN_HG, ""),
                                 "bar": (1e5 / _IN_HG, ""), "in. w.c.": (_IN_WC / _IN_HG, _WATER)},
              noun="pressure", loose={"in": "in. Hg"}),
        _kind("barometer", (2, 2), {"in. Hg": (1.0, "in mercury|inches of mercury"), "hPa": (100 / _IN_HG, ""),
                                    "mbar": (100 / _IN_HG, "millibar"), "kPa": (1000 / _IN_HG, "")},
              noun="pressure", loose={"in": "in. Hg"}),
        _kind("altitude", (0, 0), {"ft": (1.0, "'|foot|feet"), "m": (1 / _FT, "meter|metre|meters|metres")}),
        _kind("percent", (1, 1), {"%": (1.0, "percent|pct|per cent")}, noun="percentage"),
        _kind("concentration", (0, 0), {"ppm": (1.0, "ppmv|parts per million"),
                                        "%": (10000.0, "percent|pct|per cent")}),
        _kind("flow", (2, 2), {"gph": (1.0, "gal/h|gal/hr|gals/hr|gallons per hour|gallon per hour|gallons an hour|"
                                         "gal an hour|gal per hour|gal per h|us gph|us gal/h|us gal/hr"),
                               "L/h": (0.001 / _GAL, "lph|L/hr|liter/h|litre/h|liters per hour|litres per hour|"
                                       "liters an hour")},
              loose={"gal": "gph", "gallon": "gph", "gallons": "gph"}),
        _kind("power", (0, 0), {"Btu/h": (1.0, "btu/hr|btuh|btu per hour|btu"),
                                "kBtu/h": (1000.0, "kbtu/hr|kbtuh|kbtu"), "MBH": (1000.0, "mbtuh"),
                                "kW": (1000 / _BTU_PER_H, "kilowatt|kilowatts"),
                                "W": (1 / _BTU_PER_H, "watt|watts")}),
        _kind("length", (0, 3), {"in": (1.0, ""), "ft": (12.0, "'|foot|feet"), "mm": (0.001 / _IN, ""),
                                 "cm": (0.01 / _IN, ""), "m": (1 / _IN, "meter|metre|meters|metres")}),
        _kind("area", (0, 1), {"in2": (1.0, "sq in|square in|sqin"), "ft2": (144.0, "sq ft|square feet"),
                               "cm2": (1e-4 / _IN**2, "sq cm"), "m2": (1 / _IN**2, "sq m")}),
        _kind("volume", (0, 1), {"gal": (1.0, "gallon|gallons|us gal|gals"),
                                 "L": (0.001 / _GAL, "liter|litre|liters|litres")}),
        _kind("volume_room", (0, 0), {"ft3": (1.0, "cu ft|cubic feet"), "m3": (1 / _FT**3, "cu m")},
              noun="room volume"),
        _kind("time_s", (0, 1), {"s": (1.0, "sec|secs|second|seconds"), "min": (60.0, "mins|minute|minutes")},
              noun="time"),
        _kind("time_min", (0, 1), {"min": (1.0, "mins|minute|minutes"),
                                   "s": (1 / 60, "sec|secs|second|seconds"),
                                   "h": (60.0, "hr|hrs|hour|hours")}, noun="time"),
        _kind("smoke", (0, 1), {"": (1.0, "#|smoke")}, noun="smoke number"),
        _kind("resistance", (0, 2), {"ohm": (1.0, "ohms"), "kohm": (1000.0, "kohms|kiloohm|kiloohms|k"),
                                     "Mohm": (1e6, "Mohms|megohm|megohms|megaohm|megaohms|meg|M")}),
        _kind("current", (0, 3), {"mA": (1.0, "milliamp|milliamps"), "uA": (0.001, "microamp|microamps"),
                                  "A": (1000.0, "amp|amps|ampere|amperes")}),
        _kind("voltage", (0, 3), {"V": (1.0, "volt|volts|vac|vdc"), "kV": (1000.0, "kilovolt|kilovolts"),
                                  "mV": (0.001, "millivolt|millivolts")}),
        _kind("speed", (0, 0), {"rpm": (1.0, "r/min|rev/min")}),
        _kind("angle", (0, 1), {"deg": (1.0, "degree|degrees")}),
        _kind("ratio", (2, 3), {"": (1.0, "")}),
        _kind("count", (0, 0), {"": (1.0, "")}),
        _kind("years", (0, 1), {"years": (1.0, "year|yr|yrs|y"), "months": (1 / 12, "month|mo|mos")},
              noun="age"),
        _kind("price", (2, 3), {"per gal": (1.0, "/gal|per gallon|a gallon|$/gal"),
                                "per L": (_GAL / 0.001, "/L|per liter|per litre|$/L")}),
        _kind("viscosity", (1, 2), {"cSt": (1.0, "centistokes|mm2/s")}),
        _kind("density", (2, 3), {"lb/gal": (1.0, "lbs/gal|lb per gal"),
                                  "kg/m3": (_GAL / _LB, "kg/cu m"),
                                  "kg/L": (1000 * _GAL / _LB, "g/cm3|g/ml|kg/dm3")}),
        _kind("wind", (0, 1), {"mph": (1.0, "mi/h|miles per hour"),
                               "km/h": (1000 / (5280 * _FT), "kph|kmh|kmph"),
                               "m/s": (3600 / (5280 * _FT), "mps")}, noun="speed"),
    )
}

_NUMBER = re.compile(r"([+-]?)((?:[1-9][0-9]{0,2}(?:,[0-9]{3})+|[0-9]+)?(?:\.[0-9]*)?)(.*)", re.DOTALL)
_PREFIX = {
    "smoke": re.compile(r"(?:#|no\.?|number|smoke)\s*(?=[\s0-9.+-])", re.IGNORECASE),
    "price": re.compile(r"\$"),
}
_MASS_FLOW = {"kg/h", "kg/hr", "lb/h", "lb/hr", "kgh"}
_ABSOLUTE_ZERO = -459.67  # degF


def parse(text: str, kind: str) -> Parsed:
    """Read a number with or without its unit.

    Parameters
    ----------
    text : str
        What was typed: ``520``, ``-.02``, ``0.05 in wc``, ``1,200 ppm``. A comma only parts thousands.
    kind : str
        A name in :data:`KINDS`.

    Returns
    -------
    Parsed
        The value in the kind's canonical unit.

    Raises
    ------
    PhysicsError
        No number, two numbers, a decimal comma, an unknown unit, or a unit of another kind.

    Examples
    --------
    >>> parse("-.02", "draft")
    Parsed(value=-0.02, unit='in. w.c.', typed_unit=None, assumed=True)
    >>> round(parse("10 bar", "oil_pressure").value, 1)
    145.0
    >>> parse("500 psi", "temperature")
    Traceback (most recent call last):
    advisor.physics.units.PhysicsError: '500 psi': psi is a pressure unit; a temperature wants degF or degC
    """
    known = _known(kind)
    shown = _shown(text)
    typed = text.strip().replace("−", "-").replace("–", "-").replace("－", "-")
    if kind in _PREFIX:
        typed = _PREFIX[kind].sub("", typed, count=1).strip() if _PREFIX[kind].match(typed) else typed
    if not typed:
        raise PhysicsError(f"{shown}: no number; {_example(known)}")
    found = _NUMBER.fullmatch(typed)
    sign, digits, rest = found.groups() if found else ("", "", typed)
    if not any(c.isdigit() for c in digits):
        raise PhysicsError(f"{shown}: does not begin with a number; {_example(known)}")
    if re.match(r",[0-9]", rest):
        raise PhysicsError(
            f"{shown}: a comma is read only between thousands (1,200); write a decimal with a point (0.05)"
        )
    rest = rest.strip()
    unit, loose = _unit(rest, known, shown) if rest else (known.symbol, known.symbol != "")
    factor, offset = known.units[unit]
    value = float(sign + digits.replace(",", "")) * factor + offset
    return Parsed(_checked(value, known, shown), known.symbol, rest or None, loose)


def convert(value: float, from_unit: str, to_unit: str, kind: str) -> float:
    """Convert a value between two units of one kind.

    Parameters
    ----------
    value : float
        In ``from_unit``.
    from_unit, to_unit : str
        Units of the kind, in any accepted spelling.
    kind : str
        A name in :data:`KINDS`.

    Returns
    -------
    float
        In ``to_unit``.

    Raises
    ------
    PhysicsError
        Unknown kind or unit, a value that is not finite, or a temperature below absolute zero.

    Examples
    --------
    >>> convert(25.0, "degC", "degF", "temperature")
    77.0
    >>> round(convert(-0.02, "in. w.c.", "Pa", "draft"), 2)
    -4.98
    """
    known = _known(kind)
    if from_unit == to_unit == known.symbol == "":
        return _checked(value, known, repr(value))
    factor, offset = known.units[_unit(from_unit, known, _shown(from_unit))[0]]
    canonical = _checked(value * factor + offset, known, f"{value!r} {from_unit}")
    factor, offset = known.units[_unit(to_unit, known, _shown(to_unit))[0]]
    return (canonical - offset) / factor


def format_value(value: float, kind: str, digits: int | None = None) -> str:
    """Write a value in its canonical unit, with the decimals that its instrument can show.

    Parameters
    ----------
    value : float
        In the kind's canonical unit.
    kind : str
        A name in :data:`KINDS`.
    digits : int, optional
        Decimals; by default the kind's own (2 to 3 for draft, 0 for temperature, 1 for percent).

    Returns
    -------
    str
        Number and unit symbol; :func:`parse` reads it back.

    Raises
    ------
    PhysicsError
        Unknown kind, or a value that is not finite.

    Examples
    --------
    >>> format_value(-0.02, "draft"), format_value(-0.015, "draft"), format_value(119000, "power")
    ('-0.02 in. w.c.', '-0.015 in. w.c.', '119,000 Btu/h')
    """
    known = _known(kind)
    _checked(value, known, repr(value))
    least, most = known.decimals if digits is None else (digits, digits)
    written = f"{value:,.{most}f}"
    while most > least and written.endswith("0"):
        written, most = written[:-1], most - 1
    written = written.rstrip(".") if most == 0 else written
    if not written.strip("-0.,"):
        written = written.lstrip("-")  # no "-0.00"
    return f"{written} {known.symbol}".strip()


def symbol(kind: str) -> str:
    """Return the canonical unit symbol of a kind; empty where the kind has no unit.

    >>> symbol("draft")
    'in. w.c.'
    """
    return _known(kind).symbol


def spelled(text: str) -> dict[str, tuple[str, bool]]:
    """The kinds of quantity that a text is a unit of, each with the unit's symbol and whether it leaves something open.

    >>> spelled("bar")["oil_pressure"], spelled("degrees")["temperature"], spelled("ppm"), spelled("boiler")
    (('bar', False), ('degF', True), {'concentration': ('ppm', False)}, {})
    """
    plain = _plain(text)
    found = {name: (kind.spellings[plain], False) for name, kind in KINDS.items() if plain in kind.spellings}
    return {**{name: (kind.loose[plain], True) for name, kind in KINDS.items() if plain in kind.loose}, **found}


def within(name: str, value: float, low: float, high: float, unit: str, above: bool = False) -> float:
    """Return a finite value from low to high (above low, where ``above``); raise PhysicsError for any other.

    >>> within("lift", 40.0, 0.0, 30.0, "ft")
    Traceback (most recent call last):
    advisor.physics.units.PhysicsError: lift 40 ft: wants 0 to 30 ft
    """
    if math.isfinite(value) and low <= value <= high and not (above and value == low):
        return value
    reach = f"{low:,g} or more" if high == math.inf else f"{low:,g} to {high:,g}"
    wanted = "a finite number of" if low == -math.inf else f"{'above ' if above else ''}{reach}"
    raise PhysicsError(f"{name} {value:g} {unit}: wants {wanted} {unit}")


def _known(kind: str) -> Kind:
    if kind not in KINDS:
        raise PhysicsError(f"{kind!r} is not a kind of quantity; the kinds are {', '.join(KINDS)}")
    return KINDS[kind]


def _shown(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")


def _article(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def _wants(kind: Kind) -> str:
    title = _article(kind.name.replace("_", " ") if kind.noun == "pressure" else kind.noun)
    if not kind.symbol:
        return f"{title} has no unit"
    *others, last = kind.units
    return f"{title} wants {', '.join(others)} or {last}" if others else f"{title} wants {last}"


def _example(kind: Kind) -> str:
    number = {"draft": "-0.02", "percent": "10.5", "flow": "0.85", "smoke": "1"}.get(kind.name, "120")
    return f"write one number, such as {f'{number} {kind.symbol}'.strip()}"


def _unit(typed: str, kind: Kind, shown: str) -> tuple[str, bool]:
    """Find the symbol of a typed unit, and whether it had to be assumed."""
    plain = _plain(typed)
    spaced_digit = re.search(r"(?:^|[\s/,.+x-])[0-9]", typed)
    # Prefixes m and M differ a thousand million times: only the strict spelling of the wrong one is refused.
    strict = {"mPa": "MPa", "MA": "mA", "MV": "mV"}.get(typed)
    if strict in kind.units:
        raise PhysicsError(f"{shown}: {typed} is not {strict}; {_wants(kind)}")
    if not spaced_digit:
        if plain in kind.spellings:
            return kind.spellings[plain], False
        if plain in kind.loose:
            return kind.loose[plain], True
    if spaced_digit or any(c.isdigit() for c in plain.rstrip("23")):
        raise PhysicsError(f"{shown}: more than one number; {_example(kind)}")
    if kind.name == "flow" and plain in _MASS_FLOW:
        raise PhysicsError(f"{shown}: {typed} is a mass flow and needs the oil's density; {_wants(kind)}")
    nouns = dict.fromkeys(other.noun for other in KINDS.values() if plain in other.spellings)
    if nouns:
        raise PhysicsError(f"{shown}: {typed} is {_article(' or '.join(nouns))} unit; {_wants(kind)}")
    raise PhysicsError(f"{shown}: {_shown(typed)} is not a unit known here; {_wants(kind)}")


def _checked(value: float, kind: Kind, shown: str) -> float:
    if not math.isfinite(value):
        raise PhysicsError(f"{shown}: not a finite number; {_example(kind)}")
    if kind.name == "temperature" and value < _ABSOLUTE_ZERO:
        raise PhysicsError(f"{shown}: below absolute zero ({_ABSOLUTE_ZERO} degF); check sign and unit")
    return value
