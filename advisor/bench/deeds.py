"""What a line typed on a practice call means: a check, something to do, or a diagnosis, in the words of a real call."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.arguments import words_for
from advisor.bench.callitems import practice_data
from advisor.call.naming import said_as
from advisor.call.phrases import clean
from advisor.library.base import Base
from advisor.library.items import Check, Item, fits
from advisor.library.yamlfiles import near, shorten
from advisor.reasoning.entries import EntryError, normal
from advisor.understanding.understand import understand

LONGEST: Final = 400
"""Letters of one line."""

HELP: Final = (
    ("a reading or a look", "smoke; stack, co2; draft over fire; look at the nozzle; ask the people; watch a start"),
    ("open the air, close the air", "the shutter by a notch (5 %), or by so much: close the air 10"),
    ("mend WHAT", "a remedy: replace the nozzle; mend CAUSE; clean the flue passages. It takes its minutes and parts"),
    ("reset", "press the reset of the primary"),
    ("put right GAUGE", "after a check that found an instrument wrong: put right the draft gauge"),
    ("everyone out", "clear the house and have it made safe by whoever must"),
    ("wait 10", "let minutes pass"),
    ("order, notes", "the work order; what you have found so far"),
    ("diagnosis CAUSE", "close the call with what it was; two causes with a comma between them"),
    ("nothing is wrong", "close the call: the unit is in order"),
    ("give up", "close the call without a diagnosis"),
    ("quit", "stop for now; the call is kept where a learner is named"),
)
"""What can be typed, with examples."""

_ALONE: Final = {
    "help": "help", "?": "help", "order": "order", "work order": "order", "notes": "notes", "found": "notes",
    "what do i know": "notes", "time": "notes", "quit": "quit", "exit": "quit", "stop": "quit", "q": "quit",
    "reset": "reset", "press reset": "reset", "press the reset": "reset", "push the reset": "reset",
    "push the button": "reset", "hit the reset": "reset", "press the button": "reset",
    "give up": "give-up", "nothing is wrong": "close", "nothing wrong": "close", "all in order": "close",
    "it is in order": "close", "the unit is in order": "close",
    "everyone out": "out", "everybody out": "out", "get everyone out": "out", "people out": "out",
    "get people out": "out", "evacuate": "out", "clear the house": "out", "get out": "out",
    "start it": "start", "start the burner": "start", "light it": "start", "fire it": "start", "fire it up": "start",
    "try to start it": "start", "turn it on": "start",
}
_CLOSES: Final = re.compile(r"(?:diagnosis|diagnose|my diagnosis(?: is)?|close(?: with| as)?|the cause is|cause|"
                            r"it is|it's|it was)[: ]+(.+)")
_AIR: Final = re.compile(r"(open|close|shut|turn up|turn down) (?:up |down )?(?:the )?(?:air band|air shutter|"
                         r"air|shutter)(?: (?:by )?(?:a )?(?:(\d{1,2})(?: ?%| percent)?|notch|bit|little|touch|hair))?")
_WAIT: Final = re.compile(r"wait(?: for)? (\d{1,3})(?: ?min(?:utes?)?)?")
_RIGHT: Final = re.compile(r"(?:put right|zero|re-?zero|recalibrate|set right) (?:the |my )?(.+)")
_MENDS: Final = re.compile(r"(?:mend|fix|repair|remedy|do the remedy|cure)[: ]+(?:the )?(.+)")
_LEADS: Final = re.compile(r"(?:please|now|let me|let's|lets|i want to|i will|i'll|can i|could i|go|"
                           r"take a look|have a look|check|measure|take|read|look|see|show me|show|test|try|pull|get|"
                           r"find|what is|what's|whats|what are|what does|how is|how are|how's|inspect|examine|do|"
                           r"run|make|give me)\b ?")
_SMALL: Final = re.compile(r"(?:for|at|over|in|the|a|an|my|your|some|up|into) ")
NOTCH: Final = 5.0
"""Percent of opening that one notch is."""


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing to do: its kind, what it is done to, and how much."""

    kind: str
    name: str = ""
    amount: float = 0.0
    causes: tuple[str, ...] = ()


