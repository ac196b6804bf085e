"""Where a call stands, as a value: the turn, the question asked, and what a line changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from advisor.call.parts import Screen
from advisor.library.base import Base
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.gate import Gate
from advisor.understanding.understand import Asked
from advisor.visit.airsetting import Scale
from advisor.visit.procedure import Kit
from advisor.visit.remedy import NOTHING_DONE, Work, under_retest
from advisor.visit.trend import Moment


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: a name, the check that gives it (empty at intake), and whether a doubted reading is retaken.

    No name: there is nothing left to ask.
    """

    name: str = ""
    check: str = ""
    again: bool = False


@dataclass(frozen=True, slots=True)
class Guide:
    """The guided test, or the guided setting of the air, that is gone through.

    `passed` are steps of the test that were passed by or only read; `air` is the scale of the shutter while the air is
    set; `alone` where nothing but the air is set. `minute` is what the watch showed at the first stack temperature.
    """

    kit: Kit = "wet"
    passed: frozenset[str] = frozenset()
    air: Scale | None = None
    alone: bool = False
    minute: float | None = None


@dataclass(frozen=True, slots=True)
class Turn:
    """Where a call stands.

    `case` is the one at hand, with its assessment (None while it has no entry): as found, and once a remedy is done,
    as left. `found` and `arrival` are those as found, whichever is at hand. `past` holds what undo goes back to,
    `undone` what redo brings back. `earlier` are the moments of earlier visits to the unit; `guide` is the guided test
    that is under way; `choosing` are short questions back on what was typed last, the first of which is to be answered.
    `more` is what the last screen had no room for; `path` the file of the case; `copy` a further file to be written;
    `behind` counts the changes that are not on disk.
    """

    base: Base
    case: Case
    assessment: Assessment | None
    question: Question
    past: tuple[tuple[Case, Work], ...] = ()
    undone: tuple[tuple[Case, Work], ...] = ()
    over: bool = False
    found: Case = Case()  # noqa: RUF009  (a frozen value)
    arrival: Assessment | None = None
    work: Work = NOTHING_DONE
    earlier: tuple[Moment, ...] = ()
    guide: Guide | None = None
    choosing: tuple[Asked, ...] = ()
    more: tuple[str, ...] = ()
    path: Path = Path()
    copy: str = ""
    behind: int = 0

    @property
    def retesting(self) -> bool:
        """Whether the case at hand is the one as left."""
        return under_retest(self.base, self.work)

    @property
    def gate(self) -> Gate:
        """What may be done now; everything, while nothing is entered."""
        return self.assessment.gate if self.assessment else Gate(self.base)


@dataclass(frozen=True, slots=True)
class Change:
    """What a line changes: it is put on disk before anything is concluded from it.

    Parameters
    ----------
    turn : Turn
        The one before.
    found, work : Case, Work
        As they are from now on.
    entries : tuple of Entry
        The new ones, to be told.
    said : str
        What else is to be told of it.
    above : Screen
        What is shown first.
    below : callable, optional
        From the next turn, what is shown between what changed and the question.
    questions : tuple of Asked
        Short questions back, to be put.
    past, undone : optional
        What undo and redo go to from now on; by default the turn before, and nothing.
    """

    turn: Turn
    found: Case
    work: Work
    entries: tuple[Entry, ...] = ()
    said: str = ""
    above: Screen = ()
    below: Callable[[Turn], Screen] | None = None
    questions: tuple[Asked, ...] = ()
    past: tuple[tuple[Case, Work], ...] | None = None
    undone: tuple[tuple[Case, Work], ...] = field(default=())


Answer = tuple[Turn, Screen]
Heard = Change | Answer
