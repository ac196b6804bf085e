"""What is said after a practice call: what it was, what decided, what was needless or unsafe, the advisor's steps."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from advisor.bench.callitems import practice_data
from advisor.bench.practice import Done, State
from advisor.bench.world import World, truth
from advisor.library.base import Base
from advisor.pages.wording import origin_text, wrapped
from advisor.plant import SOUND
from advisor.reasoning.assess import Assessment, assess

RIGHT, PARTLY, WRONG = "right", "partly", "wrong"
_TOLD_NOTHING: Final = 0.02
"""A check that moves no cause by more than this has told nothing of the causes."""
_DECIDES: Final = 0.1
"""A step that moves the belief in what it was by more than this may be called the one that decided."""
_MOST_RULES: Final = 4


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a diagnosis compares with what was hidden.

    `found` are the hidden causes that it names, or of which it names what lies behind; `shallow` those of which it
    names only what they bring about; `missed` the others; `extra` what it names that is not there.
    """

    word: str
    found: tuple[str, ...]
    shallow: tuple[tuple[str, str], ...]
    missed: tuple[str, ...]
    extra: tuple[str, ...]


def judged(base: Base, state: State) -> Verdict:
    """The verdict on a call that is closed.

    A cause is counted as named where the diagnosis names one that lies behind it and is really there: a nozzle of the
    wrong size where the unit is overfired.

    Examples
    --------
    >>> from advisor.bench.drawcall import draw
    >>> from advisor.bench.practice import begin, turn
    >>> from advisor.library.base import load
    >>> state = begin(load(), draw(load(), 3, cause="nozzle-plugged"))
    >>> judged(load(), turn(load(), state, "diagnosis nozzle plugged")[0]).word
    'right'
    """
    really = truth(base, World(state.call))
    there = {one.name for one in really.causes if one.confirmed} | set(state.call.hidden)
    named = set(state.verdict)
    found, shallow = [], []
    for hidden in state.call.hidden:
        roots = named & there & set(base.causes[hidden].behind)
        effects = [one for one in state.verdict if hidden in base.causes[one].behind and one in there]
        if hidden in named or roots:
            found.append(hidden)
        elif effects:
            shallow.append((hidden, effects[0]))
    missed = [one for one in state.call.hidden if one not in found and one not in dict(shallow)]
    extra = [one for one in state.verdict if one not in there]
    if len(found) == len(state.call.hidden) and not state.ended and not state.gave_up:
        word = RIGHT if not extra else PARTLY if found else WRONG
    else:
        word = PARTLY if (found or shallow) and not state.ended else WRONG
    return Verdict(word, tuple(found), tuple(shallow), tuple(missed), tuple(extra))


@dataclass(frozen=True, slots=True)
class Compared:
    """A step of the learner beside what the advisor would have done then, and what the step told."""

    done: Done
    advised: str
    why: str
    beside: str
    """What it would have done but for that, and why; empty where that was no look for safety."""
    same: bool
    needless: bool
    moved: float
    """By how much it moved the belief in what was hidden."""


def compared(base: Base, state: State) -> tuple[Compared, ...]:
    """Each step beside the advisor's."""
    out = []
    retest: list[str] = []
    for done in state.done:
        before = assess(done.before, base)
        after = assess(done.after, base, look_ahead=False)
        advised, why, check = _advised(base, before)
        beside = _beside(base, before)
        if retest and not before.gate.emergency:
            check = done.name if done.name in retest else retest[0]
            advised, why = base.title(check), "the retest: work is proven by readings taken after it"
            beside = ""
        retest = [one for one in retest if one != done.name]
        if done.kind == "mend":
            retest = list(base.remedies[done.name].retest.checks)
        rise = max((_belief(after, one) - _belief(before, one) for one in state.call.hidden), default=0.0)
        out.append(Compared(done, advised, why, beside, bool(check) and check == done.name,
                            _needless(base, state, done, before, after), rise))
    return tuple(out)


def _belief(assessment: Assessment, cause: str) -> float:
    return next((one.belief for one in assessment.causes if one.name == cause), 0.0)


