"""The steady state: oil, air, flame, heat and draft solved together as one network.

The unknown is the pressure over the fire. From it follow air, flame, gas flow, temperatures and, down the
passages, the pressure at the regulator; the flue sustains a pressure of its own there. The two must be equal.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from advisor.physics.combustion import lower_heating_value
from advisor.plant import air, exchanger, flame, gas, oil, venting
from advisor.plant.burner import Plant, PlantError

HOUSE_FAN_PRESSURE = 0.25
"""Pressure round a furnace's heat exchanger over the room, in. w.c., at full air flow (common practice)."""


@dataclass(frozen=True)
class State:
    """Everything at steady state. Pressures in in. w.c. against the room, suction negative; gas dry-basis."""

    burning: bool
    plant: Plant
    oil: oil.OilSupply
    flame: flame.Flame
    vent: venting.Vent
    exchange: exchanger.Exchange
    draft_over_fire: float
    draft_breech: float
    draft_chimney: float
    room_pressure: float  # against outdoors
    burner_air_lb_h: float
    chamber_leak_lb_h: float
    section_leak_lb_h: float
    collar_leak_lb_h: float
    crack_lb_h: float
    probe: gas.Stream  # lbmol/h at the breech
    stack_degf: float
    co2: float  # %
    o2: float  # %
    co_ppm: float
    smoke: float
    input_btu_h: float
    useful_btu_h: float
    stack_loss_btu_h: float  # sensible above the room and latent
    co_loss_btu_h: float
    unburned_btu_h: float
    burnt_lb_h: float  # oil turned to gas
    oil_water_lb_h: float
    escaped_btu_h: float  # with gas pressed out of the chamber, latent heat and CO counted
    efficiency: float  # % of the higher heating value to water or air, jacket not counted as loss
    dew_point_degf: float
    air_rise_degf: float
    spill_lb_h: float
    co_room_ppm: float
    chimney_condenses: bool


def _room(p: Plant, drawn_lb_h: float, opening_in2: float) -> float:
    """Pressure of the burner room against outdoors, in. w.c., when that much air leaves it."""
    if p.sealed or p.intake_degf is not None:
        return p.house_pressure
    flow = max(0.0, drawn_lb_h) / opening_in2
    unit = air.orifice(1.0, 1.0, p.room_degf)
    return p.house_pressure - (flow / unit) ** 2


