"""A knob turned through its range on a model unit: every reading at every place, and the turns of the curves."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.bench.benchfiles import BenchError
from advisor.bench.knobs import Knob, Shown, Turn, readings
from advisor.library.base import Base
from advisor.library.items import fits
from advisor.plant import OBSERVED, Plant, PlantError, solve
from advisor.plant.ignition import cycle
from advisor.plant.instruments import SOUND, Scene
from advisor.plant.observe import true_answer
from advisor.reasoning.derive import band_of, limit_value

STEPS: Final = 61
MOST_STEPS: Final = 200
_FINE: Final = 24
"""Halvings by which a turn is found between two places."""


@dataclass(frozen=True, slots=True)
class Point:
    """What the unit shows with the knob at a value; `numbers` and `looks` by name. `runs`: the fire can be kept up."""

    value: float
    numbers: Mapping[str, float]
    looks: Mapping[str, str]
    runs: bool
    smoke_over_knee: float
    """Excess air less that at which smoke turns up, points."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A turn found on the curves, the value of the knob there and what is shown there."""

    turn: Turn
    value: float
    point: Point


@dataclass(frozen=True, slots=True)
class Sweep:
    """A knob turned on a unit; where no draft balances burner and flue there is no point."""

    knob: Knob
    plant: Plant
    title: str
    points: tuple[Point, ...]
    left: Point
    marks: tuple[Mark, ...]

    @property
    def equipment(self) -> Mapping[str, str]:
        """What is installed, in the words of the questions about it."""
        return equipment_of(self.plant)


@lru_cache(maxsize=256)
def equipment_of(plant: Plant) -> Mapping[str, str]:
    """What is installed on a plant, as answers by name."""
    from advisor.plant.looks import EQUIPMENT

    scene = _scene(plant)
    return {name: str(rule(scene)) for name, rule in EQUIPMENT.items() if rule(scene) is not None}


@lru_cache(maxsize=2048)
def _scene(plant: Plant) -> Scene:
    state = solve(plant)
    return Scene(plant, state, cycle(plant, state), SOUND)


def point_of(plant: Plant, value: float, shown: Mapping[str, Shown]) -> Point:
    """What a unit shows; errors: `PlantError` where no draft balances burner and flue."""
    scene = _scene(plant)
    looks = {name: true_answer(scene, name) or "no-fire" for name, one in shown.items()
             if not one.state and name in OBSERVED}
    numbers = {name: float(getattr(scene.state, one.state)) for name, one in shown.items() if one.state}
    return Point(value, numbers, looks, scene.runs, scene.state.flame.excess_air - scene.state.flame.knee)


def sweep(base: Base, knob: Knob, plant: Plant, title: str, steps: int = STEPS,
          ends: tuple[float | None, float | None] = (None, None)) -> Sweep:
    """Turn a knob through its range.

    Parameters
    ----------
    knob : Knob
    plant : Plant
        Sound and tuned, or with faults.
    title : str
        What the unit is called.
    steps : int
        Places, 3 to 200.
    ends : pair of float or None
        Lowest and highest value in the knob's own unit; None: those of the knob.

    Raises
    ------
    BenchError
        The unit has no such part, or the range is none.

    Examples
    --------
    >>> from advisor.bench.knobs import knob_called
    >>> from advisor.bench.units import unit_called
    >>> from advisor.library.base import load
    >>> turned = sweep(load(), knob_called("soot"), unit_called("boiler").plant(), "boiler", 5)
    >>> stacks = [round(one.numbers["stack_temperature"], -1) for one in turned.points]
    >>> stacks == sorted(stacks)
    True
    """
    if not knob.fits(plant):
        raise BenchError(f"{title} has nothing that {knob.title} could move")
    if not 3 <= steps <= MOST_STEPS:
        raise BenchError(f"{steps} places: wants 3 to {MOST_STEPS}")
    low, high = (usual if given is None else given for given, usual in zip(ends, knob.ends(plant), strict=True))
    lowest, highest = sorted(knob.ends(plant))
    if low == high or not all(lowest - 1e-9 <= one <= highest + 1e-9 for one in (low, high)):
        raise BenchError(f"{knob.title} from {low:g} to {high:g}: wants two values from {knob.text(lowest)} to "
                         f"{knob.text(highest)} on this unit")
    shown = readings(base)
    points = [one for step in range(steps)
              if (one := _tried(knob, plant, low + (high - low) * step / (steps - 1), shown))]
    if len(points) < 2:
        raise BenchError(f"{knob.title} from {low:g} to {high:g}: no fire that draft and fan could balance")
    left = point_of(plant, knob.left(plant), shown)
    made = Sweep(knob, plant, title, tuple(points), left, ())
    marks = sorted(_marks(base, made, shown), key=lambda mark: mark.value, reverse=low > high)
    return Sweep(knob, plant, title, tuple(points), left, tuple(marks))


