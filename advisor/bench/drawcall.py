"""A practice call drawn by seed: the same seed, level and subject give the same call, for a whole class to work on."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from advisor.bench.benchfiles import BenchError
from advisor.bench.callitems import LEVELS, Given, PracticeCall, practice_data
from advisor.bench.shownby import shown_by
from advisor.bench.sweep import equipment_of
from advisor.bench.units import units
from advisor.bench.world import World, all_looks, answer, truth
from advisor.library.base import Base
from advisor.library.items import Cause, fits
from advisor.plant import FAULTS, SEVERITY, SOUND, PlantError, faulty_kit
from advisor.reasoning.derive import derive

_TRIES: Final = 40
_OUTDOORS: Final = (-4.0, 8.0, 20.0, 33.0, 48.0, 62.0)
_SOUND: Final[Mapping[int, float]] = {2: 0.15, 4: 0.15}
"""By level the share of calls with nothing wrong."""
_SIZES: Final[Mapping[int, Sequence[str]]] = {1: ("gross",), 2: ("slight", "moderate"), 3: ("moderate", "gross"),
                                             4: ("moderate", "gross")}


def draw(base: Base, seed: int, level: int = 1, subject: str = "", cause: str = "") -> PracticeCall:
    """A practice call.

    Parameters
    ----------
    seed : int
    level : int
        1 to 4, see `LEVELS`.
    subject : str
        One of the subjects of data/practice.yaml; empty: any.
    cause : str
        The name of the cause to be found; empty: any.

    Raises
    ------
    BenchError
        No such level, subject or cause, or none that the units of the bench can show.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> draw(load(), 7, subject="oil") == draw(load(), 7, subject="oil")
    True
    """
    if level not in LEVELS:
        raise BenchError(f"level {level}: wants 1 to {max(LEVELS)}: "
                         + "; ".join(f"{number} {words}" for number, words in LEVELS.items()))
    subjects = practice_data(base).subjects
    if subject and subject not in subjects:
        raise BenchError(f"subject {subject!r}: wants one of {', '.join(subjects)}")
    if cause and cause not in base.causes:
        raise BenchError(f"no cause is called {cause!r}; `explain causes` lists them")
    rng = random.Random(f"call {seed} {level} {subject} {cause}")
    if not cause and (sound := _sound(base, seed, level, subject)):
        return sound
    known = [one for one in base.causes.values() if not subject or one.subject in subjects[subject].of]
    for number in range(_TRIES):
        first = base.causes[cause] if cause else rng.choices(known, [base.common[one.name] for one in known])[0]
        call = _about(base, rng, first, level, f"drawn-{seed}", seed * 1_000 + number)
        # A slight fault may leave no sign at all, which nobody could find; the last tries take what there is.
        if call is not None and (number > _TRIES - 8 or _shows(base, call)):
            return replace(call, subject=subject or _subject_of(base, first))
    raise BenchError(f"no unit of the bench can show {base.title(cause) if cause else f'a call about {subject}'} "
                     f"at level {level}; try another seed or level")


def _sound(base: Base, seed: int, level: int, subject: str) -> PracticeCall | None:
    """A call to a unit with nothing wrong, on some of the calls of a level: whoever looks for a fault finds one."""
    rng = random.Random(f"sound {seed} {level} {subject}")
    if rng.random() >= _SOUND.get(level, 0.0):
        return None
    data, outdoor = practice_data(base), rng.choice(_OUTDOORS)
    call = PracticeCall(
        f"drawn-{seed}", f"call {seed}, level {level}", level, subject, "", rng.choice(data.houses), weather(outdoor),
        rng.choice(data.histories), rng.choice(list(units())), (("outdoor_degf", outdoor),), (), (), (),
        kit=faulty_kit(rng) if level == 4 else SOUND, misread=level == 4, seed=seed * 1_000)
    really = truth(base, World(call))
    says = data.says.get(str(really.known.get("complaint")))
    if not says or really.hazards or any(one.confirmed for one in really.causes):
        return None
    return replace(call, says=rng.choice(says))


def _subject_of(base: Base, cause: Cause) -> str:
    return next((one.name for one in practice_data(base).subjects.values() if cause.subject in one.of), "")


def _about(base: Base, rng: random.Random, first: Cause, level: int, name: str, seed: int) -> PracticeCall | None:
    """A call about a cause; None where no unit has it."""
    outdoor = rng.choice(_OUTDOORS)
    order = rng.sample(list(units()), len(units()))
    data = practice_data(base)
    for unit in order:
        plant = units()[unit].plant(outdoor_degf=outdoor)
        equipment = {**equipment_of(plant), **dict(units()[unit].plates)}
        if not fits(first.only, equipment) or not _played(first.name, plant):
            continue
        hidden = [first.name]
        if level == 3:
            second = _second(base, rng, first, equipment, plant)
            if second is None:
                continue
            hidden.append(second)
        faults, gives = [], []
        for one in hidden:
            if one in FAULTS:
                faults.append((one, SEVERITY[rng.choice(_SIZES[level])]))
            else:
                gives += _plates(base, base.causes[one], equipment)
                gives += shown_by(base, base.causes[one], equipment, seed)
        call = PracticeCall(
            name, "", level, "", "", rng.choice(data.houses), weather(outdoor), rng.choice(data.histories), unit,
            (("outdoor_degf", outdoor),), tuple(hidden), tuple(faults), tuple(dict.fromkeys(gives)),
            kit=faulty_kit(rng) if level == 4 else SOUND, misread=level == 4, seed=seed)
        try:
            complaint = str(answer(base, World(call), "complaint", true=True).value)
        except PlantError:
            continue
        says = data.says.get(complaint)
        if not says:
            continue
        return replace(call, says=rng.choice(says), title=f"call {seed // 1_000}, level {level}")
    return None


def _played(cause: str, plant: object) -> bool:
    """Whether the model unit can have it; what the model does not play at all any unit can."""
    return cause not in FAULTS or FAULTS[cause].fits(plant)  # type: ignore[arg-type]


def _second(base: Base, rng: random.Random, first: Cause, equipment: Mapping[str, str], plant: object) -> str | None:
    """A second fault: one that lies behind the first where there is one, else any other."""
    behind = [one for one in first.behind if one in base.causes]
    others = [one for one in base.causes if one != first.name and one in FAULTS]
    for pool in ((behind, others) if rng.random() < 0.6 else (others,)):
        fit = [one for one in pool if fits(base.causes[one].only, equipment) and _played(one, plant)]
        if fit:
            return rng.choice(fit)
    return None


def _plates(base: Base, cause: Cause, equipment: Mapping[str, str]) -> list[Given]:
    """What a cause needs to be installed, where the model unit has no word of it."""
    return [Given(name, allowed[0]) for name, allowed in cause.only.items()
            if name in base.observations and name not in equipment]


def _shows(base: Base, call: PracticeCall) -> bool:
    """Whether a look at everything would find anything other than on the sound unit."""
    sound = replace(call, hidden=(), faults=(), gives=tuple(one for one in call.gives if not one.cause))
    mine, right = (derive(all_looks(base, World(one)), base).symbols for one in (call, sound))
    return {name: symbol for name, symbol in mine.items() if name != "complaint"} != {
        name: symbol for name, symbol in right.items() if name != "complaint"}


def weather(degf: float) -> str:
    """The day of a call, in words.

    >>> weather(8.0)
    '8 degF outdoors, bitter cold since days'
    """
    words = ((0.0, "a deep freeze"), (15.0, "bitter cold since days"), (28.0, "cold and clear"),
             (40.0, "a gray winter day"), (55.0, "mild, with wind"))
    return f"{degf:.0f} degF outdoors, {next((said for most, said in words if degf < most), 'a warm fall day')}"
