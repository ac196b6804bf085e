"""From the pictures of the faults to the shares in knowledge/signatures.yaml:

    python -m advisor.making.shares

Every picture is painted on sound units of each kind, read with instruments' errors and sorted into levels. A share is
the mean over the members of the ensemble, so that it is as sharp as they agree, and is flattened toward what is met on
all calls by `UNSURE`: no member knows a burner that nobody has seen.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt
import yaml

from advisor.library.base import Base, load
from advisor.library.items import IN_ORDER, fits
from advisor.making.units import KINDS, MISREAD, SOUND_LOOKS, USUAL_LOOK, Kind, moved, read, sound, with_changes
from advisor.reasoning.derive import limit_value

UNITS: Final = 4000
"""Units of each kind that one picture is painted on."""
UNSURE: Final = 0.12
"""Share of every signature that is what is met on sound and faulty units alike."""
SHOWS: Final = 0.05
"""What a cause shows on a panel is stated where it is so far (in total variation) from what a sound unit shows."""
ROW_SHOWS: Final = 0.03
"""The same of one row of a panel that is stated."""
DIFFERS: Final = 0.2
"""A kind of unit has shares of its own where they are so far (in total variation) from those of all kinds together."""
UNLIKE: Final = ({"burner_type": "old-style"}, {"draft_kind": "sealed"}, {"appliance": "water-heater"})
SPOT_SEEN: Final = 0.7
"""The smoke spot number from which on its look can be told."""
_HERE: Final = Path(__file__).parent
_WRITTEN: Final = Path("knowledge/signatures.yaml")
Levels = dict[str, npt.NDArray[np.int64]]
Cells = dict[tuple[str, str], npt.NDArray[np.float64]]
"""For each panel and level of the panel that it is given with: how often each of its own levels is met."""


def levels_of(base: Base, name: str, values: npt.NDArray[np.float64], kind: Kind) -> npt.NDArray[np.int64]:
    """The level of each value, by the limits of this kind of unit."""
    edges = [limit_value(limit, kind.answers, {})[0] for limit in base.limits_of[name]]
    return np.searchsorted(np.array(edges), values, side="left")


def looked_at(
    base: Base, name: str, picture: Mapping[str, Any], smoke: npt.NDArray[np.float64], rng: np.random.Generator
) -> npt.NDArray[np.int64]:
    """The answer of a look on each unit, misread by one person in fifty."""
    answers = list(base.observations[name].answers)
    told = {**picture.get(name, {})}
    shares = np.array([float(told.get(answer, 0.0)) for answer in answers])
    rest = max(0.0, 1.0 - shares.sum())
    sound_ones = np.array([SOUND_LOOKS[name].get(answer, 0.0) for answer in answers])
    shares += rest * sound_ones / sound_ones.sum()
    shares = (1.0 - MISREAD) * shares / shares.sum() + MISREAD / len(answers)
    out = rng.choice(len(answers), len(smoke), p=shares)
    if name == "spot_look":
        out = np.where(smoke < SPOT_SEEN, answers.index("clean"), out)
    if name == "flame_look":  # a fire that smokes much looks it, whatever is behind it; a clean one is never dark
        usual, dark = answers.index(USUAL_LOOK[name]), answers.index("dark-smoky")
        out = np.where((smoke >= 4.0) & (out == usual) & (rng.random(len(smoke)) < 0.6), dark, out)
        out = np.where((smoke < 1.0) & (out == dark), usual, out)
    return out


def painted(base: Base, picture: Mapping[str, Any], kind: Kind, rng: np.random.Generator) -> Levels:
    """The levels that each panel shows on so many units with the fault of a picture."""
    before = sound(kind, UNITS, rng)
    readings = moved(before, picture, rng)
    shown = with_changes(read(readings, rng), read(before, rng))
    out = {}
    for name in base.panels:
        if name in base.quantities:
            out[name] = levels_of(base, name, shown[name], kind)
        else:
            out[name] = looked_at(base, name, picture, readings["smoke"], rng)
    return out


def counted(base: Base, levels: Levels, weight: float, into: Cells) -> None:
    """Add what is met to the cells."""
    for panel in base.panels.values():
        space, own = base.named[panel.name].symbols, levels[panel.name]
        for at, there in enumerate(base.named[panel.given].symbols if panel.given else ("",)):
            chosen = own[levels[panel.given] == at] if panel.given else own
            cell = into.setdefault((panel.name, there), np.zeros(len(space)))
            cell += weight * np.bincount(chosen, minlength=len(space))


def picture_for(told: Mapping[str, Any], stage: str, kind: Kind) -> dict[str, Any]:
    """What a member tells of a fault at a stage, on this kind of unit."""
    out = dict(told.get(stage) or {})
    for unlike in told.get("unlike") or ():
        if all(kind.answers.get(name) == answer for name, answer in unlike["when"].items()):
            out.update(unlike.get(stage) or {})
    return out


def cells_of(base: Base, told: Iterable[Mapping[str, Any]], stage: str, kinds: Iterable[Kind], seed: int) -> Cells:
    """What all members together tell of a fault at a stage, over these kinds of units."""
    cells: Cells = {}
    for number, member in enumerate(told):
        for at, kind in enumerate(kinds):
            rng = np.random.default_rng((seed, number, at, stage == "begun"))
            counted(base, painted(base, picture_for(member, stage, kind), kind, rng), kind.share, cells)
    return cells


def shares_of(cells: Cells, usual: Cells) -> Cells:
    """The cells as shares: flattened toward the usual, the more so the fewer units have come there."""
    out = {}
    whole = {panel: sum(cell.sum() for (name, _), cell in cells.items() if name == panel) for panel, _ in cells}
    for key, cell in cells.items():
        base_rate = usual[key] / usual[key].sum() if usual[key].sum() else np.full(len(cell), 1 / len(cell))
        few = 0.01 * whole[key[0]]  # worth as much as one unit in a hundred
        mean = (cell + few * base_rate) / (cell.sum() + few)
        out[key] = (1.0 - UNSURE) * mean + UNSURE * base_rate
    return out


def members() -> list[dict[str, dict[str, Any]]]:
    """The pictures of each member of the ensemble, by cause; a member may have several files (pictures_first_steam)."""
    out: dict[str, dict[str, dict[str, Any]]] = {}
    for path in sorted(_HERE.glob("pictures_*.yaml")):
        pictures = {entry["cause"]: entry for entry in yaml.safe_load(path.read_text(encoding="utf-8"))}
        out.setdefault(path.stem.split("_")[1], {}).update(pictures)
    return list(out.values())


def distance(one: Cells, other: Cells, panel: str, weight: Cells) -> float:
    """How far the shares of a panel lie apart (total variation), over how often each of its rows is met."""
    rows = [key for key in one if key[0] == panel]
    whole = sum(weight[key].sum() for key in rows)
    return float(sum(weight[key].sum() / whole * 0.5 * np.abs(one[key] - other[key]).sum() for key in rows))


def rows_of(base: Base, panel: str, gone: Cells, begun: Cells, beside: Cells | None = None) -> list[str]:
    """The lines of one panel in a signature; rows as in `beside` are left out, since they hold without being stated."""
    space = base.named[panel].symbols

    def told(shares: npt.NDArray[np.float64]) -> str:
        rounded = np.maximum(np.round(shares, 3), 0.001)
        rounded[int(np.argmax(rounded))] += 1.0 - rounded.sum()
        return ", ".join(f"{level} {share:.3g}" for level, share in zip(space, rounded, strict=True))

    return [f"    {panel}{f' at {at}' if at else ''}: {told(gone[name, at])} | {told(begun[name, at])}"
            for name, at in gone if name == panel and (beside is None or max(
                0.5 * np.abs(stage[name, at] - beside[name, at]).sum() for stage in (gone, begun)) > ROW_SHOWS)]


def signature(base: Base, name: str, told: list[Mapping[str, Any]], usual: Cells, ordinary: Cells, seed: int) -> str:
    """The signature of one cause, as YAML."""
    only = base.causes[name].only if name in base.causes else {}
    kinds = [kind for kind in KINDS if fits(only, kind.answers)] or list(KINDS)
    met = cells_of(base, told, "far_gone", kinds, seed)
    gone, begun = shares_of(met, usual), shares_of(cells_of(base, told, "begun", kinds, seed), usual)
    lines = [f"- signature: {name}", "  source: common practice", "  shows: |"]
    for panel in base.panels:
        if name == IN_ORDER or max(distance(gone, ordinary, panel, met), distance(begun, ordinary, panel, met)) > SHOWS:
            lines += rows_of(base, panel, gone, begun, None if name == IN_ORDER else ordinary)
    if lines[-1] == "  shows: |":
        lines += rows_of(base, "start_behavior", gone, begun)
    unlike: list[str] = []
    for when in UNLIKE:
        some = [kind for kind in kinds if all(kind.answers.get(key) == answer for key, answer in when.items())]
        if not some or len(some) == len(kinds):
            continue
        there = cells_of(base, told, "far_gone", some, seed)
        gone_there = shares_of(there, usual)
        begun_there = shares_of(cells_of(base, told, "begun", some, seed), usual)
        rows = [line for panel in base.panels if distance(gone_there, gone, panel, there) > DIFFERS
                for line in rows_of(base, panel, gone_there, begun_there)]
        if rows:
            words = ", ".join(f"{key}: [{answer}]" for key, answer in when.items())
            unlike += [f"    - when: {{{words}}}", "      shows: |", *("    " + line for line in rows)]
    return "\n".join([*lines, *(["  unlike:", *unlike] if unlike else [])])


def main() -> None:
    """Write the signatures of all causes."""
    base = load()
    pictures = members()
    missing = [cause for cause in base.causes if not any(cause in one for one in pictures)]
    if missing:
        sys.exit(f"no picture of {', '.join(missing)}")
    usual: Cells = {}
    counted_of = {cause: [one[cause] for one in pictures if cause in one] for cause in base.causes}
    for seed, (cause, told) in enumerate(counted_of.items()):
        for key, cell in cells_of(base, told, "far_gone", KINDS[:1], seed).items():
            usual[key] = usual.get(key, 0.0) + base.common[cause] * cell
    healthy: list[Mapping[str, Any]] = [{}]
    for key, cell in cells_of(base, healthy, "far_gone", KINDS, 0).items():
        usual[key] = usual[key] + 0.3 * cell
    ordinary = shares_of(cells_of(base, healthy, "far_gone", KINDS, 0), usual)
    parts = [signature(base, IN_ORDER, healthy, usual, ordinary, 0)]
    parts += [signature(base, cause, list(told), usual, ordinary, seed) for seed, (cause, told) in
              enumerate(counted_of.items())]
    head = ("# What each cause shows on the panels (panels.yaml): the shares of the levels where it is far gone, and\n"
            "# where it has only begun. Made by `python -m advisor.making.shares` from the pictures there, which tell\n"
            "# the mechanism of each; our own estimates (common practice). A panel left out is as on a sound unit.\n")
    _WRITTEN.write_text(head + "\n".join(parts) + "\n", encoding="utf-8")
    print(f"{len(parts)} signatures from {len(pictures)} members in {_WRITTEN}")


if __name__ == "__main__":
    main()
