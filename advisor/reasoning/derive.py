"""From entries to everything that follows by arithmetic: derived values, bands, and the symbols for the rules."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Limit
from advisor.physics import accuracy, atmosphere, combustion, draft, firing
from advisor.physics.combustion import Fuel
from advisor.physics.units import PhysicsError
from advisor.reasoning.case import Case

DEFAULT_FUEL: Final = "no-2-oil"


@dataclass(frozen=True, slots=True)
class Number:
    """A value of a quantity: entered, or computed from others by `formula`. `grounds` are the entries behind it.

    `error` is how far it may be off, in its unit, two standard deviations: the instrument's accuracy, or what the
    accuracy of all behind it makes of it (:mod:`advisor.physics.accuracy`). `shares` are the signed shares in it of
    each source: an entry, or a formula, by the name of the quantity that it computes.
    """

    name: str
    value: float
    grounds: frozenset[str]
    formula: str = ""
    of: tuple[str, ...] = ()
    error: float = 0.0
    shares: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Band:
    """The band of a value; `neighbor` and `share` where it lies nearer to a limit than its error.

    `share` is how far the value speaks for its own band: 0.5 on the limit, 1 where it is not borderline.
    """

    symbol: str
    share: float = 1.0
    neighbor: str = ""
    limit: str = ""
    manufacturer: bool = False


@dataclass(frozen=True, slots=True)
class Findings:
    """What is known of a case before any rule: numbers, bands, answers, and what could not be computed.

    `symbols` is what the rules see; `grounds` tells the entries on which each symbol rests.
    """

    numbers: Mapping[str, Number]
    bands: Mapping[str, Band]
    symbols: Mapping[str, str]
    grounds: Mapping[str, frozenset[str]]
    troubles: tuple[str, ...]
    fuel: Fuel
    fuel_assumed: bool


def derive(case: Case, base: Base, leave: frozenset[str] = frozenset()) -> Findings:
    """Everything that follows from the entries of a case by arithmetic.

    Parameters
    ----------
    case : Case
        Its latest entries count. "Could not check" gives nothing.
    base : Base
        Bands, limits and fuels.
    leave : frozenset of str
        Names to set aside (their readings are doubted), with everything computed from them.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> case = Case((Entry("draft_over_fire", "-.01", -0.01), Entry("draft_breech", "-.07", -0.07)))
    >>> found = derive(case, load())
    >>> drop = found.numbers["draft_drop"]
    >>> round(drop.value, 3), round(drop.error, 4), found.symbols["draft_drop"]
    (0.06, 0.0028, 'high')
    """
    entries = {name: entry for name, entry in case.latest.items() if entry.value is not None and name not in leave}
    answers = {name: entry.value for name, entry in entries.items() if isinstance(entry.value, str)}
    fuel_name = answers.get("fuel", DEFAULT_FUEL)
    fuel = base.fuels.get(fuel_name) or base.fuels[DEFAULT_FUEL]
    numbers = {name: _entered(base, name, entry.value) for name, entry in entries.items()
               if isinstance(entry.value, float)}
    troubles = []
    for name, needs, formula, compute in _RECIPES:
        if name in numbers or name in leave or any(need not in numbers for need in needs):
            continue
        behind = [numbers[need] for need in needs]
        try:
            value, slopes = _computed(compute, fuel, tuple([one.value for one in behind]),
                                      tuple([one.error for one in behind]))
        except PhysicsError as error:
            troubles.append(f"{base.quantities[name].title} cannot be computed: {error}")
            continue
        shares = accuracy.added((slope, one.shares) for slope, one in zip(slopes, behind, strict=True))
        if base.quantities[name].formula_error:
            shares[name] = base.quantities[name].formula_error
        numbers[name] = Number(name, value, frozenset().union(*(one.grounds for one in behind)), formula, needs,
                               accuracy.joint(shares.values()), shares)
    bands = {}
    for name, number in numbers.items():
        band = band_of(base, name, number.value, number.error, answers, case.manufacturer)
        if band is not None:
            bands[name] = band
    symbols = {**answers, **{name: band.symbol for name, band in bands.items()}}
    grounds_of = {name: numbers[name].grounds if name in numbers else frozenset((name,)) for name in symbols}
    return Findings(numbers, bands, symbols, grounds_of, tuple(troubles), fuel, "fuel" not in answers)


def _entered(base: Base, name: str, value: float) -> Number:
    error = base.quantities[name].accuracy
    return Number(name, value, frozenset((name,)), error=error, shares={name: error})


@lru_cache(maxsize=4096)  # a turn computes anew only what rests on what was entered in it
def _computed(
    compute: _Compute, fuel: Fuel, values: tuple[float, ...], errors: tuple[float, ...]
) -> tuple[float, tuple[float, ...]]:
    """A figure, and its sensitivity to each value that it is computed from."""
    formula = partial(compute, fuel)
    return formula(*values), accuracy.sensitivities(formula, values, errors)


def limit_value(limit: Limit, answers: Mapping[str, str], manufacturer: Mapping[str, float]) -> tuple[float, bool]:
    """What a limit amounts to for this equipment, and whether that is the manufacturer's own figure."""
    if limit.name in manufacturer:
        return manufacturer[limit.name], True
    for case in limit.cases:
        if all(answers.get(name) in symbols for name, symbols in case.when.items()):
            return case.value, False
    return limit.value, False


