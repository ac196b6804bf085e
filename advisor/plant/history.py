"""What weeks of running do: smoke soots passages, drip carbons head and nozzle, cold metal rusts.

Rates are our own estimates: a steady smoke 3 closes about a tenth of the passages in a heating season.
"""

from __future__ import annotations

from dataclasses import replace

from advisor.plant.burner import Plant, PlantError
from advisor.plant.ignition import cycle
from advisor.plant.steady import solve


def run_weeks(p: Plant, weeks: float, step: float = 4.0) -> Plant:
    """The plant after some weeks of heating with its faults left alone.

    Parameters
    ----------
    p : Plant
    weeks : float
        0 to 200.
    step : float, optional
        Weeks between two solutions, above 0.

    Returns
    -------
    Plant

    Raises
    ------
    PlantError
        Weeks or step outside the range.
    """
    if not 0.0 <= weeks <= 200.0 or not step > 0.0:
        raise PlantError(f"{weeks:g} weeks in steps of {step:g}: wants 0 to 200 weeks and a step above 0")
    left = weeks
    while left > 0.0:
        span = min(step, left)
        left -= span
        s = solve(p)
        c = cycle(p, s)
        soot = s.flame.smoke**1.3 * 0.0008 * (1.0 + 0.05 * max(0.0, c.starts_per_hour - 6.0))
        drip = max(0.0, c.afterdrip_ml - 0.3)
        wet = s.exchange.condensate_lb_h / max(0.1, s.probe[1] * 18.0)
        p = replace(
            p,
            soot_closing=min(0.6, p.soot_closing + soot * span),
            connector_sooted=min(0.8, p.connector_sooted + 0.4 * soot * span),
            scale_closing=min(0.5, p.scale_closing + 0.03 * wet * span),
            head_dirty=min(0.9, p.head_dirty + (0.004 * drip + 0.001 * s.flame.smoke) * span),
            nozzle_plugged=min(0.8, p.nozzle_plugged + 0.002 * drip * span),
            chimney_blocked=min(0.7, p.chimney_blocked + 0.15 * soot * span),
            sensor_dirty=min(0.95, p.sensor_dirty + 0.6 * soot * span * (s.draft_over_fire > 0.0 or soot > 0.004)),
        )
    return p
