"""Calls that instructors write: YAML, read as strictly as rules, with everything wrong told as `file:line: what`."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

from advisor.bench.benchfiles import DATA, BenchError, items
from advisor.bench.callitems import ALWAYS, LEVELS, Given, GoesWrong, PracticeCall, practice_data
from advisor.bench.drawcall import weather
from advisor.bench.shownby import shown_by
from advisor.bench.sweep import equipment_of
from advisor.bench.units import plant_fields, units
from advisor.bench.world import COMPLAINT, World, answer
from advisor.library.base import Base
from advisor.library.items import fits
from advisor.library.yamlfiles import Fields, LibraryError, Node, Problem, as_number, near, shorten
from advisor.plant import FAULTS, SEVERITY, SOUND, Kit, PlantError
from advisor.reasoning.entries import EntryError, read_entry

AS_TOLD: Final = "as-told"
"""The size of a hidden cause whose signs are those that the call gives, and what its own knowledge says."""


def read_calls(base: Base, path: Path) -> dict[str, PracticeCall]:
    """The calls of a file, by name.

    Parameters
    ----------
    path : Path
        A YAML file with a list of items `- call: name`; data/calls.yaml says what may stand in one.

    Raises
    ------
    LibraryError
        All that is wrong in it.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> "cold-sunday" in read_calls(load(), DATA / "calls.yaml")
    True
    """
    problems: list[Problem] = []
    out = {name: _call(base, name, fields) for _, name, fields in items(path, ("call",), problems)}
    if problems:
        raise LibraryError(problems)
    for name, call in out.items():
        try:
            answer(base, World(call), COMPLAINT)  # the unit as it is found: burner and flue have to balance
        except PlantError as error:
            raise LibraryError([Problem(path.name, 1, f"call {name}: {error}")]) from error
    return out


@lru_cache(maxsize=4)
def our_calls(base: Base) -> dict[str, PracticeCall]:
    """The calls that come with the bench."""
    return read_calls(base, DATA / "calls.yaml")


def _call(base: Base, name: str, fields: Fields) -> PracticeCall:
    unit = fields.choice("unit", units())
    changes = plant_fields(fields, "with")
    level = int(fields.number("level", 1.0))
    if level not in LEVELS:
        fields.wrong(f"{fields.what}: `level` must be 1 to {max(LEVELS)}, not {level}")
        level = 1
    subject = fields.choice("subject", ("", *practice_data(base).subjects), "")
    try:
        plant = units()[unit].plant(**changes)
        equipment = {**equipment_of(plant), **dict(units()[unit].plates)}
    except PlantError as error:
        fields.wrong(f"{fields.what}: {error}")
        plant, equipment = units()[unit].plant(), {}
    seed = int(fields.number("seed", 1.0))
    hidden: list[str] = []
    faults: list[tuple[str, float]] = []
    gives: list[Given] = []
    for cause, node in fields.mapping("hidden").items():
        size = _size(base, fields, cause, node)
        if size is None:
            continue
        if not fits(base.causes[cause].only, equipment):
            fields.wrong(f"{fields.what}: hidden: {base.title(cause)} cannot be on this unit; see its `only`", node)
        hidden.append(cause)
        if size == AS_TOLD:
            gives += shown_by(base, base.causes[cause], equipment, seed)
        elif not FAULTS[cause].fits(plant):
            fields.wrong(f"{fields.what}: hidden: {unit} has no part for {cause}", node)
        else:
            faults.append((cause, float(size)))
    gives += _given(base, fields, hidden)
    outdoor = float(changes.get("outdoor_degf", plant.outdoor_degf))
    return PracticeCall(
        name, fields.text("title"), level, subject, fields.text("says"), fields.text("house"),
        fields.text("weather", weather(outdoor)), fields.text("history"), unit, tuple(changes.items()), tuple(hidden),
        tuple(faults), tuple(gives), _goes_wrong(base, fields), _kit(fields), fields.flag("misread"), seed)


def _size(base: Base, fields: Fields, cause: str, node: Node) -> float | str | None:
    """How far gone a hidden cause is; None where it is wrong."""
    if cause not in base.causes:
        meant = near(cause, base.causes)
        fields.wrong(f"{fields.what}: hidden: no cause is called {shorten(cause)!r}"
                     + (f"; did you mean {meant[0]}?" if meant else ""), node)
        return None
    if node.value == AS_TOLD:
        return AS_TOLD
    size = SEVERITY.get(str(node.value)) if isinstance(node.value, str) else None
    size = as_number(node) if size is None else size
    if cause not in FAULTS:
        fields.wrong(f"{fields.what}: hidden: the model unit cannot play {cause}; write `{cause}: {AS_TOLD}`, and "
                     "under `gives` what looks shall find beside what its knowledge says", node)
        return None
    if size is None or not 0.0 < size <= 1.0:
        fields.wrong(f"{fields.what}: hidden: {cause} must be {', '.join(SEVERITY)}, a number over 0 to 1, or "
                     f"{AS_TOLD}, not {node.kind}", node)
        return None
    return size


def _given(base: Base, fields: Fields, hidden: list[str]) -> list[Given]:
    """What looks give; a mapping with `until` says by which cause's remedy it goes away."""
    out = []
    for word, node in fields.mapping("gives").items():
        name = base.words.get(word.lower(), word)
        until, value = ALWAYS, node
        if isinstance(node.value, dict):
            inner = Fields(node, fields.problems, f"{fields.what}: gives: {word}")
            until = inner.text("until", "")
            value = Node(inner.text("is"), node.line, node.file)
            inner.done()
            if until and until not in hidden:
                fields.wrong(f"{fields.what}: gives: {word}: `until` names {until!r}, which is not hidden here", node)
        if name not in base.quantities and name not in base.observations:
            meant = near(word.lower(), base.words)
            fields.wrong(f"{fields.what}: gives: no reading or look is called {shorten(word)!r}"
                         + (f"; did you mean {meant[0]}?" if meant else ""), node)
            continue
        try:
            read_entry(base, name, str(value.value))
        except EntryError as error:
            fields.wrong(f"{fields.what}: gives: {error}", node)
            continue
        out.append(Given(name, str(value.value), until))
    return out


