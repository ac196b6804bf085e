"""The unit of a practice call as it stands now, and what it answers: the physical burner, with what the call says
beside it. What was put right is gone; what was done to it stays.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from advisor.bench.callitems import ALWAYS, PracticeCall
from advisor.bench.sweep import equipment_of
from advisor.library.base import Base
from advisor.library.items import NEEDED_IN, Observation, Quantity, fits
from advisor.physics.units import format_value
from advisor.plant import MEASURED, OBSERVED, Kit, Plant, PlantError, Visit, visit, with_faults
from advisor.plant.builders import set_air
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import UNCHECKED, Case, Entry
from advisor.reasoning.entries import EntryError, read_entry

CHAMBER: Final = "oil_in_chamber"
PRESSED: Final = "resets_pressed"
COMPLAINT: Final = "complaint"
_DRY, _PROBED, _WET = "none", "probed-dry", "pool"


@dataclass(frozen=True, slots=True)
class World:
    """A call's unit now.

    `gone` are the causes that were put right, `shutter` where the learner left it (share open), `air_set` whether the
    air was set by the method of the trade, `kit` the instruments as they are now. `sprayed` says that a trial without
    flame has left oil in the chamber, `dried` that it was taken out; `resets` are the learner's own.
    """

    call: PracticeCall
    gone: frozenset[str] = frozenset()
    shutter: float | None = None
    air_set: bool = False
    kit: Kit | None = None
    sprayed: bool = False
    dried: bool = False
    resets: int = 0

    @property
    def plant(self) -> Plant:
        """The model unit as it stands."""
        return _plant(self.call, self.gone, self.shutter, self.air_set)

    @property
    def instruments(self) -> Kit:
        """The kit as it is now."""
        return self.kit if self.kit is not None else self.call.kit

    def mended(self, causes: frozenset[str], air_set: bool = False) -> World:
        """With causes put right; setting the air takes the learner's own setting away."""
        shutter = None if air_set else self.shutter
        return replace(self, gone=self.gone | causes, air_set=self.air_set or air_set, shutter=shutter)


@lru_cache(maxsize=256)
def _plant(call: PracticeCall, gone: frozenset[str], shutter: float | None, air_set: bool) -> Plant:
    sick = with_faults(call.sound, {name: size for name, size in call.faults if name not in gone})
    if air_set:
        sick = set_air(sick)
    return sick if shutter is None else replace(sick, shutter=shutter)


@lru_cache(maxsize=256)
def _visit(world: World, nth: int) -> Visit:
    """The plant's own answers, with errors of instruments and people anew each time something is asked again."""
    return visit(world.plant, {}, world.call.seed + 1_000_000 * nth, world.instruments)


def answer(base: Base, world: World, name: str, nth: int = 0, true: bool = False) -> Entry:
    """What a look or reading gives now.

    Parameters
    ----------
    name : str
        A quantity or observation that is asked for.
    nth : int
        How often it was asked before; errors of instruments differ each time.
    true : bool
        Without the errors of people.

    Returns
    -------
    Entry
        With the status "could not check" where it cannot be had.
    """
    item = base.named[name]
    told = _told(base, world, name)
    if told is not None:
        return told
    if name in _without_fire(base, world):
        return _cannot(name)
    given = next((one for one in reversed(world.call.all_gives)
                  if one.name == name and (one.cause == ALWAYS or one.cause not in world.gone)), None)
    if given is not None:
        return read_entry(base, name, given.typed)
    try:
        if isinstance(item, Quantity) and item.last_of in MEASURED:  # the last service left the unit sound
            return typed(base, name, _visit(World(replace(world.call, faults=())), 0).ask(item.last_of))
        if name in MEASURED:
            return typed(base, name, _visit(world, nth).ask(name))
        if name in OBSERVED:
            asked = _visit(world, nth)
            found = asked.ask(name) if world.call.misread and not true else asked.truth(name)
            if name == CHAMBER and found == _DRY and asked.truth(PRESSED) != "none":
                found = _PROBED  # where the reset was pressed a pad is pressed too
            return typed(base, name, found)
    except PlantError:  # no draft balances burner and flue: nothing of it can be read
        return _cannot(name)
    if isinstance(item, Observation):
        usual = item.clear or item.sound or max(item.answers, key=lambda one: item.answers[one])
        return read_entry(base, name, usual)
    return _cannot(name)


