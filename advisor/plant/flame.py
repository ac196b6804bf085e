"""Quality of the flame: smoke and CO against excess air, and what mixing and spray do to both.

Smoke is a curve with a knee: next to nothing above some excess air, steeply rising below it. Poor mixing and
coarse drops move the knee to more air; quenched or misdirected spray adds smoke that air does not take away.
CO rises at both ends: short of air below the knee, chilled far above it.

References
----------
.. [1] EPA-600/2-75-069-a, Guidelines for Residential Oil-Burner Adjustments, 1975: shape of smoke against CO2
   and the knee (shape and the sizes of the shifts from memory and common practice).
.. [2] Level of CO at both ends: common practice, values from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.plant.air import head_factor
from advisor.plant.burner import Plant
from advisor.plant.oil import OilSupply


@dataclass(frozen=True)
class Flame:
    """What burns and how well."""

    excess_air: float  # % at the flame, leaks beside the flame counted by a small share
    knee: float  # % excess air at which smoke turns up
    smoke: float  # spot number, 0 to 9
    co_ppm: float  # in the dry products at the flame
    unburned: float  # share of the oil that leaves as vapor or drops
    impingement: float  # 0 free, 1 bathing a wall
    asymmetry: float  # 0 even, 1 one-sided
    flutter: float  # swing of the fire over mean
    lift: float  # 0 on the head, 1 blown off
    luminosity: float  # light over that of a good flame


def _smooth_excess(x: float) -> float:
    """Softplus: 0 far below, x far above."""
    return x if x > 30 else math.log1p(math.exp(x))


def defects(p: Plant, oil: OilSupply, air_lb_h: float, excess_air: float) -> tuple[float, float, float, float]:
    """Loss of mixing, impingement, asymmetry and lift, each from 0."""
    need_gph = p.nozzle_gph_required * math.sqrt(p.pump_psi_required / 100.0)
    over = oil.gph / need_gph - 1.0
    # Air rushes through the head at a speed that goes with flow over area; a head made for less mixes worse.
    rush = air_lb_h / p.gas_flow_ref / head_factor(p)
    slack = max(0.0, 0.85 - rush)
    mixing = (0.9 * p.head_dirty + 1.0 * p.head_burnt + 0.7 * p.head_loose + 0.8 * p.nozzle_offset
              + 0.5 * p.spray_mismatch + 0.35 * p.tube_depth_error + 0.5 * p.chamber_damaged
              + 0.3 * p.chamber_small + 1.4 * slack + 0.4 * abs(p.head_rate_ratio - 1.0) + 0.3 * p.fuel_stale)
    impingement = (0.75 * p.spray_mismatch + 0.5 * p.nozzle_offset + 0.9 * p.chamber_small
                   + 0.45 * p.tube_depth_error + 1.3 * max(0.0, over - 0.1) + 0.3 * p.head_loose
                   + 0.3 * p.nozzle_plugged + 0.35 * p.chamber_carbon + 0.5 * max(0.0, oil.drop_size - 1.35))
    asymmetry = (0.8 * p.nozzle_offset + 0.9 * p.nozzle_plugged + 0.6 * p.nozzle_worn + 0.5 * p.head_loose
                 + 0.4 * p.head_burnt + 0.35 * p.head_dirty + 0.3 * p.spray_mismatch)
    lift = max(0.0, (excess_air - 110.0) / 80.0) + 0.5 * max(0.0, p.head_burnt - 0.4) + 0.5 * max(
        0.0, 0.75 - p.head_rate_ratio)
    return mixing, min(1.0, max(0.0, impingement - 0.1)), min(1.0, asymmetry), min(1.0, lift)


def flame(p: Plant, oil: OilSupply, air_lb_h: float, stoich_lb_h: float, chamber: float) -> Flame:
    """Smoke, CO and looks of the flame at an air flow.

    Parameters
    ----------
    p : Plant
    oil : OilSupply
    air_lb_h : float
        Air that takes part, lb/h.
    stoich_lb_h : float
        Air that the oil needs, lb/h.
    chamber : float
        Pressure over the fire against the room, in. w.c.

    Returns
    -------
    Flame
    """
    excess = 100.0 * (air_lb_h / stoich_lb_h - 1.0)
    mixing, touch, asymmetry, lift = defects(p, oil, air_lb_h, excess)
    base, width = (13.0, 5.0) if p.retention else (48.0, 8.0)
    flutter = min(1.0, oil.ripple + 0.6 * lift + 0.5 * min(1.0, 8.0 * max(0.0, chamber - 0.01) * (not p.sealed))
                  + 1.5 * p.water_in_oil + 4.0 * abs(p.wind_pressure))
    knee = (base + 55.0 * mixing + 60.0 * max(-0.2, oil.drop_size - 1.0) + 25.0 * flutter + 15.0 * touch
            + 40.0 * p.water_in_oil + 10.0 * p.fuel_stale)
    stays = 3.0 * touch + 1.2 * p.chamber_oil + 1.5 * max(0.0, oil.drop_size - 1.25) + 0.8 * asymmetry**2
    smoke = min(9.0, 1.5 * _smooth_excess((knee - excess) / width) + stays)
    lean = 95.0 if p.retention else 140.0
    # Poor mixing leaves CO with air to spare; at no excess air the oxygen itself is wanting.
    co = (5.0 + 60.0 * math.exp(min(3.8, (knee - 10.0 - excess) / 12.0)) + 2000.0 * math.exp(min(2.5, -excess / 3.0))
          + 4.0 * math.exp(min(7.0, max(0.0, excess - lean) / 22.0)) - 4.0
          + 260.0 * touch**1.3 + 150.0 * flutter**2 + 120.0 * lift)
    unburned = min(0.3, 0.012 * touch**2 + 0.02 * max(0.0, oil.drop_size - 1.3)
                   + 0.0003 * max(0.0, excess - lean) + 0.03 * p.water_in_oil + 0.01 * p.chamber_oil + 0.05 * lift**2
                   + 0.015 * (p.fuel_stale + p.nozzle_worn * 0.4) * (oil.drop_size > 1.1))
    light = math.exp(-max(0.0, excess - 40.0) / 200.0) * (1.0 - 0.6 * lift) * (1.0 - 0.03 * smoke)
    return Flame(excess, knee, max(0.0, smoke), min(co, 60_000.0), unburned, touch, asymmetry, flutter, lift,
                 max(0.02, light))
