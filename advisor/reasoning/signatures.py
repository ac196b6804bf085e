"""What the basic readings say of every cause: its signature, weighed against what all the others would show.

The panels (knowledge/panels.yaml) form a tree, so that what two readings have in common counts once. A reading speaks
for a cause as far as the cause shows it more often than the other causes do, each of those weighed by how likely it is:
what a likelier cause explains speaks for no other.

References: D. J. Spiegelhalter and others, Bayesian analysis in expert systems, Statistical Science 8, 1993
(conditional tables on a tree); I. J. Good, Probability and the Weighing of Evidence, 1950 (decibans).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from advisor.library.base import Base
from advisor.library.items import IN_ORDER, NONE_OF_THESE, Shown
from advisor.reasoning.stages import INCIPIENT_SHARE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Table = NDArray[np.float64]

Known = Mapping[str, str]
Stages = tuple[float, float]
"""The shares of a level where the fault is far gone, and where it has only begun."""
LEAST: Final = 1e-4
"""No level is impossible: instruments and people err, and nobody has seen every unit."""
UNKNOWN_MOVES: Final = 0.2
"""How often a fault that nobody here knows is taken to move a reading or a look, to anywhere (our own estimate)."""


@dataclass(frozen=True, eq=False)
class Chart:
    """The signatures of all causes, and of a sound unit, on one kind of unit.

    `rows` has for each panel, its level and the level of the panel that it is given with (empty where that is not
    known) the shares of every cause.
    """

    panels: tuple[str, ...]
    given: Mapping[str, str]
    levels: Mapping[str, tuple[str, ...]]
    rows: Mapping[tuple[str, str, str], Mapping[str, Stages]]
    _columns: dict[tuple[str, str], tuple[tuple[str, ...], Table]] = field(default_factory=dict, repr=False)

    def row(self, panel: str, level: str, known: Known) -> Mapping[str, Stages]:
        """For each cause how often it shows this level, with what is known of the panel that it is given with."""
        return self.rows[panel, level, known.get(self.given[panel], "")]

    def columns(self, panel: str, known: Known) -> tuple[tuple[str, ...], Table]:
        """All causes, and the shares of each level for them: first where they are far gone, then where only begun."""
        import numpy as np

        at = known.get(self.given[panel], "")
        found = self._columns.get((panel, at))
        if found is None:
            rows = [self.rows[panel, level, at] for level in self.levels[panel]]
            names = tuple(rows[0])
            found = self._columns[panel, at] = names, np.array(
                [[[row[name][stage] for name in names] for row in rows] for stage in (0, 1)])
        return found


@lru_cache(maxsize=8)
def telling_panel(base: Base) -> Mapping[str, str]:
    """For each reading whose news a panel carries, that panel.

    >>> from advisor.library.base import load
    >>> telling_panel(load())["co2"]
    'excess_air'
    """
    return {name: panel.name for panel in base.panels.values() for name in (panel.name, *panel.also)}


@lru_cache(maxsize=8)
def told_in_figures(base: Base) -> frozenset[str]:
    """The readings whose news the panels carry, with the conditions that rest on nothing else."""
    if not base.signatures:
        return frozenset()
    told = set(telling_panel(base))
    while True:
        more = {name for name, rules in base.rules_concluding.items() if name not in told and rules
                and all(tested in told or tested in base.equipment for rule in rules for tested in rule.when)}
        if not more:
            return frozenset(told)
        told |= more


def chart_of(base: Base, known: Known) -> Chart:
    """The signatures for this kind of unit, as far as it is known."""
    return _chart(base, tuple(sorted((name, known[name]) for name in _kinds_told(base) if name in known)))


@lru_cache(maxsize=8)
def _kinds_told(base: Base) -> frozenset[str]:
    """The equipment by which signatures differ."""
    return frozenset(name for one in base.signatures.values() for unlike in one.unlike for name in unlike.when)


@lru_cache(maxsize=64)
def _chart(base: Base, kind: tuple[tuple[str, str], ...]) -> Chart:
    known = dict(kind)
    panels = _parents_first(base)
    given = {name: base.panels[name].given for name in panels}
    levels = {name: base.named[name].symbols for name in panels}
    ordinary = _stated(base, IN_ORDER, known)
    rows: dict[tuple[str, str, str], dict[str, Stages]] = {}
    for cause in (IN_ORDER, *base.causes, NONE_OF_THESE):
        if cause == NONE_OF_THESE:
            stated = {key: _anywhere(shown, levels[key[0]]) for key, shown in ordinary.items()}
        else:
            stated = {**ordinary, **_own(base, cause, known)}
        own = {of for of, _ in (stated if cause in (IN_ORDER, NONE_OF_THESE) else _own(base, cause, known))}
        alone: dict[tuple[str, str], Stages] = {}
        moved: set[str] = set()
        for panel in panels:
            if given[panel] not in moved and panel not in own:
                for level in levels[panel]:  # as on a sound unit
                    alone[panel, level] = rows[panel, level, ""][IN_ORDER]
                    for at in ("", *(levels[given[panel]] if given[panel] else ())):
                        rows[panel, level, at][cause] = rows[panel, level, at][IN_ORDER]
                continue
            moved.add(panel)
            above = levels[given[panel]] if given[panel] else ("",)
            for level in levels[panel]:
                whole = [0.0, 0.0]
                for at in above:
                    shown = stated[panel, at]
                    shares = shown.far_gone.get(level, 0.0), shown.begun.get(level, 0.0)
                    rows.setdefault((panel, level, at), {})[cause] = max(shares[0], LEAST), max(shares[1], LEAST)
                    met = alone[given[panel], at] if given[panel] else (1.0, 1.0)
                    whole = [part + share * often for part, share, often in zip(whole, shares, met, strict=True)]
                alone[panel, level] = whole[0], whole[1]
                rows.setdefault((panel, level, ""), {})[cause] = max(whole[0], LEAST), max(whole[1], LEAST)
    return Chart(panels, given, levels, rows)


def _own(base: Base, cause: str, known: Known) -> dict[tuple[str, str], Shown]:
    """What a cause itself states; nothing where it has no signature."""
    return _stated(base, cause, known) if cause in base.signatures else {}


def _stated(base: Base, name: str, known: Known) -> dict[tuple[str, str], Shown]:
    """What a signature states for this kind of unit, by panel and level of the one that it is given with."""
    signature = base.signatures[name]
    out = {(shown.of, shown.at): shown for shown in signature.shows}
    for unlike in signature.unlike:
        if all(known.get(one) in any_of for one, any_of in unlike.when.items()):
            out.update({(shown.of, shown.at): shown for shown in unlike.shows})
    return out


def _anywhere(shown: Shown, levels: tuple[str, ...]) -> Shown:
    """What is shown with a fault that nobody here knows: as without it, but where it moves the reading."""
    shares = {level: (1.0 - UNKNOWN_MOVES) * shown.far_gone.get(level, 0.0) + UNKNOWN_MOVES / len(levels)
              for level in levels}
    return Shown(shown.of, shown.at, shares, shares)


def _parents_first(base: Base) -> tuple[str, ...]:
    out: list[str] = []

    def put(name: str) -> None:
        if name not in out:
            if base.panels[name].given:
                put(base.panels[name].given)
            out.append(name)

    for name in base.panels:
        put(name)
    return tuple(out)


def with_sound(beliefs: Mapping[str, float]) -> dict[str, float]:
    """How likely each cause is, and that the unit is sound: none of them is there, each by itself."""
    return {**beliefs, IN_ORDER: math.prod(1.0 - min(one, 0.999) for one in beliefs.values())}


@dataclass(frozen=True, slots=True)
class Read:
    """What one panel says of one cause against all others, in decibans: where it is far gone, and where it has only
    begun. `among` added, it is against all that can be there, this cause included.
    """

    panel: str
    gone: float
    begun: float
    among: float


def read(chart: Chart, known: Known, beliefs: Mapping[str, float], causes: Iterable[str]) -> dict[str, list[Read]]:
    """What the panels that are known say of each cause, one after the other.

    Parameters
    ----------
    chart : Chart
        The signatures for this kind of unit.
    known : mapping
        The level of each panel that was read.
    beliefs : mapping of float
        The probability of each cause by everything else than these readings, and that the unit is sound.
    causes : iterable of str
        The causes asked for.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> base = load()
    >>> known = {"excess_air": "low", "smoke": "heavy"}
    >>> found = read(chart_of(base, known), known, with_sound(base.common), ["air-shutter-too-closed"])
    >>> sum(one.gone for one in found["air-shutter-too-closed"]) > 5
    True
    """
    # how likely each is at either stage, and shows what has been read so far
    weights = {cause: ((1.0 - INCIPIENT_SHARE) * weight, INCIPIENT_SHARE * weight) for cause, weight in beliefs.items()}
    out: dict[str, list[Read]] = {cause: [] for cause in causes}
    for panel in chart.panels:
        if panel not in known:
            continue
        row = chart.row(panel, known[panel], known)
        of_all = sum(gone + begun for gone, begun in weights.values())
        shown = {cause: (gone * row[cause][0] / of_all, begun * row[cause][1] / of_all)
                 for cause, (gone, begun) in weights.items()}
        of_shown = sum(gone + begun for gone, begun in shown.values())
        for cause, found in out.items():
            others = 1.0 - sum(weights.get(cause, (0.0, 0.0))) / of_all
            without = max(of_shown - sum(shown.get(cause, (0.0, 0.0))), 1e-9) / max(others, 1e-9)
            gone, begun = row[cause]
            found.append(Read(panel, 10.0 * math.log10(gone / without), 10.0 * math.log10(begun / without),
                              10.0 * math.log10(without / of_shown)))
        weights = shown
    return out


def predicted(
    chart: Chart, panel: str, known: Known, beliefs: Mapping[str, float], gone: Mapping[str, float]
) -> tuple[tuple[str, ...], Table, Table]:
    """How often each level of an open panel is met without a cause, and with it: a row a level, a column a cause.

    Parameters
    ----------
    beliefs : mapping of float
        The probability of each cause by all that is known, and that the unit is sound.
    gone : mapping of float
        How likely each, if it is there, is far gone.

    Returns
    -------
    tuple
        The causes of the columns; the shares without each of them; the shares with it.
    """
    import numpy as np  # only here and in the look-ahead: most of a start needs no arrays

    names, rows = chart.columns(panel, known)
    weights = np.array([beliefs.get(name, 0.0) for name in names])
    far = np.array([gone.get(name, 1.0 - INCIPIENT_SHARE) for name in names])
    with_ = far * rows[0] + (1.0 - far) * rows[1]
    shown = with_ * weights
    without = (shown.sum(axis=1, keepdims=True) - shown) / np.maximum(weights.sum() - weights, 1e-12)
    return names, np.maximum(without, 0.0), with_
