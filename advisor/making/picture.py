"""A call as a picture, for the README: made from a run, so that it shows what is there.

    python -m advisor.making.picture demo/calls/soot.txt demo/pictures/call.svg

Wants `rich` (in the `test` extra), which draws lines of a terminal as SVG.
"""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path
from typing import Final

from rich.console import Console
from rich.text import Text

from advisor.call.conclude import begin
from advisor.call.hear import reply
from advisor.call.parts import fit
from advisor.call.prompt import BESIDE
from advisor.library.base import load
from advisor.pages.wording import at_width
from advisor.reasoning.case import Case

COLUMNS: Final = 80
ROWS: Final = 24
LINES: Final = 8
"""Lines typed that the picture shows: the first of the script."""


def played(script: str, most: int = LINES) -> list[str]:
    """What stands on the screen after the first lines of a script, each line typed with a mark before it.

    >>> played("soot", 1)[0]
    '> soot'
    """
    turn = begin(load(), Case())
    out: list[str] = []
    with at_width(COLUMNS):
        for line in script.splitlines()[:most]:
            turn, screen = reply(turn, line)
            out += [f"> {line}", *fit(screen, ROWS - BESIDE)[0]]
    return out


def main(script: str, to: str) -> None:
    """Write the picture of a call played from a script."""
    console = Console(record=True, width=COLUMNS, file=io.StringIO())
    for line in played(Path(script).read_text(encoding="utf-8")):
        console.print(Text(line, style="bold" if line.startswith("> ") else ""))
    picture = re.sub(r"@font-face \{.*?\}\n", "", console.export_svg(title="burner-advisor call"), flags=re.DOTALL)
    picture = re.sub(r"<!--.*?-->", "", picture, flags=re.DOTALL)
    Path(to).write_text(picture.replace("Fira Code, ", ""), encoding="utf-8")  # nothing is fetched to show it


if __name__ == "__main__":
    main(*sys.argv[1:3])
