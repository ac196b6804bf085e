"""The verbs of the command line: parse the words, call, print."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
import tempfile
import traceback
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final

from advisor.arguments import add_rules, twice
from advisor.library.base import Base, load, with_common
from advisor.library.plaintext import json_text
from advisor.library.yamlfiles import MOST_BYTES, decode, in_lines
from advisor.output import standard_streams

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

SOUND: Final = 0
HAZARD: Final = 1
BAD_INPUT: Final = 2


def main(words: Sequence[str] | None = None) -> int:
    """Run one verb; returns the exit status: 0 sound, 1 a hazard that is not released, 2 bad input or a failure."""
    with standard_streams():
        return _run(sys.argv[1:] if words is None else words)


def _run(words: Sequence[str]) -> int:
    try:
        status = _verb_of(words)
        sys.stdout.flush()  # here, where what cannot be written is still told
        return status
    except KeyboardInterrupt:
        _tell("\nstopped")
        return 130
    except BrokenPipeError:  # the reader of our output has gone, for example `| head`
        _close_output()
        return SOUND
    except OSError as error:  # a device that is full, a folder where a file should be, no right to read
        _close_output()
        _tell(f"cannot go on: {error}")
    except Exception as error:
        if type(error).__module__.partition(".")[0] != "advisor":
            _tell(_failure(error))
        else:  # LibraryError, EntryError, RecordError: what was typed or read cannot be taken
            _tell(str(error))
    return BAD_INPUT


def _verb_of(words: Sequence[str]) -> int:
    """The exit status of the verb that the words ask for."""
    wrong = twice(words)
    if wrong:
        _tell(wrong)
        return BAD_INPUT
    try:
        arguments = _parser(words).parse_args(words)
    except SystemExit as said:  # the help, the version, or words that are not known: it was printed
        return said.code if isinstance(said.code, int) else SOUND
    verb: Callable[[argparse.Namespace], int] = getattr(arguments, "verb", _call)
    return verb(arguments)


def _tell(text: str) -> None:
    with contextlib.suppress(OSError, ValueError):  # nobody listens
        print(text, file=sys.stderr)


def _close_output() -> None:
    """What is left in the buffer cannot be written; without this Python tries once more at its end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _failure(error: Exception) -> str:
    """One line about a failure of our own; the details go to a file that only its owner reads."""
    what = f"This should not happen: {type(error).__name__}: {error}. Everything accepted before is kept."
    try:
        handle, place = tempfile.mkstemp(prefix="burner-advisor-", suffix=".txt")
        with open(handle, "w", encoding="utf-8", errors="backslashreplace") as stream:
            stream.write("".join(traceback.format_exception(error)))
    except OSError as trouble:
        return f"{what} The details could not be written: {trouble}"
    return f"{what} Details: {place}"


class _Parser(argparse.ArgumentParser):
    """A parser whose help is told to have failed where it cannot be written; argparse keeps silent."""

    def print_help(self, file: SupportsWrite[str] | None = None) -> None:
        print(self.format_help(), end="", file=file)


class _Version(argparse.Action):
    """`--version`: of the advisor, its engine and its rules."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import version

        from advisor.library.base import home
        from advisor.reasoning.engine import CHOICE, evaluator_named

        print(f"burner-advisor {version('burner-advisor')}, Python {sys.version.split()[0]}\n"
              f"engine: {evaluator_named(os.environ.get(CHOICE, ''))}\nrules: {home('rules')}")
        parser.exit()


_LATER: Final = {
    "record": ("advisor.visit.recordverb", "keep and show the shop's units and visits"),
    "tomorrow": ("advisor.visit.tomorrowverb", "the list for tomorrow: whom to call, what is due, what to carry"),
    "report": ("advisor.report.reportverb", "write the report of a visit, for customer and office"),
    "effects": ("advisor.bench.effectsverb", "turn a knob of a model unit and see what it does (for learning)"),
    "practice": ("advisor.bench.practiceverb", "a practice call on a model unit (for learning)"),
    "handbook": ("advisor.handbook.siteverb", "write all that is known as pages with a search, into a folder"),
    "tell-apart": ("advisor.bench.tellapartverb", "look-alikes side by side: two or three causes, and what parts them"),
    "sheets": ("advisor.bench.sheetverb", "class sheets: work orders to reason on paper, with their keys"),
}
"""Verbs whose modules are read only where they are called, so that the others start fast."""


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    parser = _Parser(
        prog="burner-advisor",
        description="Diagnostic advisor for technicians who service residential oil burners. "
        "Without a verb it starts a call, or goes on with one.",
        epilog="The manufacturer's instructions, local codes and licensed practice come first.",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show versions, engine and rules folder, and exit")
    parser.set_defaults(case=None, rules=None)
    verbs = parser.add_subparsers(title="verbs", metavar="VERB")

    diagnose = _verb(verbs, "diagnose", _diagnose, "read a case file; print hazards, causes and the next check")
    diagnose.add_argument("case", metavar="CASE.yaml", help="a case file, or - for standard input")
    diagnose.add_argument("--json", action="store_true", help="print one JSON document")
    diagnose.add_argument("--if", dest="suppose", metavar="ENTRIES", action="append", default=[],
                          help="tell what these entries would change, such as 'o2 6.5, smoke 1'; keeps nothing")
    _add_learned(diagnose)

    call = _verb(verbs, "call", _call, "hold a service call: say what you see and read, and be told what to do next")
    call.add_argument("case", metavar="CASE.yaml", nargs="?", help="the case file to keep, or to go on with")
    _add_learned(call)

    explain = _verb(verbs, "explain", _explain, "show what is known of anything that has a name")
    explain.add_argument("name", nargs="*", help="any word people use for a cause, check, reading, hazard, rule ...; "
                         "without one, all kinds")

    listing = _verb(verbs, "rules", _rules, "list the rules")
    for key in ("subject", "cause", "quantity", "source"):
        listing.add_argument(f"--{key}", metavar="NAME", help=f"only the rules of this {key}")

    check = _verb(verbs, "check-rules", _check_rules, "check the rules and the knowledge (for authors)")
    check.add_argument("folder", nargs="?", help="a folder of rules of your own, checked beside ours")
    check.add_argument("--coverage", action="store_true", help="print which causes each check bears on")

    for name, (module, what) in _LATER.items():
        later = _verb(verbs, name, _later, what)
        if name in words:
            import_module(module).add_arguments(later)
            later.set_defaults(module=module)
    return parser


def _add_learned(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--learned", action="store_true",
                        help="take how common each cause is from the shop's own record (hazards never)")


def _later(arguments: argparse.Namespace) -> int:
    status: int = import_module(arguments.module).run(arguments, _base(arguments))
    return status


def _learned(base: Base) -> dict[str, float]:
    """How common each cause is by the shop's own record; says where that comes from."""
    from advisor.visit.learning import learned_shares
    from advisor.visit.record import open_record
    from advisor.visit.schema import default_place

    with open_record(make=False) as record:
        shares = learned_shares(record, base)
    print(f"How common each cause is was learned from {default_place()}; `record learned` shows it.", file=sys.stderr)
    return shares