def deeds(base: Base, line: str, known: Mapping[str, object] | None = None) -> tuple[Deed, ...]:
    """What a line asks to be done, in its order.

    Parameters
    ----------
    line : str
        One line as typed, of at most `LONGEST` letters.
    known : mapping, optional
        What is installed, by name: a word may mean one thing on a furnace and another on a boiler.

    Raises
    ------
    EntryError
        What is wrong with it, and what would be right; nothing of the line is done then.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> [(one.kind, one.name) for one in deeds(load(), "pull a smoke, stack")]
    [('check', 'measure-smoke'), ('check', 'measure-stack')]
    >>> deeds(load(), "replace the nozzle")[0].name
    'renew-nozzle'
    >>> deeds(load(), "close the air 10")[0].amount
    -10.0
    """
    if len(line) > LONGEST:
        raise EntryError(f"a line of {len(line):,} letters is more than a line holds ({LONGEST}); "
                         "ask for a thing or two")
    text = clean(line).rstrip(".!") or clean(line)
    text = text if text == "?" else text.rstrip("?")
    if not text:
        return ()
    known = known or {}
    whole = _deed(base, text, known)
    if whole is not None:
        return (whole,)
    parts = [part.strip() for part in re.split(r",|;| and then | then | and ", text) if part.strip()]
    exact = _called_exactly(base, text)
    if exact or len(parts) < 2:
        return (Deed("check", exact or check_called(base, text, known).name),)
    found = [_deed(base, part, known) or Deed("check", check_called(base, part, known).name) for part in parts]
    return tuple(dict.fromkeys(found))


def _deed(base: Base, text: str, known: Mapping[str, object]) -> Deed | None:
    """What a line means that is no check; None where it may be one."""
    said = text.casefold()
    if said in _ALONE:
        kind = _ALONE[said]
        return Deed("check", "watch-start") if kind == "start" else Deed(kind)
    if found := _AIR.fullmatch(said):
        amount = float(found[2]) if found[2] else NOTCH
        return Deed("air", amount=amount if found[1] in ("open", "turn up") else -amount)
    if found := _WAIT.fullmatch(said):
        return Deed("wait", amount=float(found[1]))
    if (found := _RIGHT.fullmatch(said)) and (proving := _instrument(base, found[1])):
        return Deed("put-right", proving)
    if found := _CLOSES.fullmatch(said):
        if f"{found[1]} wrong" in _ALONE or found[1] in _ALONE or f"all {found[1]}" in _ALONE:
            return Deed("close")  # nothing, nothing wrong, in order
        return Deed("close", causes=tuple(dict.fromkeys(_causes(base, found[1], known))))
    for words in _shorter(said):
        if (asked := practice_data(base).asks.get(words)) is not None:
            return Deed("check" if asked in base.checks else "mend", asked)
    remedy = _remedy(base, said, known)
    return Deed("mend", remedy) if remedy else None


def _causes(base: Base, text: str, known: Mapping[str, object]) -> list[str]:
    """The causes that a diagnosis names; errors: `EntryError`."""
    try:
        return [_cause(base, text, known)]
    except EntryError:
        parts = [part.strip() for part in re.split(r",|;| and | plus ", text) if part.strip()]
        if len(parts) < 2:
            raise
    return [_cause(base, part, known) for part in parts]


def _cause(base: Base, text: str, known: Mapping[str, object]) -> str:
    said = _plain(text.casefold())
    words = words_for(base.causes)
    for word in (text.casefold(), said):
        if word in words:
            return words[word]
    here = [one for one in base.causes.values() if fits(one.only, known)]
    found = _by_words(said, here)
    if len(found) == 1:
        return found[0]
    if found:
        raise EntryError(_which(text, [base.title(name) for name in found]))
    close = near(said, words, 3, 0.5)
    raise EntryError(f"no cause is called {shorten(text)!r}" + (f"; did you mean {' or '.join(close)}?" if close else
                                                             "; `burner-advisor explain causes` lists them"))


def _by_words(said: str, shelf: Iterable[Item]) -> list[str]:
    """The items in whose name, title or aliases every word of a text stands."""
    parts = normal(said).split()
    texts = {one.name: normal(" ".join((one.name, one.title, *getattr(one, "aliases", ())))) for one in shelf}
    return [name for name, text in texts.items()
            if parts and all(any(word in text for word in said_as(part)) for part in parts)]


def _which(text: str, titles: Sequence[str]) -> str:
    more = f"; or {len(titles) - 4} more" if len(titles) > 4 else ""
    return f"{shorten(text)!r} may mean: {'; '.join(dict.fromkeys(titles[:4]))}{more}. Say which"


def _remedy(base: Base, said: str, known: Mapping[str, object]) -> str:
    """The remedy that a line names by its title, or after `mend` by the cause that it puts right; empty where none is.

    Errors: `EntryError` where it may be one of several.
    """
    named = _by_title(base)
    if _bare(said) in named:
        return named[_bare(said)]
    mends = _MENDS.fullmatch(said)
    rest = mends[1] if mends else said
    if not mends and said.split(" ")[0] not in _verbs(base):
        return ""
    words = words_for(base.causes)
    if mends and rest in words:
        return base.causes[words[rest]].remedy
    curing = {cause.remedy for cause in base.causes.values() if fits(cause.only, known)}
    found = _by_words(rest, [one for one in base.remedies.values() if one.name in curing])
    if not found and mends:
        return base.causes[_cause(base, rest, known)].remedy
    if len(found) > 1:
        begins = [name for name in found if _bare(base.title(name).casefold()).startswith(_bare(rest))]
        found = begins if len(begins) == 1 else found
    if len(found) > 1:
        raise EntryError(_which(said, [base.title(name) for name in found]))
    return found[0] if found else ""


