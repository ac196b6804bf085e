"""Heat exchange between flame and water or air: a stirred radiant chamber, then convection by NTU.

References
----------
.. [1] Well-stirred radiant furnace: heat balance of gas against radiation to a cold wall (Hottel and Sarofim,
   Radiative Transfer; form from memory).
.. [2] Effectiveness-NTU with a sink of even temperature: 1 - exp(-NTU) (any heat-transfer text). Conductance
   goes with gas flow to the power 0.7, that of turbulent ducts lowered for the radiant part.
.. [3] Conductance of soot about 0.07 to 0.1 Btu/(h ft degF): of the order of still gas (value from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.plant import gas
from advisor.plant.burner import Plant

_SIGMA = 1.7136e-9  # Btu/(h ft2 degR4)


@dataclass(frozen=True)
class Exchange:
    """Temperatures, degF, and heat flows, Btu/h, on the way from flame to breech."""

    chamber_degf: float
    middle_degf: float
    outlet_degf: float
    useful_btu_h: float
    jacket_btu_h: float
    condensate_lb_h: float
    outlet: gas.Stream


def closing(p: Plant) -> float:
    """Share of the gap of the passages that soot and scale close together, at most 0.9."""
    return min(0.9, 1.0 - (1.0 - p.soot_closing) * (1.0 - p.scale_closing))


def sink_temperature(p: Plant, useful_btu_h: float) -> float:
    """Mean temperature of the metal's cold side, degF, at a heat flow."""
    if p.furnace:
        return p.air_return_degf + 0.6 * air_rise(p, useful_btu_h) + 25.0
    return 0.5 * (p.return_degf + 20.0) + 0.5 * p.water_degf + 60.0 * p.water_side_defect


def air_rise(p: Plant, useful_btu_h: float) -> float:
    """Rise of the furnace air, degF: heat over 1.08 Btu min/(h ft3 degF) times the air flow."""
    return useful_btu_h / (1.08 * p.air_cfm)


def conductance(p: Plant, gas_lb_h: float) -> float:
    """Conductance of the convective passages, Btu/(h degF), fouled and in series with the far side."""
    clean = p.conv_ua * math.pow(max(gas_lb_h, 1.0) / p.gas_flow_ref, 0.7)
    resistance = 1.0 / clean + (1.1 * p.soot_closing + 0.7 * p.scale_closing) / p.conv_ua
    slow = p.water_side_defect if not p.furnace else 0.5 * max(0.0, 1150.0 / p.air_cfm - 1.0)
    far = 0.35 / p.conv_ua * slow  # scale, or a thin stream of air
    return 1.0 / (resistance + far)


def exchange(p: Plant, products: gas.Stream, heat_in: float, input_btu_h: float, luminosity: float,
             leak_lb_h: float, leak_degf: float, useful_guess: float) -> Exchange:
    """Cool the products from flame to breech.

    Parameters
    ----------
    p : Plant
    products : Stream
        Gas in the chamber, leaks into the chamber included, lbmol/h.
    heat_in : float
        Heat released and brought in, Btu/h above 77 degF, water as vapor.
    input_btu_h : float
        Heat input on the higher heating value, Btu/h, for the jacket loss.
    luminosity : float
        Light of the flame over that of a good one.
    leak_lb_h, leak_degf : float
        Air drawn in half way along the passages.
    useful_guess : float
        Useful heat, Btu/h, to place the temperature of the furnace air.

    Returns
    -------
    Exchange
    """
    sink = sink_temperature(p, useful_guess)
    jacket = p.jacket_loss * input_btu_h
    poly = gas.polynomial(products)
    shade = 1.0 / (1.0 + 0.8 * p.soot_closing + 0.5 * p.scale_closing + 0.15 * p.water_side_defect)
    emissivity = (0.22 + 0.13 * luminosity) * shade
    strength = _SIGMA * emissivity * p.radiant_area_ft2
    wall4 = (sink + 459.67) ** 4
    degf = 1900.0
    for _ in range(15):
        absolute = degf + 459.67
        wrong = heat_in - jacket - gas.heat(poly, degf) - strength * (absolute**4 - wall4)
        step = wrong / (gas.capacity(poly, degf) + 4 * strength * absolute**3)
        degf = max(sink, degf + step)
        if abs(step) < 1e-3:
            break
    chamber = degf
    half = 0.5 * conductance(p, gas.mass(products))
    middle = sink + (chamber - sink) * math.exp(-half / gas.capacity(poly, 0.6 * chamber + 0.4 * sink))
    flow, flow_poly, first = products, poly, gas.heat(poly, middle)
    useful = heat_in - jacket - first
    if leak_lb_h > 0.0:
        drawn = gas.air(leak_lb_h)
        flow = gas.mix(products, drawn)
        flow_poly = gas.polynomial(flow)
        middle = gas.temperature(flow_poly, first + gas.heat(gas.polynomial(drawn), leak_degf))
    outlet = sink + (middle - sink) * math.exp(-half / gas.capacity(flow_poly, 0.6 * middle + 0.4 * sink))
    useful += gas.heat(flow_poly, middle) - gas.heat(flow_poly, outlet)
    # Metal colder than the dew point takes water out of the gas; its heat goes to the sink.
    cold = (p.air_return_degf + 60.0) if p.furnace else p.return_degf
    share = min(0.3, max(0.0, gas.dew_point(flow) - cold) / 150.0)
    water = share * flow[1]
    if water > 0.0:
        before = gas.heat(flow_poly, outlet)
        flow = (flow[0], flow[1] - water, flow[2], flow[3], flow[4])
        useful += water * gas.MOLAR_MASS[1] * gas.VAPOR_HEAT + before - gas.heat(gas.polynomial(flow), outlet)
    return Exchange(chamber, middle, outlet, useful, jacket, water * gas.MOLAR_MASS[1], flow)