def band_of(
    base: Base, name: str, value: float, error: float, answers: Mapping[str, str], manufacturer: Mapping[str, float]
) -> Band | None:
    """The band of a quantity's value, which may be off by `error`; None for a quantity without bands.

    >>> from advisor.library.base import load
    >>> band_of(load(), "co", 104.0, 10.0, {}, {})
    Band(symbol='high', share=0.7, neighbor='normal', limit='co-flue', manufacturer=False)
    """
    limits = base.limits_of.get(name)
    if not limits:
        return None
    symbol, nearest = limits[0].below, None
    for limit in limits:
        edge, is_manufacturers = limit_value(limit, answers, manufacturer)
        if value > edge or (value == edge and limit.at == limit.above):
            symbol = limit.above
        distance = abs(value - edge)
        if distance < error and (nearest is None or distance < nearest[0]):
            nearest = (distance, limit, is_manufacturers)
    if nearest is None:
        return Band(symbol)
    distance, limit, is_manufacturers = nearest
    neighbor = limit.below if symbol == limit.above else limit.above
    if symbol not in (limit.below, limit.above):  # two limits nearer together than the error
        return Band(symbol)
    return Band(symbol, round(0.5 + 0.5 * distance / error, 6), neighbor, limit.name, is_manufacturers)


def _draft_share(
    fuel: Fuel, measured: float, height: float, stack: float, outdoor: float,
    barometer: float = atmosphere.SEA_LEVEL_IN_HG,
) -> float:
    theory = draft.theoretical_draft(height / 12.0, stack, outdoor, barometer)
    if theory < 0.005:
        raise PhysicsError("the chimney has next to no draft at these temperatures")
    return -measured / theory


def _air_opening_ratio(fuel: Fuel, opening: float, input_btu: float) -> float:
    needed = firing.combustion_air_opening(input_btu, "inside-each-of-two")
    if needed <= 0:
        raise PhysicsError("no heat input")
    return opening / needed


def _ratio(fuel: Fuel, above: float, below: float) -> float:
    if below <= 0:
        raise PhysicsError(f"the required value is {below:g}; it must be above zero")
    return above / below


def needed_for(name: str) -> tuple[str, ...]:
    """What a computed quantity is computed from, by whichever formula; empty for one that is not computed.

    >>> needed_for("pump_pressure_ratio")
    ('pump_pressure', 'pump_pressure_required')
    """
    return tuple(dict.fromkeys(need for recipe in _RECIPES if recipe[0] == name for need in recipe[1]))


