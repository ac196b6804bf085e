"""The verb `sheets`: work orders with readings already taken, to reason on paper, and the keys to them."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from advisor.bench.benchfiles import BenchError
from advisor.bench.callfiles import call_named
from advisor.bench.callitems import LEVELS
from advisor.bench.drawcall import draw
from advisor.bench.effectstext import MODEL
from advisor.bench.effectsverb import cause_called, write
from advisor.bench.sheets import Sheet, rendered, sheet
from advisor.library.base import Base

_MOST: Final = 40
"""Sheets of one printing."""
_KINDS: Final = {".html": "html", ".htm": "html", ".md": "md", ".markdown": "md"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words after `sheets`."""
    parser.description = ("Class sheets: a work order with readings already taken and lines for the reasoning, a page "
                          "each, and separately the key with chain, rules, sources and wrong turns.")
    parser.epilog = MODEL
    parser.add_argument("file", nargs="?", type=Path, metavar="FILE",
                        help="where to write the sheets: .html prints on letter paper, .md is Markdown")
    parser.add_argument("--key", type=Path, metavar="FILE", help="where to write the keys, in the same two kinds")
    parser.add_argument("--count", type=int, default=1, metavar="N", help=f"how many variants, up to {_MOST}")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="the same number gives the same sheets")
    parser.add_argument("--level", type=int, default=1, metavar="N",
                        help="; ".join(f"{one} {what}" for one, what in LEVELS.items()))
    parser.add_argument("--subject", default="", metavar="SUBJECT",
                        help="air, oil, ignition, draft, exchanger or controls")
    parser.add_argument("--cause", metavar="CAUSE", help="sheets that turn out to be this")
    parser.add_argument("--call", metavar="CALL", help="the sheet of one of our calls; `practice --list` names them")


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Do it; returns the exit status. Errors: BenchError."""
    if not 1 <= arguments.count <= _MOST:
        raise BenchError(f"{arguments.count} sheets: wants 1 to {_MOST}")
    kinds = [_kind(path) for path in (arguments.file, arguments.key)]
    if arguments.file and arguments.key and arguments.file.resolve() == arguments.key.resolve():
        raise BenchError("the sheets and their key must go to two files")
    made = _sheets(arguments, base)
    if arguments.file:
        write(arguments.file, rendered(base, made, kinds[0], key=False))
    if arguments.key:
        write(arguments.key, rendered(base, made, kinds[1], key=True))
    if not arguments.file:
        print(rendered(base, made, "md", key=False))
    written = [str(path) for path in (arguments.file, arguments.key) if path]
    if written:
        print(f"Written: {' and '.join(written)}")
    return 0


def _sheets(arguments: argparse.Namespace, base: Base) -> list[Sheet]:
    if arguments.call:
        if arguments.cause or arguments.subject or arguments.count > 1:
            raise BenchError("--call is one call; it takes no --cause, --subject or --count")
        return [sheet(base, call_named(base, arguments.call))]
    cause = cause_called(base, arguments.cause).name if arguments.cause else ""
    return [sheet(base, draw(base, arguments.seed + number, arguments.level, arguments.subject, cause), number + 1)
            for number in range(arguments.count)]


def _kind(path: Path | None) -> str:
    if path is None:
        return "md"
    kind = _KINDS.get(path.suffix.lower())
    if kind is None:
        raise BenchError(f"{path}: wants a name that ends in .html or .md")
    return kind
