"""The verb `effects`: turn a knob of a model unit, or follow a cause to its readings."""

from __future__ import annotations

import argparse
from pathlib import Path

from advisor.arguments import words_for
from advisor.bench.benchfiles import BenchError
from advisor.bench.chain import chain_of, chain_svg, chain_text
from advisor.bench.effectspage import effects_page
from advisor.bench.effectspicture import pictures, standalone
from advisor.bench.effectstext import MODEL, effects_text, severity_table
from advisor.bench.knobs import knob_called, knobs
from advisor.bench.sweep import MOST_STEPS, STEPS, sweep
from advisor.bench.units import ModelUnit, unit_called, units
from advisor.library.base import Base
from advisor.library.items import Cause
from advisor.library.yamlfiles import near, shorten
from advisor.pages.finding import having
from advisor.pages.wording import wrapped


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words after `effects`."""
    parser.description = ("Turn one knob of a model unit through its range, or follow a cause to its readings. Without "
                          "a knob it lists the knobs and the units.")
    parser.epilog = MODEL
    parser.add_argument("knob", nargs="*", metavar="KNOB", help="what to turn, such as air shutter, soot")
    parser.add_argument("--unit", metavar="UNIT", default="boiler", help="the unit; `effects` alone lists them")
    parser.add_argument("--beside", metavar="UNIT", help="a second unit, side by side")
    parser.add_argument("--from", dest="low", type=_number, metavar="VALUE", help="where the range begins")
    parser.add_argument("--to", dest="high", type=_number, metavar="VALUE", help="where the range ends")
    parser.add_argument("--places", type=int, default=STEPS, metavar="N",
                        help=f"places in the range, 3 to {MOST_STEPS} (usually {STEPS})")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write a page with sliders that needs no network")
    parser.add_argument("--svg", metavar="PLACE", type=Path,
                        help="write the pictures: into a folder; of a cause, into a file")
    parser.add_argument("--cause", metavar="CAUSE", help="show the chain from a cause to its readings instead")


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if abs(value) < 1e6:
        return value
    raise argparse.ArgumentTypeError(f"{text!r} is not a number such as 40 or 0.05")


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Do it; returns the exit status. Errors: BenchError."""
    chosen = [unit_called(words) for words in (arguments.unit, arguments.beside) if words]
    if arguments.cause:
        if arguments.knob or arguments.html:
            raise BenchError("--cause stands alone: it takes --unit and --svg, and no knob and no page")
        return _chain(base, cause_called(base, arguments.cause), chosen, arguments.svg)
    knob = knob_called(" ".join(arguments.knob), base) if arguments.knob else None
    if arguments.html:
        write(arguments.html, effects_page(base, chosen, knob))
        print(f"Written: {arguments.html}. Open it in a browser; it needs no network.")
        return 0
    if knob is None:
        return _list(base)
    sweeps = [sweep(base, knob, unit.plant(), unit.title, arguments.places, (arguments.low, arguments.high))
              for unit in chosen]
    print("\n".join(effects_text(base, sweeps)))
    if arguments.svg:
        for reading, svg in pictures(base, sweeps):
            write(arguments.svg / f"{knob.name}-{reading.name.replace('_', '-')}.svg", standalone(svg))
        print(f"\nPictures written into {arguments.svg}")
    return 0


def cause_called(base: Base, words: str) -> Cause:
    """The cause that a name, a title or an alias means; errors: BenchError.

    >>> from advisor.library.base import load
    >>> cause_called(load(), "dirty blower").name
    'fan-wheel-dirty'
    """
    known = words_for(base.causes)
    said = words.casefold().strip()
    if said in known or said.replace("-", " ") in known:
        return base.causes[known.get(said) or known[said.replace("-", " ")]]
    found = having(base, words).get("cause", [])
    if len(found) == 1:
        return base.causes[found[0].name]
    if 1 < len(found) <= 8:
        raise BenchError(f"{shorten(words)!r} may mean {', '.join(one.name for one in found)}; say which")
    meant = near(said, known, 3)
    raise BenchError(f"no cause is called {shorten(words)!r}"
                     + (f"; did you mean {' or '.join(meant)}?" if meant else "; `explain causes` lists them"))


def _chain(base: Base, cause: Cause, chosen: list[ModelUnit], place: Path | None) -> int:
    chain = chain_of(base, cause)
    print("\n".join(chain_text(base, chain)))
    for unit in chosen:
        table = severity_table(base, cause.name, unit.plant())
        if table:
            print("\n".join(["", *wrapped(f"On the model unit, {unit.title}:", 0, 2), *table, *wrapped(MODEL)]))
    if place:
        write(place, chain_svg(base, chain))
        print(f"\nPicture written: {place}")
    return 0


def _list(base: Base) -> int:
    print("KNOBS")
    for knob in knobs(base).values():
        print("\n".join(wrapped(f"{knob.name:<22} {knob.title}", 2, 25)))
    print("\nUNITS (--unit, --beside)")
    for unit in units().values():
        print("\n".join(wrapped(f"{unit.name:<22} {unit.title}", 2, 25)))
    print("\n" + "\n".join(wrapped("Such as: effects air shutter --unit boiler --beside old-boiler; effects --html "
                                   "knobs.html; effects --cause weak-cut-off", 0, 2)))
    return 0


def write(path: Path, text: str) -> None:
    """Write a text file, with its folders."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
