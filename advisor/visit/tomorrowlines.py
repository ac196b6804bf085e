"""Tomorrow's list as text, and as a document for programs."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.pages.wording import IN_SHORT, wrapped
from advisor.visit.tomorrowitems import SECTIONS, DayList, Figure, Line

VERSION = 1
"""The version of the document."""
COUNTED = ("Each unit counts once for a fault, by what the same rules make of what was read there, so the counts do "
           "not hang on who read it or what was ticked.")
WEATHER = ("Compared are the last state in which a unit was left and an earlier visit; only days within 20 degF of "
           "each other where the temperature outdoors was read on both.")
ABOUT = {"faults": COUNTED, "getting-worse": WEATHER}
"""How the lines of a section were found."""


def heading(found: DayList) -> str:
    """The day, in words.

    >>> from datetime import date
    >>> heading(DayList(date(2026, 11, 28), (), 0, 0, 0, date(2026, 7, 1)))
    'Saturday, November 28, 2026'
    """
    return f"{found.day:%A, %B} {found.day.day}, {found.day.year}"


def made_from(found: DayList, record: str, folder: str) -> str:
    """What the list was made from, in words."""
    def count(number: int, what: str) -> str:
        return f"{number} {what}" if number == 1 else f"{number} {what}s"

    return (f"From {count(found.units, 'unit')} and {count(found.visits, 'visit')} in {record}, and "
            f"{count(found.calls, 'unfinished call')} in {folder}.")


def nothing(found: DayList, record: str, folder: str) -> str:
    """What is said where there is nothing to make a list from; else empty."""
    if found.units or found.calls or found.lines:
        return ""
    return (f"Nothing is on the list: {record} holds no unit yet (`record add-unit` adds one), and no unfinished call "
            f"lies in {folder}.")


def figure_text(figure: Figure) -> str:
    """A figure with its unit and its day.

    >>> from datetime import date
    >>> figure_text(Figure("stack temperature", "520 degF", date(2026, 1, 5)))
    'stack temperature 520 degF (2026-01-05)'
    """
    return f"{figure.title} {figure.value}{f' ({figure.on})' if figure.on else ''}"


def list_lines(found: DayList, record: str, folder: str) -> list[str]:
    """The list as lines of text, as wide as the screen (`wording.at_width`)."""
    lines = wrapped(f"LIST FOR {heading(found)}")
    empty = nothing(found, record, folder)
    lines += wrapped(empty or made_from(found, record, folder))
    for section, title in () if empty else SECTIONS.items():
        there = found.of(section)
        lines += ["", title.upper()]
        lines += wrapped(ABOUT[section], 2) if section in ABOUT and there else []
        lines += [text for number, line in enumerate(there, 1) for text in _item(line, number)] or ["  nothing"]
    for note in found.notes:
        lines += ["", *wrapped(note, 0, 2)]
    return [*lines, "", *wrapped(IN_SHORT, 0, 2)]


def _item(line: Line, number: int) -> Iterable[str]:
    whose = line.unit or line.file
    yield from wrapped(f"{whose}: {line.what}" if whose else line.what, 0, 4, first=f"{number:2}  ")
    if line.place:
        yield from wrapped(line.place, 4)
    for why in line.why:
        yield from wrapped(why, 4, 6, first="- ")
    yield from wrapped("; ".join(map(figure_text, line.rests_on)), 4, 6, first="rests on: ")


def list_document(found: DayList, record: str, folder: str) -> dict[str, object]:
    """The list as a document: its sections with their lines."""
    return {
        "version": VERSION, "day": found.day.isoformat(), "season_since": found.season.isoformat(), "record": record,
        "folder": folder, "units": found.units, "visits": found.visits, "unfinished_calls": found.calls,
        "empty": nothing(found, record, folder), "notes": list(found.notes), "about": ABOUT,
        "sections": {section: [_document(line) for line in found.of(section)] for section in SECTIONS},
    }


def _document(line: Line) -> dict[str, object]:
    return {
        "unit": line.unit, "place": line.place, "visit": line.visit or None, "file": line.file or None,
        "what": line.what, "why": list(line.why),
        "rests_on": [{"what": one.title, "value": one.value, "on": one.on.isoformat() if one.on else None}
                     for one in line.rests_on],
    }


