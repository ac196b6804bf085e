"""The verb `handbook`: all that is known, written into a folder as pages."""

from __future__ import annotations

import argparse
from pathlib import Path

from advisor.bench.benchfiles import BenchError
from advisor.handbook.site import MARK, site
from advisor.library.base import Base


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words after `handbook`."""
    parser.description = ("Write the handbook into a folder: a page for every cause, check, remedy, reading, look, "
                          "hazard, rule, limit, term and source, with pictures, links and a search. It needs no "
                          "network.")
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="a new or empty folder, or one with a handbook")


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Do it; returns the exit status. Errors: BenchError."""
    folder: Path = arguments.folder
    start = folder / "index.html"
    if folder.exists() and not folder.is_dir():
        raise BenchError(f"{folder}: is a file; name a folder")
    ours = start.is_file() and MARK in start.read_text(encoding="utf-8", errors="replace")
    if folder.is_dir() and any(folder.iterdir()) and not ours:
        raise BenchError(f"{folder}: holds other files, and no handbook; name a new or empty folder")
    folder.mkdir(parents=True, exist_ok=True)
    pages = 0
    for name, text in site(base):
        (folder / name).write_text(text, encoding="utf-8")
        pages += name.endswith(".html")
    print(f"Written: {pages} pages. Open {start} in a browser; it needs no network.")
    return 0