_Compute = Callable[..., float]
_RECIPES: Final[tuple[tuple[str, tuple[str, ...], str, _Compute], ...]] = (
    # name, what it needs (all present), the formula in words, the function (fuel first)
    ("net_stack", ("stack_temperature", "room_temperature"), "stack temperature - combustion air temperature",
     lambda fuel, stack, room: combustion.net_stack(stack, room)),
    ("draft_drop", ("draft_over_fire", "draft_breech"), "draft over the fire - draft at the breech",
     lambda fuel, fire, breech: draft.draft_drop(fire, breech)),
    ("co_over_outdoors", ("co_room", "co_outdoors"), "CO in the room - CO outdoors",
     lambda fuel, room, outdoors: room - outdoors),
    ("co_over_outdoors", ("co_room",), "CO in the room, that outdoors taken as none",
     lambda fuel, room: room),
    ("o2_co2_gap", ("co2", "o2"), "CO2 measured - CO2max x (1 - O2 / O2 of air), exact for the fuel",
     lambda fuel, co2, o2: co2 - combustion.co2_from_o2(fuel, o2)),
    ("excess_air", ("co2",), "from CO2 and the fuel's analysis: dry gas at that CO2 less dry gas without excess",
     lambda fuel, co2: combustion.excess_air_from_co2(fuel, co2)),
    ("co2", ("o2",), "from O2 and the fuel's analysis",
     lambda fuel, o2: combustion.co2_from_o2(fuel, o2)),
    ("o2", ("co2",), "from CO2 and the fuel's analysis",
     lambda fuel, co2: combustion.o2_from_co2(fuel, co2)),
    ("excess_air", ("o2",), "from O2 and the fuel's analysis",
     lambda fuel, o2: combustion.excess_air_from_o2(fuel, o2)),
    ("co_air_free", ("co", "o2"), "CO x 20.9 / (20.9 - O2)",
     lambda fuel, co, o2: combustion.co_air_free(co, o2)),
    ("efficiency", ("excess_air", "stack_temperature", "room_temperature", "co"),
     "100 - dry gas loss - vapor loss - CO loss, in per cent of the higher heating value",
     lambda fuel, excess, stack, room, co: combustion.losses(fuel, excess, stack, room, co).efficiency),
    ("efficiency", ("excess_air", "stack_temperature", "room_temperature"),
     "100 - dry gas loss - vapor loss, in per cent of the higher heating value",
     lambda fuel, excess, stack, room: combustion.losses(fuel, excess, stack, room).efficiency),
    ("barometer", ("altitude",), "standard atmosphere: 29.92 in. Hg x (1 - altitude / 145,442 ft) ^ 5.256",
     lambda fuel, altitude: atmosphere.station_pressure(altitude)),
    ("dew_point", ("excess_air", "barometer"),
     "saturation temperature at the water vapor's share of the barometric pressure",
     lambda fuel, excess, barometer: combustion.dew_point(fuel, excess, barometer_in_hg=barometer)),
    *((f"{name}_change", (name, f"last_{name}"), "now - as the last service left it",
       lambda fuel, now, last: now - last) for name in ("co2", "net_stack", "smoke", "draft_over_fire", "draft_drop")),
    ("dew_point", ("excess_air",), "saturation temperature at the water vapor's share of the flue gas",
     lambda fuel, excess: combustion.dew_point(fuel, excess)),
    ("pump_pressure_ratio", ("pump_pressure", "pump_pressure_required"), "measured pressure / required pressure",
     _ratio),
    ("oil_flow", ("nozzle_size", "pump_pressure"), "rated flow x sqrt(pressure / 100 psi)",
     lambda fuel, size, pressure: firing.nozzle_flow(size, pressure)),
    ("firing_input", ("oil_flow",), "oil flow x density x higher heating value",
     lambda fuel, flow: firing.input_btu_per_h(flow, fuel)),
    ("firing_ratio", ("oil_flow", "firing_rate_rated"), "oil flow / the plate's firing rate", _ratio),
    ("air_opening_ratio", ("air_opening", "firing_input"),
     "free opening / (1 sq in. per 1,000 Btu/h)", _air_opening_ratio),
    *((
        "draft_share", (measured, "chimney_height", "stack_temperature", "outdoor_temperature", *thin),
        f"suction at the {place} / theoretical draft of the chimney's height and temperatures"
        + (", at the barometric pressure of the place" if thin else ""), _draft_share,
    ) for measured, place in (("draft_chimney", "chimney"), ("draft_breech", "breech"))
      for thin in (("barometer",), ())),
)