def _goes_wrong(base: Base, fields: Fields) -> tuple[GoesWrong, ...]:
    out = []
    for node in fields.list("goes-wrong"):
        inner = Fields(node, fields.problems, f"{fields.what}: goes-wrong")
        acts, before = inner.texts("acts", required=True), inner.texts("before")
        for act in acts:
            if act not in base.acts:
                inner.wrong(f"{inner.what}: no act is called {act!r}; they are {', '.join(base.acts)}")
        for name in before:
            if name not in base.named:
                inner.wrong(f"{inner.what}: before: no look is called {name!r}")
        out.append(GoesWrong(acts, before, inner.text("then")))
        inner.done()
    return tuple(out)


def _kit(fields: Fields) -> Kit:
    """What is wrong with the instruments."""
    changes: dict[str, object] = {}
    for name, node in fields.mapping("instruments").items():
        if name not in Kit.__dataclass_fields__:
            fields.wrong(f"{fields.what}: instruments: unknown {shorten(name)!r}; known are "
                         f"{', '.join(Kit.__dataclass_fields__)}", node)
            continue
        usual = getattr(SOUND, name)
        if isinstance(usual, bool):
            changes[name] = node.value == "yes"
        elif isinstance(usual, str):
            changes[name] = str(node.value)
        else:
            number = as_number(node)
            if number is None:
                fields.wrong(f"{fields.what}: instruments: {name} must be a number, not {node.kind}", node)
                continue
            changes[name] = type(usual)(number)
    return Kit(**changes)  # type: ignore[arg-type]


def call_named(base: Base, words: str) -> PracticeCall:
    """One of our own calls, by name; errors: BenchError, which names them."""
    found = our_calls(base).get(words)
    if found is None:
        meant = near(words, our_calls(base))
        raise BenchError(f"no call is called {shorten(words)!r}" + (f"; did you mean {meant[0]}?" if meant else "")
                         + f"; ours are {', '.join(our_calls(base))}; or name a file of your own")
    return found