def _trial(p: Plant, supply: oil.OilSupply, over_fire: float, useful: float, room: float,
           keep: bool) -> tuple[float, State | None]:
    """Pressure the gas leaves less the pressure the flue sustains, in. w.c.; the full state where asked for."""
    fuel = supply.fuel
    stoich = gas.stoichiometric_air(fuel)
    degf = air.intake_temperature(p)
    outdoors = p.sealed or p.intake_degf is not None
    burner_air = max(0.5, air.fan_air(p, over_fire, -room if outdoors else 0.0))
    leak = air.orifice(p.door_leak_in2, -over_fire, p.room_degf if over_fire < 0 else 900.0)
    crack = 0.0
    if p.crack_in2 > 0.0:
        crack = air.orifice(p.crack_in2, HOUSE_FAN_PRESSURE - over_fire, 130.0)
    drawn = max(0.0, leak) + max(0.0, crack)
    seal = air.orifice(p.seal_leak_in2, -over_fire, 400.0) if p.sealed else 0.0
    # Air drawn in beside the flame burns little of it: a tenth takes part (our estimate).
    taking_part = burner_air + 0.1 * drawn
    look = flame.flame(p, supply, taking_part, stoich * supply.lb_h, over_fire)
    burnt = gas.burnable(fuel, supply.lb_h * (1.0 - look.unburned), burner_air + drawn)
    products = gas.burn(fuel, burnt, burner_air + drawn, look.co_ppm * (burner_air / (burner_air + drawn)))
    lhv = lower_heating_value(fuel)
    brought = gas.heat(gas.polynomial(gas.air(burner_air)), degf)
    brought += gas.heat(gas.polynomial(gas.air(drawn)), p.room_degf)
    heat_in = burnt * lhv - products[4] * gas.CO_HEAT + brought
    # Water in the oil has to be evaporated and joins the gas.
    wet = supply.gph * p.water_in_oil * 8.34
    products = gas.mix(products, (0.0, wet / gas.MOLAR_MASS[1], 0.0, 0.0, 0.0))
    heat_in -= wet * gas.VAPOR_HEAT
    escaping = -min(0.0, leak) - min(0.0, seal)
    share = max(0.05, 1.0 - escaping / gas.mass(products))
    chemical = products[1] * gas.MOLAR_MASS[1] * gas.VAPOR_HEAT + products[4] * gas.CO_HEAT
    escaped = (1.0 - share) * (heat_in + chemical)
    products = tuple(n * share for n in products)  # type: ignore[assignment]
    heat_in *= share
    input_btu = supply.lb_h * fuel.hhv_btu_per_lb
    flow = gas.mass(products)
    # First pass of pressures with the last known temperatures places the leak between the sections.
    half_drop = 0.5 * venting.passage_drop(p, flow, 1300.0)
    middle_pressure = over_fire - half_drop
    section = max(0.0, air.orifice(p.section_leak_in2, -middle_pressure, p.room_degf))
    cooled = exchanger.exchange(p, products, heat_in, input_btu * share, look.luminosity, section, p.room_degf,
                                useful)
    breech = middle_pressure - 0.5 * venting.passage_drop(p, flow + section, 0.5 * (
        cooled.middle_degf + cooled.outlet_degf))
    collar = max(0.0, air.orifice(p.connector_leak_in2, -breech, p.room_degf))
    probe, stack = cooled.outlet, cooled.outlet_degf
    if collar > 0.0:
        extra = gas.air(collar)
        held = gas.heat(gas.polynomial(probe), stack) + gas.heat(gas.polynomial(extra), p.room_degf)
        probe = gas.mix(probe, extra)
        stack = gas.temperature(gas.polynomial(probe), held)
    arriving = gas.mass(probe)
    at_regulator = breech - venting.connector_drop(p, arriving, stack)
    vent = venting.chimney(p, arriving, stack - 12.0 - 60.0 * p.connector_long, at_regulator, room)
    residual = at_regulator - vent.draft
    if not keep:
        return residual, None
    poly = gas.polynomial(probe)
    latent = probe[1] * gas.MOLAR_MASS[1] * gas.VAPOR_HEAT
    co_loss = probe[4] * gas.CO_HEAT
    stack_loss = gas.heat(poly, stack) + latent
    spill = max(0.0, -vent.regulator_lb_h) + max(0.0, -vent.connector_leak_lb_h) + escaping
    co = 1e4 * gas.dry_percent(probe, "CO")
    # Room air changes carry the spilled gas away: about 900 lb/h in a cellar (our estimate).
    co_room = (co + 20.0) * spill / (spill + 900.0) + (0.02 * co if p.crack_in2 > 0.5 else 0.0)
    dew = gas.dew_point(probe)
    dilution = arriving / vent.total_lb_h
    wall = vent.top_degf - 0.35 * (vent.top_degf - p.outdoor_degf) * (p.chimney_place != "inside")
    return residual, State(
        True, p, supply, look, vent, cooled, draft_over_fire=over_fire, draft_breech=breech,
        draft_chimney=at_regulator, room_pressure=room, burner_air_lb_h=burner_air, chamber_leak_lb_h=leak,
        section_leak_lb_h=section, collar_leak_lb_h=collar, crack_lb_h=crack, probe=probe, stack_degf=stack,
        co2=gas.dry_percent(probe, "CO2"), o2=gas.dry_percent(probe, "O2"), co_ppm=co,
        smoke=look.smoke / (1.0 + 0.5 * (drawn + section + collar) / flow), input_btu_h=input_btu,
        useful_btu_h=cooled.useful_btu_h, stack_loss_btu_h=stack_loss, co_loss_btu_h=co_loss,
        unburned_btu_h=(supply.lb_h - burnt) * fuel.hhv_btu_per_lb, burnt_lb_h=burnt, oil_water_lb_h=wet,
        escaped_btu_h=escaped, efficiency=100.0 * (cooled.useful_btu_h + cooled.jacket_btu_h) / input_btu,
        dew_point_degf=dew, air_rise_degf=exchanger.air_rise(p, cooled.useful_btu_h), spill_lb_h=spill,
        co_room_ppm=co_room,
        chimney_condenses=wall < dew * dilution + 0.6 * p.outdoor_degf * (1.0 - dilution))


