"""The commands of the guided test and of the setting of the air, and what an entry means while one is under way."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime
from typing import Final

from advisor.call import guiding
from advisor.call.conclude import changed
from advisor.call.guiding import MARK
from advisor.call.parts import Screen, part
from advisor.call.phrases import Phrase, read_phrase
from advisor.call.turn import Change, Guide, Heard, Turn
from advisor.pages.wording import wrapped
from advisor.physics import combustion
from advisor.physics.units import PhysicsError
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.derive import derive
from advisor.reasoning.entries import EntryError, normal
from advisor.visit.airfigures import Figures
from advisor.visit.airsetting import Scale, SettingError, advise, settings_of
from advisor.visit.procedure import Kit, Progress, air_moved, regulator_moved
from advisor.visit.remedy import open_steps

_KITS: Final[dict[str, Kit]] = {"wet": "wet", "wet kit": "wet", "manual": "wet", "analyzer": "analyzer",
                                "electronic": "analyzer"}


def test(turn: Turn, rest: str, now: datetime) -> Heard:
    """`test`, `test wet`, `test analyzer`: the guided test begins; `test off` leaves it, all is kept."""
    said = normal(rest)
    if said in ("off", "end", "stop", "leave"):
        return _left(turn)
    if said and said not in _KITS:
        raise EntryError("test takes wet or analyzer after it, for the instruments that you use; test off leaves it")
    _not_in_the_middle(turn)
    return _begun(turn, Guide(_KITS[said] if said else _kit(turn)))


def air(turn: Turn, rest: str, now: datetime) -> Heard:
    """`air`, `air 1 8`: the guided setting of the air begins; `air off` leaves it."""
    if normal(rest) in ("off", "end", "stop", "leave"):
        return _left(turn)
    scale = _scale(rest)
    _not_in_the_middle(turn)
    guide = turn.guide or Guide(_kit(turn), alone=True)
    try:
        for one in settings_of(turn.case, turn.base):
            Figures(shut=scale.shut, wide=scale.wide).place(one.shutter)
    except SettingError as error:  # settings read earlier lie off this scale
        raise EntryError(f"{error}; give the scale of those readings, such as air 0 10") from None
    return _begun(turn, replace(guide, air=scale))


def regulator(turn: Turn, rest: str, now: datetime) -> Heard:
    """The draft regulator was moved: drafts, smoke and what follows have to be read again."""
    moved = regulator_moved(guiding.progress_of(turn))
    turn = turn if turn.guide is None else replace(turn, guide=replace(turn.guide, passed=moved.passed))
    return replace(changed(turn, moved.case), said="The regulator moves the draft, and draft moves the air of the "
                   "flame: read drafts and smoke again, and all that follows.")


def skip(turn: Turn) -> Heard:
    """The step of the test that is due is passed by."""
    guide, said = guiding.skipped(turn)
    return _ends(replace(changed(replace(turn, guide=guide), turn.case), said=said))


def steady_or(turn: Turn, line: str, now: datetime) -> Change | Phrase:
    """A temperature of the warm-up, or whatever else a line means."""
    try:
        guide, entries, why = guiding.steady_entries(turn, line, now)
    except EntryError as error:
        try:
            phrase = read_phrase(turn.base, line, known=turn.case.values)
        except EntryError:
            raise error from None
        if not (phrase.entries or phrase.command or phrase.ask):
            raise
        return phrase
    return _ends(changed(replace(turn, guide=guide), turn.case.having(*entries), entries, why))


def advised(turn: Turn, now: datetime) -> Heard:
    """An empty line where a mark is asked: the shutter stands where it was advised."""
    advice = advise(settings_of(turn.case, turn.base), guiding.figures(turn))
    if advice.shutter is None:
        raise EntryError("write the mark at which the shutter stands")
    entry = Entry(MARK, f"{advice.shutter:g}", advice.shutter, at=now)
    return in_the_guide(changed(turn, turn.case.having(entry), (entry,)), now)


def in_the_guide(change: Change, now: datetime) -> Change:
    """What a change means while the guide is under way: a moved shutter makes the readings before it old; where the
    setting of the air has come to its end, that goes into the case.

    Errors: `EntryError` for a mark off the scale, or an O2 that no CO2 follows from.
    """
    turn = change.turn
    if turn.guide is None:
        return change
    if turn.guide.air is None:
        if guiding.out_of_order(replace(turn, case=_case(change)), change.entries):
            change = replace(change, above=(*change.above, *part("noted", wrapped(
                "Where the regulator is set for this now, type regulator, so that draft and smoke are read again.",
                2))))
        return _ends(change)
    try:
        for entry in change.entries:
            if entry.name == MARK and isinstance(entry.value, float):
                guiding.figures(turn).place(entry.value)
            if entry.name == "o2" and isinstance(entry.value, float):
                combustion.co2_from_o2(derive(turn.case, turn.base).fuel, entry.value)
    except (SettingError, PhysicsError) as error:
        raise EntryError(str(error)) from None
    if any(one.name == MARK for one in change.entries):
        moved = air_moved(Progress(turn.guide.kit, turn.case, turn.guide.passed))
        change = _with_case(change, moved.case.having(*change.entries))
        turn = replace(turn, guide=replace(turn.guide, passed=moved.passed))
        change = replace(change, turn=turn)
    found, lines = guiding.air_ends(replace(turn, case=_case(change)), now)
    if not lines:
        return change
    change = _with_case(change, _case(change).having(*found))
    assert turn.guide is not None
    guide = None if turn.guide.alone else replace(turn.guide, air=None)
    return replace(change, turn=replace(turn, guide=guide), entries=(*change.entries, *found),
                   above=(*change.above, *part("follows", lines, lines[-3:])))


def _ends(change: Change) -> Change:
    """A change whose screen tells that the test is complete, or what stops it, where that is so."""
    guide = change.turn.guide

    def below(new: Turn) -> Screen:
        if new.guide is not None or guide is None:
            return ()
        why = guiding.stopped(replace(new, guide=guide))
        return part("question", wrapped(why, 0, 2)) if why else guiding.finished(new)

    return replace(change, below=below)


def _case(change: Change) -> Case:
    return change.work.after if change.turn.retesting else change.found


def _with_case(change: Change, case: Case) -> Change:
    if change.turn.retesting:
        return replace(change, work=replace(change.work, after=case))
    return replace(change, found=case)


def _begun(turn: Turn, guide: Guide) -> Heard:
    turn = replace(turn, guide=guide)
    why = guiding.stopped(turn)
    if why:
        raise EntryError(why)
    lead = f"Step by step; `{'air' if guide.air else 'test'} off` leaves it, all is kept."
    return replace(changed(turn, turn.case), above=part("noted", wrapped(lead, 2), []))


def _left(turn: Turn) -> Heard:
    if turn.guide is None:
        raise EntryError("no guided test is under way")
    guide = None if turn.guide.air is None or turn.guide.alone else replace(turn.guide, air=None)
    return replace(changed(replace(turn, guide=guide), turn.case), said="Left; all is kept.")


def _kit(turn: Turn) -> Kit:
    have = turn.case.instruments
    return "analyzer" if have is not None and "combustion-analyzer" in have and "wet-kit" not in have else "wet"


def _not_in_the_middle(turn: Turn) -> None:
    job = turn.work.job
    if job is not None and job.done and open_steps(turn.base, job):
        raise EntryError("the work is under way: finish its steps first (done 3, or done all), so that the readings "
                         "are of the unit as it is left")


def _scale(text: str) -> Scale:
    words = text.replace(",", " ").replace(" to ", " ").split()
    if not words:
        return Scale()
    try:
        shut, wide = (float(word) for word in words)
        if not (math.isfinite(shut) and math.isfinite(wide)):
            raise ValueError
        Figures(shut=shut, wide=wide)
    except SettingError as error:
        raise EntryError(str(error)) from None
    except ValueError:
        raise EntryError("air takes the marks of the shutter shut and wide open after it, such as air 0 10") from None
    return Scale(shut, wide)