def _verb(
    verbs: argparse._SubParsersAction[_Parser], name: str,
    run: Callable[[argparse.Namespace], int], what: str,
) -> argparse.ArgumentParser:
    parser = verbs.add_parser(name, help=what, description=what[:1].upper() + what[1:] + ".")
    parser.set_defaults(verb=run)
    if name != "check-rules":
        add_rules(parser)
    return parser


def _base(arguments: argparse.Namespace) -> Base:
    base = load(arguments.rules)
    for path, why in base.passed_over.items():
        print(f"{path} {why} and was passed over.", file=sys.stderr)
    return with_common(base, _learned(base)) if getattr(arguments, "learned", False) else base


def _diagnose(arguments: argparse.Namespace) -> int:
    from advisor.pages import document, screen
    from advisor.reasoning.assess import assess
    from advisor.reasoning.casefile import parse_case, read_case, written_with_others

    base = _base(arguments)
    if arguments.case == "-":
        text = decode(sys.stdin.buffer.read(MOST_BYTES + 1), "standard input")
        case = parse_case(text, "standard input", base)
    else:
        case = read_case(Path(arguments.case), base)
    others = written_with_others(base, case)
    if others:
        print(others, file=sys.stderr)
    for typed in arguments.suppose:
        from advisor.call.phrases import read_entries
        from advisor.pages.suppose import what_if

        print("\n".join([*what_if(base, case, read_entries(base, typed)), ""]))
    if arguments.suppose:
        return SOUND
    assessment = assess(case, base)
    if arguments.json:
        print(json_text(document.document(base, assessment)))
    else:
        if case.title:
            print(case.title + "\n")
        print("\n".join(screen.whole(base, assessment)))
    return HAZARD if assessment.hazards else SOUND


def _call(arguments: argparse.Namespace) -> int:
    from advisor.call.prompt import run

    return run(_base(arguments), Path(arguments.case) if arguments.case else None)


def _explain(arguments: argparse.Namespace) -> int:
    from advisor.pages.finding import UnknownNameError
    from advisor.pages.handbook import index_page, words_page

    base, name = _base(arguments), " ".join(arguments.name)
    try:
        print("\n".join(words_page(base, name) if name else index_page(base)))
    except UnknownNameError as error:
        print(error, file=sys.stderr)
        return BAD_INPUT
    return SOUND


def _rules(arguments: argparse.Namespace) -> int:
    from advisor.pages.finding import UnknownNameError
    from advisor.pages.handbook import rule_list

    try:
        lines = rule_list(_base(arguments), arguments.subject, arguments.cause, arguments.quantity, arguments.source)
    except UnknownNameError as error:
        print(error, file=sys.stderr)
        return BAD_INPUT
    print("\n".join(lines))
    return SOUND


def _check_rules(arguments: argparse.Namespace) -> int:
    from advisor.bench.benchcheck import bench_problems
    from advisor.reasoning.rulecheck import coverage, findings, source_shares

    base = load(arguments.folder)
    for path, why in base.passed_over.items():
        print(f"{path}: {why}; it is passed over")
    problems = [*findings(base), *bench_problems(base)]
    if problems:
        print(in_lines(problems))
    print(f"{len(base.rules)} rules ({', '.join(f'{count} {kind}' for kind, count in source_shares(base).items())}), "
          f"{len(base.causes)} causes, {len(base.conditions)} conditions, {len(base.hazards)} hazards, "
          f"{len(base.quantities)} quantities, {len(base.observations)} observations, {len(base.checks)} checks, "
          f"{len(base.remedies)} remedies")
    if arguments.coverage:
        for check, causes in coverage(base).items():
            print(f"{check}: {', '.join(causes) or 'no cause'}")
    print(f"{len(problems)} problems" if problems else "no problems")
    return BAD_INPUT if problems else SOUND


if __name__ == "__main__":
    sys.exit(main())
