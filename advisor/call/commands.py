"""The commands of a call: what each does, in a line, and what else people say for it."""

from __future__ import annotations

from typing import Final

GROUPS: Final[dict[str, dict[str, str]]] = {
    "to understand": {
        "why": "why this is asked; `why NAME` for a cause (or `why not`), a check, a hazard, a rule",
        "figure": "how a number was worked out: `figure excess air`",
        "if": "what another reading would change, without entering it: `if o2 were 6.5`",
        "steps": "how this check is made, and what each answer means; `steps NAME` of another",
        "explain": "the page of anything that has a name: `explain NAME`",
        "causes": "the causes, with what speaks for and against each",
        "numbers": "every number, measured and computed, with its level",
        "all": "everything that there is to say",
        "more": "what the last screen had no room for",
    },
    "to enter and mend": {
        "undo": "take back the last line that entered something",
        "redo": "bring back what was undone",
        "skip": "pass over this question; `skip all` for all of this group",
        "cannot": "it cannot be checked; `cannot all` for all of this check",
        "next": "the next check in full",
        "entries": "everything entered so far",
        "correct": "an entry was mistyped and never so: `correct NAME VALUE`",
        "again": "measured or looked at once more, now with another result: `again NAME VALUE`",
        "trust": "stand by a reading that is in doubt: `trust NAME`",
        "cured": "an open hazard was put right: `cured HAZARD WHAT WAS DONE`; then its proof is asked",
        "manufacturer": "the manufacturer's own figure for a limit: `manufacturer LIMIT VALUE`",
        "instruments": "which instruments are at hand: `instruments LIST`, or `instruments all`",
    },
    "to work": {
        "test": "the combustion test step by step: `test`, `test wet`, `test analyzer`; `test off` leaves it",
        "air": "set the air mark by mark; `air 1 8` where the shutter is shut at 1, wide open at 8",
        "regulator": "the draft regulator was moved: drafts, smoke and what follows are read again",
        "remedy": "the remedy of a cause, its steps and cautions: `remedy CAUSE`",
        "done": "a step of the remedy is done: `done`, `done 3`, `done 2-5`, `done all`",
        "retest": "the readings that prove the remedy; again for a new round",
        "compare": "before and after side by side, and what it saves in a year",
        "close": "end the call, where it is proven, or nothing was wrong; else it says what is left",
    },
    "to keep": {
        "unit": "tie the call to a unit of the record and show its history: `unit LABEL`, `unit new LABEL`",
        "keep": "put this call into the record; behind it `nothing wrong` or `not found`, `technician T`, `parts 2 x "
                "nozzle`, `call callback`, and a note, with semicolons between",
        "report": "write the report beside the case file, as a page and a PDF: customer, office, tag, hand-over list",
        "save": "`save FILE` writes a copy; FILE.svg draws the curve of the air; the call is saved after every line",
        "help": "this list; `help WORD` for one of them",
        "quit": "stop; everything is kept",
    },
}
COMMANDS: Final = {command: what for group in GROUPS.values() for command, what in group.items()}

_SAID: Final = {
    "h": "help", "commands": "help", "?": "steps",
    "q": "quit", "exit": "quit", "bye": "quit", "stop": "quit", "end": "quit",
    "why is it not": "why", "why isn't it": "why", "what speaks against": "why", "what speaks for": "why",
    "how come": "why", "how do i": "steps", "how to": "steps", "how was": "figure", "how is": "figure",
    "suppose": "if", "u": "undo", "back": "undo", "take back": "undo",
    "s": "skip", "pass": "skip", "not checked": "skip", "pass over": "skip",
    "cannot check": "cannot", "can't check": "cannot", "cant check": "cannot", "can't": "cannot", "cant": "cannot",
    "could not check": "cannot", "can not check": "cannot", "can not": "cannot", "unknown": "cannot",
    "don't know": "cannot", "dont know": "cannot", "no idea": "cannot",
    "ask me": "next", "what is the next check": "next", "what now": "next", "whats next": "next",
    "what is next": "next", "what do i do next": "next", "what do i do now": "next", "ask": "next",
    "what next": "next", "next check": "next", "question": "next",
    "list": "entries", "list of entries": "entries", "show entries": "entries", "show": "entries",
    "list causes": "causes", "show causes": "causes",
    "values": "numbers", "show numbers": "numbers", "everything": "all", "show all": "all",
    "what is": "explain", "what are": "explain", "stand by": "trust", "at hand": "instruments",
    "manufacturer's": "manufacturer", "save as": "save", "write": "save", "repair": "remedy", "fix": "remedy",
    "finished": "done", "re-test": "retest", "test again": "retest", "before and after": "compare",
    "savings": "compare", "close case": "close", "close the case": "close", "close the call": "close",
    "guided test": "test", "set the air": "air", "set air": "air", "history": "unit", "mistyped": "correct",
    "correction": "correct", "measured again": "again", "re-measured": "again", "put right": "cured",
}
ALONE: Final = frozenset({"undo", "redo", "next", "entries", "numbers", "causes", "all", "quit", "retest", "compare",
                          "more", "regulator"})
"""Commands that take nothing behind them."""
PHRASES: Final = {**{word: word for word in COMMANDS}, **_SAID}