def _advised(base: Base, before: Assessment) -> tuple[str, str, str]:
    """What the advisor would have done, why, and the check that it is."""
    if before.gate.emergency:
        return "get everyone out", base.hazards[before.gate.emergency[0]].title, ""
    first = before.checks.first
    confirmed = next((one for one in before.causes if one.confirmed), None)
    if first is None:
        what = f"no more checks; the remedy: {base.title(base.causes[confirmed.name].remedy)}" if confirmed else (
            "no more checks")
        return what, f"{base.title(confirmed.name)} is confirmed" if confirmed else before.checks.why_none, ""
    check = base.checks[first.check]
    apart = [base.title(name) for name in first.tells_apart[:3]]
    why = first.reason or (f"it bears on {', '.join(apart)}" if apart else check.why)
    return check.title, why, check.name


def _beside(base: Base, before: Assessment) -> str:
    """The check that is worth most for what it is, where a look for safety goes before it."""
    first = before.checks.first
    owed = base.checks[first.check] if first else None
    if before.gate.emergency or owed is None or not (owed.safety or owed.round):
        return ""
    for other in before.checks.others:
        check = base.checks[other.check]
        if not (check.safety or check.round) and other.tells_apart:
            return f"{check.title}: it bears on {', '.join(base.title(name) for name in other.tells_apart[:3])}"
    return ""


def _needless(base: Base, state: State, done: Done, before: Assessment, after: Assessment) -> bool:
    """Whether a step told or mended nothing: no look for safety, no reading that belongs to every call, and it moved no
    cause; a remedy that puts nothing right that was there.
    """
    if done.kind == "mend":
        curing = {cause.name for cause in base.causes.values() if cause.remedy == done.name}
        really = truth(base, World(state.call))
        there = {one.name for one in really.causes if one.confirmed} | set(state.call.hidden)
        sprayed = done.name in {name for names in practice_data(base).effects.values() for name in names}
        return not curing & there and not sprayed
    if done.kind != "check":
        return False
    check = base.checks[done.name]
    proves = done.name in practice_data(base).proving  # to doubt an instrument is never needless
    if check.safety or check.basic or check.round or check.closing or proves:
        return False
    return all(abs(_belief(after, one.name) - one.belief) < _TOLD_NOTHING for one in before.causes)


def debrief(base: Base, state: State) -> list[str]:
    """The talk after a call, in lines of at most 80 columns.

    Parameters
    ----------
    state : State
        Of a call that is closed.
    """
    verdict, steps = judged(base, state), compared(base, state)
    out = ["", "AFTER THE CALL", *_was(base, state, verdict), ""]
    out += wrapped(f"{state.minutes:.0f} minutes, parts ${state.cost:.0f}, {len(state.done)} steps.", 0, 2)
    out += _section("Instruments", _instruments(base, state))
    out += _section("Unsafe", state.unsafe)
    out += _section("Left out of what no unit is left without",
                    (base.title(name) for name in left_out(base, state)))
    out += _section("Told nothing new", dict.fromkeys(base.title(one.done.name) for one in steps
                                                      if one.needless and one.done.kind == "check"))
    out += _section("Put right what was not wrong", dict.fromkeys(base.title(one.done.name) for one in steps
                                                                  if one.needless and one.done.kind == "mend"))
    best = max(steps, key=lambda one: one.moved, default=None)
    if best is not None and best.moved > _DECIDES:
        out += _section("The finding that decided", [f"{_step_title(base, best.done)}: it moved the belief in what it "
                                                     f"was by {100 * best.moved:.0f} points of a hundred"])
    out += _steps(base, steps)
    out += _rules(base, state)
    return out


