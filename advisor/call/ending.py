"""What is said where nothing more is worth checking: what was ruled out, what could not be, whom to call."""

from __future__ import annotations

from advisor.call.parts import Screen, part
from advisor.call.turn import Turn
from advisor.pages import screen
from advisor.pages.wording import plain, value_text, wrapped
from advisor.reasoning.case import UNCHECKED
from advisor.reasoning.turnout import COMPLAINT, ROUTINE, explaining

_MOST = 6


def at_the_end(turn: Turn) -> Screen:
    """Where nothing is asked any more: how the call stands, and what comes next."""
    if turn.assessment is None:
        return part("question", ["Nothing is entered yet."])
    if turn.work.closed is not None:
        return part("question", wrapped(_after_closing(turn), 0, 2))
    first = turn.assessment.causes[0] if turn.assessment.causes else None
    found = first is not None and first.word in ("likely", "confirmed")
    out = screen.next_check(turn.base, turn.assessment)
    lines = [] if found else [*_ruled_out(turn), *_not_had(turn), *_then(turn)]
    return (*part("check", out, whole=out), *part("follows", lines, lines[-2:]),
            *part("question", wrapped(_ask(turn, found), 0, 2)))


def nothing_wrong(turn: Turn) -> bool:
    """Whether no hazard stands and no cause is likely, so that a call can be closed as that."""
    now = turn.assessment
    return now is not None and not now.hazards and not turn.work.jobs and not any(
        one.word in ("likely", "confirmed") for one in now.causes)


def found(turn: Turn) -> str:
    """What was found where no cause is likely, in words: on a call about something, that is not that all is well."""
    routine = turn.case.values.get(COMPLAINT) in (None, ROUTINE)
    return "nothing wrong was found" if routine else "what the call is about was not found"


def unseen(turn: Turn) -> tuple[str, ...]:
    """What no unit is left without, and nobody has looked at or passed over."""
    base, now = turn.base, turn.assessment
    known = {**turn.case.values, **(now.known if now else {})}
    return tuple(dict.fromkeys(
        name for check in base.checks.values() if check.safety or check.round
        for name in base.asked_by(check, known) if name not in turn.case.values))


def left_at(turn: Turn) -> str:
    """The readings that the unit is left with, in words."""
    now = turn.assessment
    read = dict.fromkeys(name for panel in turn.base.panels.values() for name in (panel.name, *panel.also))
    shown = [f"{turn.base.title(name)} {value_text(turn.base, now, name)}" for name in read
             if now is not None and name in now.findings.numbers and turn.base.quantities[name].instrument]
    return ", ".join(shown) or "no reading was taken"


def _after_closing(turn: Turn) -> str:
    kept = "" if turn.work.kept else "`keep` puts it into the record" + (
        "" if turn.work.unit else " (first unit LABEL, or unit new LABEL)") + "; "
    return f"The call is closed. Next: `report` writes the sheets for the customer and the office; {kept}`quit` ends."


def _ask(turn: Turn, found: bool) -> str:
    if found:
        return "Nothing more is asked. `remedy` takes it in hand; enter what you find, or quit."
    if nothing_wrong(turn) and turn.case.values.get("complaint") == ROUTINE:
        return f"Nothing wrong was found. `close` ends the call: set and left at {left_at(turn)}."
    return "Nothing more is asked. Enter what you find; `close` ends it as it stands; or quit."


def _ruled_out(turn: Turn) -> list[str]:
    assert turn.assessment is not None
    complaint = turn.case.values.get("complaint")
    about = explaining(turn.base, complaint if isinstance(complaint, str) else None)
    out = [one for one in turn.assessment.causes if one.name in about and one.word == "unlikely"]
    out.sort(key=lambda one: -one.prior)
    names = ", ".join(turn.base.title(one.name) for one in out[:_MOST])
    return wrapped(f"Ruled out, as far as it was looked at: {names}", 0, 2) if names else []


def _not_had(turn: Turn) -> list[str]:
    names = ", ".join(turn.base.title(name) for name, entry in turn.case.latest.items() if entry.status == UNCHECKED)
    return wrapped(f"Could not be checked: {names}", 0, 2) if names else []


def _then(turn: Turn) -> list[str]:
    assert turn.assessment is not None
    if turn.case.values.get("complaint") == ROUTINE:
        return []
    possible = [one for one in turn.assessment.causes if one.word == "possible"]
    first = possible[0] if possible else None
    who = plain(turn.base.remedies[turn.base.causes[first.name].remedy].who) if first else "technician"
    leads = f"Most is to be said for {turn.base.title(first.name)}, which is only possible. " if first else ""
    whom = f"a {who}, or " if who != "technician" else ""
    return wrapped(f"{leads}Call {whom}somebody with more years on this unit, or the manufacturer, with these "
                   "readings. Watch smoke, CO and the stack on the next starts; leave it off where any of them "
                   "worsens.", 0, 2)