def _tried(knob: Knob, plant: Plant, value: float, shown: Mapping[str, Shown]) -> Point | None:
    try:
        return point_of(knob.moved(plant, value), value, shown)
    except PlantError:
        return None


def _marks(base: Base, made: Sweep, shown: Mapping[str, Shown]) -> Iterator[Mark]:
    """Every turn for which there are words, where it is met."""
    for turn in made.knob.turns:
        if not fits(turn.where, made.equipment):
            continue
        if turn.at in ("most", "least"):
            place = _extreme(made, turn, shown[turn.of].moved_by)
        else:
            place = _crossing(base, made, turn, shown)
        if place is None or (turn.side and turn.side != _side(made, place.value)):
            continue
        yield Mark(turn, place.value, place)


def _side(made: Sweep, value: float) -> str:
    return "less" if value < made.left.value else "more"


def _extreme(made: Sweep, turn: Turn, least: float) -> Point | None:
    """The place where a reading is highest or lowest, where both ends of the range differ from it by what an instrument
    can tell.
    """
    best = (max if turn.at == "most" else min)(made.points, key=lambda one: one.numbers[turn.of])
    ends = (made.points[0].numbers[turn.of], made.points[-1].numbers[turn.of])
    return best if all(abs(best.numbers[turn.of] - end) > least for end in ends) else None


def _crossing(base: Base, made: Sweep, turn: Turn, shown: Mapping[str, Shown]) -> Point | None:
    """The place nearest to where the unit was left, on the turn's side, at which something changes its sign."""
    sign = _sign(base, made, turn)
    pairs = [(one, two) for one, two in zip(made.points, made.points[1:], strict=False) if sign(one) != sign(two)]
    pairs = [pair for pair in pairs if not turn.side or turn.side == _side(made, 0.5 * (pair[0].value + pair[1].value))]
    if not pairs:
        return None
    one, two = min(pairs, key=lambda pair: abs(pair[0].value + pair[1].value - 2 * made.left.value))
    for _ in range(_FINE):
        if abs(one.value - two.value) < 1e-3 * abs(made.points[0].value - made.points[-1].value):
            break
        middle = _tried(made.knob, made.plant, 0.5 * (one.value + two.value), shown)
        if middle is None:
            break
        one, two = (middle, two) if sign(middle) == sign(one) else (one, middle)
    return two


def _sign(base: Base, made: Sweep, turn: Turn) -> Callable[[Point], bool]:
    if turn.at == "knee":
        return lambda one: one.smoke_over_knee < 0.0
    if turn.at == "out":
        return lambda one: not one.runs
    limit = base.limits[turn.of]
    value, _ = limit_value(limit, made.equipment, {})
    return lambda one: one.numbers[limit.of] > value


def level(base: Base, made: Sweep, point: Point, name: str) -> str:
    """The band of a reading at a point, on this equipment; empty where it has none."""
    band = band_of(base, name, point.numbers[name], 0.0, made.equipment, {})
    return band.symbol if band else ""


def grid(base: Base, knobs: tuple[Knob, ...], plant: Plant, places: int) -> tuple[tuple[Point | None, ...],
                                                                             tuple[tuple[float, ...], ...]]:
    """Several knobs turned together: a point for every combination, the last knob running fastest, and the places.

    Parameters
    ----------
    places : int
        Places of each knob, from its lowest to its highest.
    """
    shown = readings(base)
    axes = tuple(tuple(_places(knob, plant, places)) for knob in knobs)
    out: list[Point | None] = []

    def turn(at: int, so_far: Plant) -> None:
        if at == len(knobs):
            try:
                out.append(point_of(so_far, 0.0, shown))
            except PlantError:
                out.append(None)
            return
        for value in axes[at]:
            turn(at + 1, knobs[at].moved(so_far, value))

    turn(0, plant)
    return tuple(out), axes


def _places(knob: Knob, plant: Plant, places: int) -> Iterator[float]:
    """Places with the one where the unit was left among them."""
    low, high = sorted(knob.ends(plant))
    even = [low + (high - low) * step / (places - 1) for step in range(places)]
    left = min(max(knob.left(plant), low), high)
    nearest = min(range(places), key=lambda at: abs(even[at] - left))
    even[nearest] = left
    yield from even