def _was(base: Base, state: State, verdict: Verdict) -> list[str]:
    said = "You said: " + (", ".join(base.title(one) for one in state.verdict) or "nothing is wrong")
    if state.ended or state.gave_up:
        said = "The call ended before you said what it was" if state.ended else "You gave up"
    was = " and ".join(base.title(one) for one in state.call.hidden) or "nothing: the unit is in order"
    told = "" if state.ended or state.gave_up else f" {_WORDS[verdict.word]}"
    out = wrapped(f"{said}. It was: {was}.{told}", 0, 2)
    for hidden, effect in verdict.shallow:
        out += wrapped(f"{base.title(effect)} is there, but {base.title(hidden)} lies behind it and brings it back.", 2)
    for one in verdict.extra:
        out += wrapped(f"{base.title(one)} is not there.", 2)
    for one in state.call.hidden:
        cause = base.causes[one]
        mended = _mended(base, state, cause.remedy)
        out += wrapped(f"{cause.title}: shown by {base.title(cause.confirm_check)}: {cause.confirm_shows}. Remedy: "
                       f"{base.title(cause.remedy)}; {mended}.", 2, 4)
    return out


def _mended(base: Base, state: State, remedy: str) -> str:
    """Whether a remedy was done, and proven by what was read after it."""
    at = next((at for at, done in enumerate(state.done) if done.kind == "mend" and done.name == remedy), None)
    if at is None:
        return "it was not put right"
    after = {done.name for done in state.done[at + 1:]}
    left = [base.title(name) for name in base.remedies[remedy].retest.checks if name not in after]
    return "you put it right, and proved it" if not left else (
        f"you put it right; what would have proved it was not all read again: {', '.join(left)}")


def _instruments(base: Base, state: State) -> list[str]:
    """What was wrong with the instruments, and whether it was found and put right."""
    out = []
    for name, proving in practice_data(base).proving.items():
        if any(getattr(state.call.kit, field) != getattr(SOUND, field) for field in proving.fields):
            found = "found" if any(done.name == name and done.kind == "check" for done in state.done) else "not found"
            right = any(done.name == name and done.kind == "put-right" for done in state.done)
            out.append(f"{base.title(name)}: something was wrong with it; {found}, "
                       f"{'put right' if right else 'not put right'}")
    return out


_WORDS: Final = {RIGHT: "That is right.", PARTLY: "That is right in part.", WRONG: "That is not it."}


def left_out(base: Base, state: State) -> tuple[str, ...]:
    """The safety checks that were not made and could have been."""
    made = {done.name for done in state.done}
    return tuple(check.name for check in base.checks.values() if (check.safety or check.closing)
                 and check.name not in made and base.asked_by(check, {**state.known, **state.mine.known}))


def _section(title: str, texts: Iterable[str]) -> list[str]:
    lines = [line for text in texts for line in wrapped(text, 2, first="- ")]
    return ["", title, *lines] if lines else []


def _step_title(base: Base, done: Done) -> str:
    words = {"air": f"air shutter {done.name} points", "out": "everyone out", "put-right": "put right: "}
    if done.kind in ("air", "out"):
        return words[done.kind]
    return words.get(done.kind, "") + base.title(done.name)


def _steps(base: Base, steps: Iterable[Compared]) -> list[str]:
    """Each step beside the advisor's; advice that stands is told once."""
    out = ["", "Step by step, and what the advisor would have done next"]
    last = ""
    for number, one in enumerate(steps, 1):
        out += wrapped(_step_title(base, one.done), 2, first=f"{number}. ")
        if one.same:
            out.append("     the same")
        elif one.advised != last:
            out += wrapped(f"{one.advised}: {one.why}", 5, 14, "advisor: ")
        elif not one.beside or one.beside.startswith(f"{_step_title(base, one.done)}:"):
            out.append("     advisor: still that first")
        else:
            out += wrapped(f"still that first; and then {one.beside}", 5, 14, "advisor: ")
        last = one.advised
    return out if len(out) > 2 else []


def _rules(base: Base, state: State) -> list[str]:
    """The rules that lead to what it was, by what was really there, the strongest first."""
    really = truth(base, World(state.call))
    texts = []
    for one in really.causes:
        if one.name in state.call.hidden:
            names = dict.fromkeys(rule for piece in sorted(one.evidence, key=lambda piece: -piece.decibans)
                                  for rule in piece.rules if piece.decibans > 0)
            texts += [f"{base.rules[name].because} [{name}; {origin_text(base, base.rules[name].origin)}]"
                      for name in list(names)[:_MOST_RULES]]
    return _section("Rules to read (burner-advisor explain NAME)", texts)