def solve(p: Plant) -> State:
    """Steady state of a plant.

    Parameters
    ----------
    p : Plant

    Returns
    -------
    State
        ``burning`` is False where oil, air or motor is missing; readings then are those of a cold unit.

    Raises
    ------
    PlantError
        No pressure over the fire between -2 and 4 in. w.c. balances air and flue.
    """
    return _solve(p)


@lru_cache(maxsize=512)
def _solve(p: Plant) -> State:
    supply = oil.supply(p)
    if supply.lb_h <= 0.0 or p.motor_runs < 0.5:
        return _cold(p, supply)
    room, useful = _room(p, 150.0, p.air_opening_in2), 90_000.0
    over_fire = -0.02
    for _ in range(6):  # heat to the furnace air and suction of the room follow within a few rounds
        over_fire = _balance(p, supply, over_fire, useful, room)
        kept = _trial(p, supply, over_fire, useful, room, True)[1]
        if kept is None:
            raise PlantError("no steady state was kept")
        drawn = kept.burner_air_lb_h + max(0.0, kept.chamber_leak_lb_h) + max(0.0, kept.vent.regulator_lb_h)
        again = _room(p, drawn, p.air_opening_in2)
        if abs(again - room) < 2e-5 and abs(useful - kept.useful_btu_h) < 30.0:
            break
        room, useful = again, kept.useful_btu_h
    return kept  # type: ignore[return-value]  # the loop ran


def _balance(p: Plant, supply: oil.OilSupply, start: float, useful: float, room: float) -> float:
    """Pressure over the fire, in. w.c., by bracketing and the Illinois form of regula falsi."""
    def off(x: float) -> float:
        return _trial(p, supply, x, useful, room, False)[0]

    low, high = start - 0.03, start + 0.03
    f_low, f_high = off(low), off(high)
    while f_low > 0.0 and low > -2.0:
        low, f_low, high, f_high = low * 2.0 - high - 0.01, off(low * 2.0 - high - 0.01), low, f_low
    while f_high < 0.0 and high < 4.0:
        low, f_low, high, f_high = high, f_high, high * 2.0 - low + 0.01, off(high * 2.0 - low + 0.01)
    if f_low > 0.0 or f_high < 0.0:
        raise PlantError(f"no draft balances burner and flue between {low:.2f} and {high:.2f} in. w.c.: wants a "
                         "smaller blockage or a fan that moves air")
    side = 0
    x = start
    for _ in range(60):
        x = (low * f_high - high * f_low) / (f_high - f_low)
        f = off(x)
        if abs(f) < 2e-6 or high - low < 1e-7:
            break
        if f > 0.0:
            high, f_high = x, f
            f_low = f_low * 0.5 if side == 1 else f_low
            side = 1
        else:
            low, f_low = x, f
            f_high = f_high * 0.5 if side == -1 else f_high
            side = -1
    return x


def _cold(p: Plant, supply: oil.OilSupply) -> State:
    """A unit that does not burn: a warm chimney's residual draft, air for flue gas."""
    purge = gas.air(max(5.0, p.gas_flow_ref * 0.3))
    flow = gas.mass(purge)
    room = _room(p, flow, p.air_opening_in2)
    vent = venting.chimney(p, flow, p.room_degf + 40.0, -0.02, room)
    at = min(0.0, vent.draft)
    dark = flame.Flame(1e6, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    still = exchanger.Exchange(p.room_degf, p.room_degf, p.room_degf, 0.0, 0.0, 0.0, purge)
    return State(
        False, p, supply, dark, vent, still, draft_over_fire=at, draft_breech=at, draft_chimney=at,
        room_pressure=room, burner_air_lb_h=flow, chamber_leak_lb_h=0.0, section_leak_lb_h=0.0, collar_leak_lb_h=0.0,
        crack_lb_h=0.0, probe=purge,
        stack_degf=p.room_degf + 20.0, co2=0.0, o2=20.9, co_ppm=0.0, smoke=0.0, input_btu_h=0.0,
        useful_btu_h=0.0, stack_loss_btu_h=0.0, co_loss_btu_h=0.0, unburned_btu_h=0.0, burnt_lb_h=0.0,
        oil_water_lb_h=0.0, escaped_btu_h=0.0, efficiency=0.0, dew_point_degf=0.0, air_rise_degf=0.0, spill_lb_h=0.0,
        co_room_ppm=0.0, chimney_condenses=False)
