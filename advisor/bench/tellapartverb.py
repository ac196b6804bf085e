"""The verb `tell-apart`: look-alikes side by side."""

from __future__ import annotations

import argparse
import shutil
from collections.abc import Sequence
from itertools import zip_longest
from typing import Final

from advisor.bench.benchfiles import BenchError
from advisor.bench.effectsverb import cause_called
from advisor.bench.likeness import MOST, Row, Shares, confused, side_by_side
from advisor.library.base import Base
from advisor.library.items import Cause
from advisor.pages.shown import share_text
from advisor.pages.wording import at_width, columns, plain, wrapped

_LETTERS: Final = "ABC"
_ROWS: Final = 12
"""Rows that are shown unless all are asked for."""
_MET: Final = 0.095
"""Answers that are met more seldom are not named."""
_NARROW: Final = 24
"""Columns that a cause needs at least to stand beside another."""
KNOWLEDGE: Final = ("Shares are our own estimate over many units, not of the one before you; what a cause "
                    "leaves alone is as on any call.")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words after `tell-apart`."""
    parser.description = ("Two or three causes side by side: what each does to readings, looks and complaints, what "
                          "tells them apart best on top. Without causes it lists those that are most often confused.")
    parser.add_argument("causes", nargs="*", metavar="CAUSE", help="a name, title or other word; in quotes if several "
                        "words")
    parser.add_argument("--all", action="store_true", help=f"all rows, not the best {_ROWS} alone")


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Do it; returns the exit status. Errors: BenchError."""
    with at_width(shutil.get_terminal_size((80, 24)).columns):
        print("\n".join(_lines(base, arguments)))
    return 0


def _lines(base: Base, arguments: argparse.Namespace) -> list[str]:
    if not arguments.causes:
        return offered(base)
    if len(arguments.causes) > MOST:
        raise BenchError(f"{len(arguments.causes)} causes: wants two or three; put a name of several words into "
                         'quotes, such as tell-apart "dirty blower" "shutter too far closed"')
    chosen = [cause_called(base, words) for words in arguments.causes]
    if len(chosen) == 1:
        raise BenchError(f"one cause: wants two or three; {_like(base, chosen[0])}")
    return apart_text(base, chosen, None if arguments.all else _ROWS)


def _like(base: Base, cause: Cause) -> str:
    """What a cause is taken for, to be named beside it."""
    near = [name for pair in confused(base) if cause.name in pair.causes for name in pair.causes if name != cause.name]
    near += [name for family in base.families.values() if cause.name in family.members
             for name in family.members if name != cause.name]
    return f"look-alikes of {cause.title} are {', '.join(list(dict.fromkeys(near))[:4])}" if near else (
        "`tell-apart` alone lists pairs")


def offered(base: Base) -> list[str]:
    """The pairs that are most often confused, then the families, whose members show much the same.

    >>> from advisor.library.base import load
    >>> offered(load())[0]
    'OFTEN TAKEN FOR ONE ANOTHER (by the advisor, on the physical burner)'
    """
    out = wrapped("OFTEN TAKEN FOR ONE ANOTHER (by the advisor, on the physical burner)", 0, 2)
    for pair in confused(base):
        out += wrapped(f"tell-apart {' '.join(pair.causes)}", 2, 5)
    out += ["", *wrapped("ALIKE IN THEIR READINGS (families)", 0, 2)]
    for family in base.families.values():
        out += wrapped(f"{family.title}: {', '.join(family.members)}", 2, 5)
    return out


def apart_text(base: Base, causes: Sequence[Cause], most: int | None = None) -> list[str]:
    """Causes side by side, in lines that fit the screen.

    >>> from advisor.library.base import load
    >>> base = load()
    >>> apart_text(base, [base.causes["sooted-gas-passages"], base.causes["blocked-flue"]])[0]
    'TELL APART: soot in the flue passages | blocked flue or chimney'
    """
    rows = side_by_side(base, causes)
    out = wrapped(f"TELL APART: {' | '.join(one.title for one in causes)}", 0, 2)
    out += [line for letter, one in zip(_LETTERS, causes, strict=False)
            for line in wrapped(f"{one.title}. {one.about}", 2, first=f"{letter} ")]
    out += ["", *wrapped(KNOWLEDGE)]
    for number, row in enumerate(rows[:most], 1):
        takes = f"{row.check.title}, {row.check.minutes:g} min" if row.check else "asked or read off"
        out += ["", *wrapped(f"{number}. {base.title(row.name).upper()}: {takes} ({_worth(row, len(causes))})", 0, 3),
                *_beside([_cell(shares, because) for shares, because in zip(row.shares, row.because, strict=True)])]
    if not rows:
        out += ["", *wrapped("Nothing known tells them apart: whoever mends one mends the other.")]
    elif most is not None and len(rows) > most:
        out += ["", *wrapped(f"{len(rows) - most} more rows tell less; --all shows them.")]
    out += ["", "TO CONFIRM"]
    for letter, one in zip(_LETTERS, causes, strict=False):
        check = base.checks[one.confirm_check]
        out += wrapped(f"{check.title} ({check.minutes:g} min) shows {one.confirm_shows}", 2, first=f"{letter} ")
    return out


def _worth(row: Row, causes: int) -> str:
    """How far a row tells which of some causes it is, of all there is to tell, in words."""
    share = row.bits / (1.0 if causes == 2 else 1.585)  # log2 of the number of causes
    return ("tells nearly always which" if share > 0.8 else "tells most of the time" if share > 0.4
            else "tells sometimes" if share > 0.12 else "tells little")


def _cell(shares: Shares, because: str | None) -> str:
    met = sorted(((share, name) for name, share in shares.items() if share >= _MET), reverse=True)[:3]
    said = ", ".join(f"{plain(name)} {share_text(share)}" for share, name in met)
    if because is None:
        return f"{said} (left alone)"
    return f"{said}; {because.rstrip('.')}" if because else said


def _beside(cells: Sequence[str]) -> list[str]:
    """Cells side by side under their letters; one below the other on a narrow screen."""
    wide = (columns() - 2) // len(cells) - 2
    if wide < _NARROW or columns() < 60:
        return [line for letter, cell in zip(_LETTERS, cells, strict=False)
                for line in wrapped(cell, 2, first=f"{letter} ")]
    blocks = [wrapped(cell, 0, 2, f"{letter} ", wide) for letter, cell in zip(_LETTERS, cells, strict=False)]
    rows = zip_longest(*blocks, fillvalue="")
    return ["  " + "  ".join(f"{part:<{wide}}" for part in row).rstrip() for row in rows]
