"""The guided test and the guided setting of the air within a consultation: its readings go into the same case."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime
from typing import Final

from advisor.call.disk import CaseFile
from advisor.call.follow import Turn
from advisor.call.turning import Answer, entered, put
from advisor.pages.wording import wrapped
from advisor.reasoning.casefile import mark_of
from advisor.reasoning.entries import EntryError, normal
from advisor.visit.airguide import Scale, guide
from advisor.visit.airsetting import Figures, SettingError
from advisor.visit.desk import Desk, Left
from advisor.visit.procedure import Kit, Progress
from advisor.visit.remedy import open_steps
from advisor.visit.testverb import lead

_KITS: Final[dict[str, Kit]] = {"wet": "wet", "wet kit": "wet", "manual": "wet", "analyzer": "analyzer",
                                "electronic": "analyzer"}


def test(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    """The turn that asks for the guided test; `run` goes through it."""
    said = normal(rest)
    if said and said not in _KITS:
        raise EntryError("test takes wet or analyzer after it, for the instruments that you use")
    have = turn.case.instruments
    analyzer = have is not None and "combustion-analyzer" in have and "wet-kit" not in have
    kit: Kit = _KITS[said] if said else "analyzer" if analyzer else "wet"
    _not_in_the_middle(turn)
    return replace(turn, guide=f"test {kit}"), []


def air(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    """The turn that asks for the guided setting of the air; `run` goes through it."""
    _scale(rest)
    _not_in_the_middle(turn)
    return replace(turn, guide=f"air {rest}"), []


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


def run(turn: Turn, file: CaseFile) -> Answer:
    """Go through the guide that the turn asks for, line by line, then come back to the consultation."""
    what, _, how = turn.guide.partition(" ")
    turn = replace(turn, guide="")
    known = {one.name for one in turn.assessment.hazards} if turn.assessment else set()
    known |= {one.firing.rule for one in turn.assessment.doubts} if turn.assessment else set()
    desk = Desk(turn.base, file.after if turn.retesting else file.path,
                Progress("analyzer" if how == "analyzer" else "wet", turn.case), known)
    if what == "air" and turn.case.instruments is not None and "wet-kit" not in turn.case.instruments:
        desk.progress = replace(desk.progress, kit="analyzer")
    said = "Back in the consultation."
    desk.say("quit leads back to the consultation; every line is kept.")
    try:
        if what == "air":
            guide(desk, _scale(how))
        else:
            lead(desk, Scale())
    except (Left, KeyboardInterrupt):
        said = f"Left the guided {'setting' if what == 'air' else 'test'}, back in the consultation; all is kept."
    except SettingError as error:  # settings read earlier lie off this scale
        said = f"{error}; give the scale of those readings, such as air 0 10"
    if desk.mark == mark_of(desk.path):
        file.seen()
    count = len(desk.case.entries) - len(turn.case.entries)
    if desk.case == turn.case:
        return turn, ["", *wrapped(said, 2, 4), *put(turn, None)]
    new, lines = entered(turn, desk.case, file, said=f"{said} {count} new entr{'y' if count == 1 else 'ies'}.")
    return new, ["", *lines]