def _told(base: Base, world: World, name: str) -> Entry | None:
    """What the learner's own doing has made of a thing."""
    if world == World(world.call) or name not in (PRESSED, CHAMBER, COMPLAINT):
        return None
    arrival = answer(base, World(world.call), name)  # mending takes away neither oil nor what was told
    if name == COMPLAINT:
        return arrival
    if name == PRESSED:
        times = (0 if arrival.value in ("none", None) else 1 if arrival.value == "once" else 2) + world.resets
        return read_entry(base, name, ("none", "once", "many")[min(times, 2)])
    if world.sprayed:
        return read_entry(base, name, _WET)
    return read_entry(base, name, _PROBED) if world.dried else arrival


def _cannot(name: str) -> Entry:
    return Entry(name, "cannot", None, UNCHECKED)


def typed(base: Base, name: str, value: str | float | None) -> Entry:
    """An answer of the burner as somebody would type it."""
    if value is None:
        return _cannot(name)
    if isinstance(value, str):
        return read_entry(base, name, value)
    item = base.quantities[name]
    text = format_value(float(value), item.kind)
    try:
        return read_entry(base, name, f"+{text}" if item.suction and value > 0 else text)
    except EntryError:
        return _cannot(name)


@lru_cache(maxsize=256)
def _without_fire(base: Base, world: World) -> frozenset[str]:
    """The names that cannot be had, since an answer of the call says that there is no fire, or no oil flowing."""
    missing: set[str] = set()
    for one in world.call.gives:
        if one.cause == ALWAYS or one.cause not in world.gone:
            item = base.named.get(one.name)
            if isinstance(item, Observation):
                missing |= set(item.without.get(one.typed, ()))
    if not missing:
        return frozenset()
    return frozenset(name for name, checks in base.checks_giving.items()
                     if all(missing & set(NEEDED_IN[check.state]) for check in checks)
                     and not any(one.name == name for one in world.call.gives))


@lru_cache(maxsize=64)
def equipment_entries(base: Base, call: PracticeCall) -> tuple[Entry, ...]:
    """What the plates and papers of the unit say, and what the call is about: known before anybody goes down."""
    world = World(call)
    names = [item.name for item in base.entered if item.part == "equipment"
             and not (isinstance(item, Quantity) and item.derived)]
    given = {one.name for one in call.all_gives}
    plates = {name for name in (*MEASURED, *OBSERVED) if name in names} | (given & set(names))
    entries = [answer(base, world, name, true=True) for name in names if name in plates]
    known = {entry.name: entry.value for entry in entries}
    entries = [entry for entry in entries if fits(getattr(base.named[entry.name], "only", {}), known)]
    entries.append(answer(base, world, "complaint", true=True))
    return tuple(entry for entry in entries if entry.value is not None)


def equipment(base: Base, call: PracticeCall) -> Mapping[str, str]:
    """What is installed, by name."""
    known = {entry.name: str(entry.value) for entry in equipment_entries(base, call)}
    return {**equipment_of(call.sound), **known}


def all_looks(base: Base, world: World) -> Case:
    """What is really there: every look made, and nobody misreading."""
    known = equipment(base, world.call)
    entries = []
    for item in base.entered:
        if (isinstance(item, Quantity) and item.derived) or not fits(item.only, known):
            continue
        entries.append(replace(answer(base, replace(world, kit=Kit()), item.name, true=True), how="rechecked"))
    return Case(tuple(entries))


@lru_cache(maxsize=128)
def truth(base: Base, world: World) -> Assessment:
    """The assessment of what is really there."""
    return assess(all_looks(base, world), base, look_ahead=False)
