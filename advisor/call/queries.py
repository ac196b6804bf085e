"""The commands that only ask: each gives lines to show, and changes nothing."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from advisor.call import changes, guiding, repairtext
from advisor.call.commands import COMMANDS, GROUPS
from advisor.call.naming import meant
from advisor.call.parts import entire
from advisor.call.phrases import INSTRUMENTS, name_at, read_entries
from advisor.call.put import introduced
from advisor.call.questions import meanings
from advisor.call.turn import Question, Turn
from advisor.library.base import Base
from advisor.library.yamlfiles import shorten
from advisor.pages import explain, screen, suppose
from advisor.pages.finding import UnknownNameError
from advisor.pages.handbook import page
from advisor.pages.wording import wrapped
from advisor.physics import units
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.entries import EntryError
from advisor.reasoning.gate import Gate
from advisor.visit.remedy import open_steps

_NOTHING: Final = "Nothing is entered yet."


def _gate(turn: Turn) -> Gate | None:
    """What a page goes by; without an entry it is the page as anybody reads it."""
    return turn.assessment.gate if turn.assessment else None


def _why(turn: Turn, rest: str) -> list[str]:
    if not rest or rest.lower() in ("this", "that", "this question"):
        if not turn.question.name:
            return ["Nothing is asked; `why CAUSE` shows the evidence on a cause."]
        if turn.question.name == INSTRUMENTS:
            return wrapped("instruments at hand: only checks that can be made with them are proposed.", 0, 2)
        step = guiding.step_of(turn)
        if step is not None:
            return wrapped(f"{step.title}: {step.reason} Passed by: {step.lost}", 0, 2)
        if turn.question.check:
            return suppose.why_check(turn.base, _of(turn), turn.question.check)
        return explain.why_asked(turn.base, turn.question.name)
    if rest.lower().startswith("not "):
        return _why_not(turn, rest[4:])
    now = _of(turn)
    kind, item = meant(turn.base, rest, ("cause", "check", "hazard", "condition", "rule", "quantity", "observation"))
    if kind == "cause":
        return explain.why_cause(turn.base, now, item.name)
    if kind == "check":
        return suppose.why_check(turn.base, now, item.name)
    if kind in ("hazard", "condition"):
        return explain.why_found(turn.base, now, item.name)
    if kind == "rule":
        return explain.why_rule(turn.base, now, item.name)
    if item.name in now.findings.numbers:
        return explain.how_number(turn.base, now, item.name)
    return explain.why_asked(turn.base, item.name)


def _why_not(turn: Turn, rest: str) -> list[str]:
    if not rest:
        raise EntryError("why not which cause? write its name after it; explain causes lists them all")
    return explain.why_not(turn.base, _of(turn), meant(turn.base, rest, ("cause",))[1].name)


def _figure(turn: Turn, rest: str) -> list[str]:
    if not rest:
        raise EntryError("which figure? write its name after it, such as figure excess air; numbers lists them all")
    name = entered_name(turn.base, rest, computed=True)
    if name not in turn.base.quantities:
        raise EntryError(f"{turn.base.title(name)} is no number; steps {rest} tells how it is found out")
    return explain.how_number(turn.base, _of(turn), name)


def _steps(turn: Turn, rest: str) -> list[str]:
    if not rest or rest.lower() in ("this", "that", "do this", "check"):
        return meanings(turn.base, turn.assessment, turn.question) or ["Nothing is asked; `steps NAME` for a check."]
    kind, item = meant(turn.base, rest, ("check", "quantity", "observation", "remedy", "cause", "instrument"))
    if kind == "check":
        return meanings(turn.base, turn.assessment, Question("", item.name))
    if kind in ("quantity", "observation"):
        checks = turn.base.checks_giving.get(item.name, ())
        return meanings(turn.base, turn.assessment, Question(item.name, checks[0].name if checks else ""))
    return page(turn.base, item.name, _gate(turn))


def _if(turn: Turn, rest: str) -> list[str]:
    rest = re.sub(r"\b(the|were|was|is|be)\s", "", f"{rest} ", flags=re.IGNORECASE).strip()
    if not rest:
        raise EntryError("if what? write a reading after it, such as if o2 were 6.5")
    return suppose.what_if(turn.base, turn.case, read_entries(turn.base, rest))


def _next(turn: Turn, rest: str) -> list[str]:
    job = turn.work.job
    if job is not None and open_steps(turn.base, job) and not turn.question.name:
        return repairtext.next_step_lines(turn.base, job, turn.assessment)
    shown = entire(guiding.begun(turn, None)) if turn.guide is not None else entire(introduced(turn))
    others = turn.assessment.checks.others[:3] if turn.assessment and turn.guide is None else ()
    after = ", ".join(turn.base.title(one.check) for one in others if one.check != turn.question.check)
    return [*shown, *(wrapped(f"after it: {after}", 0, 2) if after else [])] or ["Nothing more is asked."]


def _entries(turn: Turn, rest: str) -> list[str]:
    out = ["After the work (equipment, then what was read since):"] if turn.retesting else []
    for number, entry in enumerate(turn.case.entries, 1):
        counts = "" if turn.case.latest.get(entry.name, entry) is entry else " (replaced later)"
        how = f", {entry.how}" if entry.how else ""
        out += wrapped(f"{changes.entry_text(turn.base, entry, turn.assessment)}{how}{counts}", 1, 6, f"{number:>3}. ")
    for limit, value in turn.case.manufacturer.items():
        shown = units.format_value(value, turn.base.quantities[turn.base.limits[limit].of].kind)
        out += wrapped(f"manufacturer's {turn.base.limits[limit].title}: {shown}", 2, 4)
    if turn.case.instruments is not None:
        names = "all" if set(turn.case.instruments) == set(turn.base.instruments) else ", ".join(
            turn.base.title(one) for one in turn.case.instruments) or "none"
        out += wrapped(f"instruments at hand: {names}", 2, 4)
    return out or [_NOTHING]


def _numbers(turn: Turn, rest: str) -> list[str]:
    shown = screen.numbers(turn.base, turn.assessment) if turn.assessment else []
    return shown or ["No number is entered yet."]


def _causes(turn: Turn, rest: str) -> list[str]:
    return screen.causes(turn.base, turn.assessment) if turn.assessment else [_NOTHING]


def _all(turn: Turn, rest: str) -> list[str]:
    return screen.whole(turn.base, turn.assessment) if turn.assessment else [_NOTHING]


def _explain(turn: Turn, rest: str) -> list[str]:
    name = rest or turn.question.name or turn.question.check
    if not rest and (not name or name == INSTRUMENTS):
        name = "instruments"
    try:
        return page(turn.base, name, _gate(turn))
    except UnknownNameError as error:
        kinds = ("cause", "check", "quantity", "observation", "condition", "hazard", "rule", "limit", "remedy")
        try:
            return page(turn.base, meant(turn.base, name, kinds)[1].name, _gate(turn))
        except EntryError as other:
            raise EntryError(str(other) if "may be" in str(other) else str(error)) from None


def _help(turn: Turn, rest: str) -> list[str]:
    """What may be typed, on one screen; of one word, what it does."""
    word = rest.lower().strip("`'\" ")
    if word:
        if word not in COMMANDS:
            raise EntryError(f"{shorten(rest)!r} is no command; help lists them, explain may have a page of it")
        return wrapped(COMMANDS[word].replace("`", ""), 0, 2, f"{word}: ")
    out = wrapped("Say what you see and read, in your words, several to a line: stack 520, smoke trace, o2 5.5. A bare "
                  "answer belongs to the question asked.", 0, 2)
    for group, words in GROUPS.items():
        out += wrapped(", ".join(words), 0, 2, f"{group}: ")
    return [*out, "help WORD tells what one of them does."]


def _of(turn: Turn) -> Assessment:
    return turn.assessment if turn.assessment is not None else assess(turn.case, turn.base)


def entered_name(base: Base, text: str, computed: bool = False) -> str:
    """The reading or observation that a text names; errors: `EntryError`."""
    named = name_at(base, text.split())
    name = named[0] if named and named[1] == len(text.split()) else \
        meant(base, text, ("quantity", "observation"))[1].name
    if not computed and name in base.quantities and base.quantities[name].derived:
        raise EntryError(f"{base.title(name)} is computed, not entered: {base.quantities[name].derived}")
    return str(name)


def limit_and_value(base: Base, text: str) -> tuple[str, str]:
    """The limit that a text begins with, and the value behind it; errors: `EntryError`."""
    words = text.replace("=", " ").split()
    at = next((number for number, word in enumerate(words) if number and
               (word.lstrip("+-.")[:1].isdigit() or word.lower() in ("none", "off", "ours", "trace", "zero"))), 0)
    if not at:
        raise EntryError("write a limit and the manufacturer's value, such as manufacturer co2-high 12.5 %; "
                         "explain limits lists the limits, explain co2 those of one quantity")
    said, value = " ".join(words[:at]), " ".join(words[at:])
    if said in base.limits:
        return said, value
    named = name_at(base, words[:at])
    if named and named[1] == at:
        of = [limit.name for limit in base.limits_of.get(named[0], ())]
        if len(of) == 1:
            return of[0], value
        if not of:
            raise EntryError(f"{base.title(named[0])} has no limit")
        raise EntryError(f"{shorten(said)!r} has the limits {', '.join(of)}; say which")
    return str(meant(base, said, ("limit",))[1].name), value


ASKING: Final[dict[str, Callable[[Turn, str], list[str]]]] = {
    "why": _why, "figure": _figure, "steps": _steps, "if": _if, "next": _next, "entries": _entries,
    "numbers": _numbers, "causes": _causes, "all": _all, "explain": _explain, "help": _help,
}