def _bare(text: str) -> str:
    """A text without small words."""
    return re.sub(r"\b(?:the|a|an|it|to)\b ?", "", text).strip()


@lru_cache(maxsize=4)
def _by_title(base: Base) -> dict[str, str]:
    """The remedies by their titles, without small words."""
    return {_bare(one.title.casefold()): one.name for one in base.remedies.values()}


@lru_cache(maxsize=4)
def _verbs(base: Base) -> frozenset[str]:
    """The words with which titles of remedies begin, and no check does: what one does to mend."""
    begins = {one.title.casefold().split(" ")[0] for one in base.remedies.values()}
    return frozenset(begins - {one.title.casefold().split(" ")[0] for one in base.checks.values()})


def _instrument(base: Base, text: str) -> str:
    """The check whose instrument is to be put right; empty where none is meant."""
    words = set(normal(text).split())
    small = {"the", "check", "prove", "for", "and", "of", "test", "wait"}
    return next((name for name in practice_data(base).proving
                 if words & (set(normal(f"{name} {base.checks[name].title}").replace("-", " ").split()) - small)), "")


def _plain(text: str) -> str:
    """Words without what only leads up to them.

    >>> _plain("take a look at the nozzle"), _plain("what's the stack")
    ('nozzle', 'stack')
    """
    return _shorter(text)[-1]


def _shorter(text: str) -> list[str]:
    """A text, and what is left of it as one word after the other that only leads up to something is taken away.

    >>> _shorter("check the over fire")
    ['check the over fire', 'the over fire', 'over fire', 'fire']
    """
    out = [text.strip().removesuffix(" please").rstrip(", ")]
    while (found := _LEADS.match(out[-1]) or _SMALL.match(out[-1])) and found.end() < len(out[-1]):
        out.append(out[-1][found.end():].strip())
    return out


def check_called(base: Base, text: str, known: Mapping[str, object] | None = None) -> Check:
    """The check that words ask for: by its name or title, or as the one that gives a reading or a look.

    Raises
    ------
    EntryError
        Nothing, or more than one thing, is meant.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> check_called(load(), "draft over the fire").name, check_called(load(), "co in the room").name
    ('measure-drafts', 'measure-room-co')
    """
    plain, known = _plain(text.casefold()), known or {}
    exact = _called_exactly(base, text)
    if exact:
        return base.checks[exact]
    here = [one for one in base.checks.values() if base.asked_by(one, known)]
    given = {one.name: base.checks_giving[one.name][0].name for one in base.entered if one.name in base.checks_giving}
    found = _by_words(plain, here) or list(dict.fromkeys(
        given[name] for name in _by_words(plain, [one for one in base.entered if one.name in given])))
    found = [name for name in found if base.checks[name] in here] or found
    nearest = _nearest(base, plain) if not found else ""
    if len(found) == 1 or nearest:
        return base.checks[nearest or found[0]]
    if found:
        raise EntryError(_which(text, [base.title(name) for name in found]))
    heard = understand(base, text)
    if heard.heard:
        raise EntryError(f"{shorten(text)!r} tells a reading; here you ask for it: write its name alone, such as "
                         f"{base.title(heard.heard[0].entry.name)}")
    raise EntryError(f"{shorten(text)!r} is nothing that can be looked at, read or done here; such as: smoke, stack, "
                     "look at the nozzle, ask the people, replace the nozzle; help shows all")


def _called_exactly(base: Base, text: str) -> str:
    """The check that is called just so, or that gives what is called just so; empty where none is."""
    for words in dict.fromkeys((text, *_shorter(text.casefold()))):
        if normal(words) in _named(base):
            return _named(base)[normal(words)]
        name = understand(base, words).ask
        if name in base.checks_giving:
            return base.checks_giving[name][0].name
    return ""


@lru_cache(maxsize=4)
def _named(base: Base) -> dict[str, str]:
    """Every word that means a check: its own name and title, and the names of what it is the first to give."""
    out: dict[str, str] = {}
    for check in base.checks.values():
        for word in (check.name, check.title, check.title.partition(",")[0]):
            out.setdefault(normal(word), check.name)
    for word, name in base.words.items():
        if name in base.checks_giving:
            out.setdefault(normal(word), base.checks_giving[name][0].name)
    return out


def _nearest(base: Base, text: str) -> str:
    """The check whose title, or a name of what it gives, is nearest to some words; empty where none is near."""
    from rapidfuzz import fuzz, process

    found = process.extract(normal(text), _named(base).keys(), scorer=fuzz.ratio, limit=3, score_cutoff=84)
    names = dict.fromkeys(_named(base)[word] for word, score, _ in found if score >= found[0][1] - 0.1) if found else {}
    return next(iter(names)) if len(names) == 1 else ""
