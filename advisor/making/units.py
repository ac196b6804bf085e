"""Sound units as they are met, and how a fault moves their readings: the ground on which each picture is painted.

Every figure here is our own estimate (common practice), argued beside it; none is fitted to any model of a burner.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

Draws = npt.NDArray[np.float64]
Readings = dict[str, Draws]


@dataclass(frozen=True)
class Kind:
    """A kind of unit: its share of units in service, the answers that tell it, and its readings when it is in order as
    (mean, standard deviation over units and days): excess air in %, smoke in spot numbers, net stack in degF, air-free
    CO in ppm, draft over the fire and draft drop in in. w.c.
    """

    share: float
    answers: Mapping[str, str]
    sound: Mapping[str, tuple[float, float]]


_WATER: Final = {"appliance": "boiler", "heat_medium": "water", "draft_kind": "natural"}
KINDS: Final = (
    # A retention head is left at CO2 11 to 13 %, so at 20 to 38 % of excess air, zero smoke to a trace, net 300 to 400.
    Kind(0.37, {**_WATER, "burner_type": "retention-head", "burner_fit": "matched"},
         {"excess_air": (30, 9), "smoke": (0.2, 0.4), "net_stack": (350, 40), "co_air_free": (25, 15),
          "draft_over_fire": (-0.018, 0.004), "draft_drop": (0.026, 0.009)}),
    Kind(0.28, {"appliance": "furnace", "draft_kind": "natural", "burner_type": "retention-head",
                "burner_fit": "matched"},
         {"excess_air": (32, 9), "smoke": (0.2, 0.4), "net_stack": (365, 40), "co_air_free": (25, 15),
          "draft_over_fire": (-0.018, 0.004), "draft_drop": (0.022, 0.009)}),
    Kind(0.10, {**_WATER, "burner_type": "retention-head", "burner_fit": "conversion"},
         {"excess_air": (38, 11), "smoke": (0.3, 0.5), "net_stack": (470, 60), "co_air_free": (25, 15),
          "draft_over_fire": (-0.018, 0.004), "draft_drop": (0.022, 0.009)}),
    # An open cone mixes worse: CO2 8 to 10.5 %, so 45 to 90 % of excess air, spot 1 to 2, net to 500.
    Kind(0.12, {**_WATER, "burner_type": "old-style", "burner_fit": "conversion"},
         {"excess_air": (65, 14), "smoke": (1.2, 0.6), "net_stack": (480, 55), "co_air_free": (30, 20),
          "draft_over_fire": (-0.020, 0.005), "draft_drop": (0.026, 0.009)}),
    # Where the burner blows the gas through, the pressures are the appliance's own and small.
    Kind(0.08, {"appliance": "boiler", "heat_medium": "water", "draft_kind": "sealed", "burner_type": "retention-head",
                "burner_fit": "matched"},
         {"excess_air": (28, 8), "smoke": (0.2, 0.3), "net_stack": (310, 35), "co_air_free": (22, 12),
          "draft_over_fire": (0.03, 0.02), "draft_drop": (0.03, 0.015)}),
    Kind(0.05, {"appliance": "water-heater", "draft_kind": "natural", "burner_type": "retention-head",
                "burner_fit": "matched"},
         {"excess_air": (32, 9), "smoke": (0.2, 0.4), "net_stack": (480, 45), "co_air_free": (25, 15),
          "draft_over_fire": (-0.018, 0.004), "draft_drop": (0.010, 0.006)}),
)

ERRORS: Final = {"smoke": 0.4, "net_stack": 12.0, "draft_over_fire": 0.003, "draft_drop": 0.004}
"""Standard errors of a careful reading, in the unit of each."""
CO2_ERROR: Final = 0.35
"""Of a CO2 reading, in points; it makes the error of the excess air."""
MISREAD: Final = 0.02
"""Share of looks that end in a wrong answer."""

SOUND_LOOKS: Final[Mapping[str, Mapping[str, float]]] = {
    "start_behavior": {"clean": 0.97, "delayed-puff": 0.02, "lights-then-trips": 0.005, "spray-no-flame": 0.003,
                       "nothing": 0.002},
    "spot_look": {"dry-gray": 0.93, "brown": 0.03, "oily-yellow": 0.04},
    "flame_look": {"steady-bright": 0.93, "dark-smoky": 0.02, "lopsided": 0.015, "white-short": 0.015,
                   "fluttering": 0.015, "sparkling": 0.005},
}
"""Of the spot: where there is smoke enough to see one."""
USUAL_LOOK: Final = {"start_behavior": "clean", "spot_look": "dry-gray", "flame_look": "steady-bright"}


def sound(kind: Kind, number: int, rng: np.random.Generator) -> Readings:
    """So many sound units of a kind. What burns with more air leaves a little hotter (some 1.2 degF for each per cent,
    since more gas has less time) and smokes a little less.
    """
    out = {name: rng.normal(mean, spread, number) for name, (mean, spread) in kind.sound.items()}
    beyond = out["excess_air"] - kind.sound["excess_air"][0]
    out["net_stack"] += 1.2 * beyond
    out["smoke"] = np.maximum(0.0, out["smoke"] - 0.02 * beyond)
    out["co_air_free"] = np.maximum(0.0, out["co_air_free"])
    return out


def moved(readings: Readings, picture: Mapping[str, Any], rng: np.random.Generator) -> Readings:
    """The readings of these units where a fault changes them by as much as a picture tells.

    One severity moves all readings of a unit; each has a part of its own too, since no two units take it alike. The two
    numbers of a change are its mild and its bad end, between which eight units of ten lie. A fault that goes either way
    (a nozzle too small or too large) stands at one end or the other, seldom in the middle. What only some units show,
    one unit shows of all readings.
    """
    number = len(readings["excess_air"])
    severity = rng.normal(0.5, 0.39, number)
    if any(_either_way(change) for change in picture.values()):
        side = np.where(rng.random(number) < 0.5, -0.5, 0.5)
        severity = 0.5 + side * np.clip(rng.normal(0.75, 0.35, number), 0.05, 1.6)
    shows = rng.random(number)
    out = dict(readings)
    for name, change in picture.items():
        target = "co_air_free" if name == "co" else name
        if target not in out:
            continue
        chance = 1.0
        if isinstance(change, Mapping):
            chance, change = float(change.get("chance", 1.0)), change["change"]
        mild, bad = (float(one) for one in change)
        own = 0.75 * severity + 0.25 * rng.normal(0.5, 0.39, number) + 0.35 * rng.normal(0.0, 0.39, number)
        there = shows < chance
        out[target] = out[target] + there * (mild + (bad - mild) * own)
    # No more oxygen can be used than there is, and no reading falls below nothing.
    out["excess_air"] = np.maximum(out["excess_air"], -3.0 + rng.random(number) * 6.0)
    out["smoke"] = np.clip(out["smoke"], 0.0, 9.0)
    out["co_air_free"] = np.maximum(out["co_air_free"], 0.0)
    out["net_stack"] = np.maximum(out["net_stack"], 60.0)
    return out


def _either_way(change: Any) -> bool:
    """Whether a change goes as far to one side as to the other, roughly."""
    if not isinstance(change, list):
        return False
    mild, bad = (float(one) for one in change)
    return mild * bad < 0 and min(abs(mild), abs(bad)) > 0.3 * max(abs(mild), abs(bad))


def with_changes(now: Readings, last: Readings) -> Readings:
    """What is read now, with what has changed since the unit was left in order."""
    both = [{**readings, "co2": _co2(readings["excess_air"])} for readings in (now, last)]
    return now | {f"{name}_change": both[0][name] - both[1][name]
                  for name in ("co2", "smoke", "net_stack", "draft_over_fire", "draft_drop")}


def _co2(excess_air: Draws) -> Draws:
    """Per cent of CO2 in the dry gas of No. 2 oil, near enough: 15.4 / (1 + 1.06 x excess air)."""
    return 15.4 / (1.0 + 1.06 * np.maximum(excess_air, -5.0) / 100.0)


def read(readings: Readings, rng: np.random.Generator) -> Readings:
    """What instruments make of it."""
    number = len(readings["excess_air"])
    out = {name: values + rng.normal(0.0, ERRORS.get(name, 0.0), number) for name, values in readings.items()}
    # The air is read by the CO2, so its error grows with the air that the CO2 stands for.
    co2 = _co2(readings["excess_air"]) + rng.normal(0.0, CO2_ERROR, number)
    out["excess_air"] = (15.4 / np.clip(co2, 1.0, 15.7) - 1.0) / 1.06 * 100.0
    out["co_air_free"] = np.maximum(0.0, out["co_air_free"] * rng.normal(1.0, 0.08, number))
    # A spot is read in whole and half numbers, the lowest as a trace.
    out["smoke"] = np.round(np.clip(out["smoke"], 0.0, 9.0) * 2.0) / 2.0
    return out
