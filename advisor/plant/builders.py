"""Healthy units of the kinds met in houses, set as a good technician would leave them.

Sizes are of common practice, from memory; no maker's figure is used.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import Any

from advisor.plant.burner import Plant, PlantError
from advisor.plant.steady import solve

_OLD: dict[str, Any] = {
    "burner_type": "old-style", "burner_fit": "conversion", "motor_rpm": 1725.0, "nozzle_gph": 1.1,
    "nozzle_gph_required": 1.1, "pump_psi": 100.0, "pump_psi_required": 100.0, "rate_gph_plate": 1.1,
    "fan_pressure": 0.75, "fan_fall": 5.0e-6, "shutter_k": 1.2e-6, "head_k": 3.5e-6, "gas_flow_ref": 200.0,
    "conv_ua": 86.0, "radiant_area_ft2": 5.2, "passage_drop": 0.022, "ignition_kind": "continuous",
    "flame_sensing": "stack-switch", "appliance_age": 34.0, "door_leak_in2": 0.5, "section_leak_in2": 0.3,
    "years_since_service": 1.0,
}
_KINDS: dict[str, dict[str, Any]] = {
    "boiler": {},
    "furnace": {"appliance": "furnace", "nozzle_gph": 0.65, "nozzle_gph_required": 0.65, "rate_gph_plate": 0.77,
                "gas_flow_ref": 106.0, "conv_ua": 46.0, "radiant_area_ft2": 4.0, "fan_pressure": 2.4,
                "chimney_height_ft": 24.0},
    "old-boiler": _OLD,
    "water-heater": {"appliance": "water-heater", "nozzle_gph": 0.5, "nozzle_gph_required": 0.5,
                     "rate_gph_plate": 0.59, "gas_flow_ref": 81.0, "conv_ua": 35.0, "radiant_area_ft2": 2.8,
                     "water_degf": 130.0, "return_degf": 115.0, "heat_load": 0.2, "shutter_k": 3.5e-5},
    "power-vented": {"draft_kind": "power-vented", "chimney_place": "sidewall", "chimney_lining": "metal-chimney",
                     "chimney_height_ft": 1.5, "chimney_area_in2": 28.0, "vent_fan": 0.12, "chimney_u": 0.8,
                     "has_purge": True, "has_oil_valve": True, "chimney_leak_in2": 0.1},
    "sealed": {"draft_kind": "sealed", "chimney_place": "sidewall", "chimney_lining": "metal-chimney",
               "sealed": True, "air_supply": "ducted-outdoor", "chimney_height_ft": 1.5,
               "chimney_area_in2": 20.0, "regulator_fitted": False, "regulator_set": 0.0, "passage_drop": 0.12,
               "fan_pressure": 3.2, "intake_k": 1.5e-5, "door_leak_in2": 0.0, "section_leak_in2": 0.0,
               "connector_leak_in2": 0.0, "chimney_leak_in2": 0.0, "has_purge": True, "has_oil_valve": True,
               "radiant_area_ft2": 4.6, "conv_ua": 58.0, "connector_k": 3.0},
}
KINDS = tuple(_KINDS)
"""Kinds of units that :func:`healthy` builds."""


def healthy(kind: str, **changes: Any) -> Plant:
    """A sound, tuned unit.

    Parameters
    ----------
    kind : str
        One of :data:`KINDS`.
    **changes
        Fields of :class:`Plant` that describe the unit, the house or the weather, set before it is tuned;
        ``chimney_place="outside"`` also chills the flue, ``air_supply="enclosed-room"`` gives the room two
        openings of the size of the trade, ``air_supply="ducted-outdoor"`` feeds the burner outdoor air.

    Returns
    -------
    Plant

    Raises
    ------
    PlantError
        Unknown kind or field.

    Examples
    --------
    >>> healthy("boiler").appliance
    'boiler'
    """
    if kind not in _KINDS:
        raise PlantError(f"kind {kind!r} is not known; use one of {', '.join(KINDS)}")
    unknown = set(changes) - set(Plant.__dataclass_fields__)
    if unknown:
        raise PlantError(f"a plant has no {', '.join(sorted(unknown))}; see the fields of Plant")
    fields = {**_KINDS[kind], **changes}
    place, feed = fields.get("chimney_place"), fields.get("air_supply")
    outdoor = fields.get("outdoor_degf", 35.0)
    implied: dict[str, Any] = {}
    if place == "outside":
        implied["chimney_u"] = 0.6
    if feed == "enclosed-room":
        implied["air_opening_in2"] = 140.0
    if feed == "ducted-outdoor":
        implied["intake_degf"] = 0.6 * outdoor + 0.4 * fields.get("room_degf", 68.0)
    if fields.get("tank_place", "indoor") == "outdoor":
        implied["oil_degf"] = max(38.0, outdoor)
    if fields.get("piping") == "two-pipe":
        implied["line_vacuum"] = 1.5
    if fields.get("tank_level") == "below":
        implied["lift_ft"] = 4.0
    return tuned(Plant(**{**implied, **fields}))


def _search(low: float, high: float, rises: Callable[[float], float], steps: int = 22) -> float:
    """Where a rising function crosses 0, by bisection; the nearer end where it does not."""
    for _ in range(steps):
        middle = 0.5 * (low + high)
        if rises(middle) > 0.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@lru_cache(maxsize=256)
def tuned(p: Plant) -> Plant:
    """Set air and draft of a sound unit by the usual method.

    Regulator for the draft over the fire, air down to smoke 1 (the knee), then up until CO2 stands 0.75 points
    lower, and once more around (EPA-600/2-75-069-a: 0.5 to 1 point, from memory). CO2 is kept at 12.5 % or less.

    Parameters
    ----------
    p : Plant

    Returns
    -------
    Plant
        The same unit with ``shutter``, its tag and ``regulator_set`` changed.
    """
    for _ in range(2):
        p = set_air(_set_draft(p))
    return p


def _set_draft(p: Plant, aim: float = -0.015) -> Plant:
    """Regulator for the draft over the fire, in. w.c."""
    if not p.regulator_fitted or p.regulator_missing:
        return p
    setting = _search(0.005, 0.3, lambda x: aim - solve(replace(p, regulator_set=x)).draft_over_fire, 14)
    return replace(p, regulator_set=setting)


def set_air(p: Plant) -> Plant:
    """Shutter below the knee of the smoke curve."""
    knee = _search(0.05, 1.0, lambda x: 1.0 - solve(replace(p, shutter=x)).smoke, 14)
    co2 = min(12.5, solve(replace(p, shutter=knee)).co2 - 0.75)
    opening = _search(knee, 1.0, lambda x: co2 - solve(replace(p, shutter=x)).co2, 16)
    return replace(p, shutter=opening, shutter_tag=opening, intake_tag_degf=p.intake_degf)
