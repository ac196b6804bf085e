"""Words of the command line that several verbs share."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence

from advisor.library.items import Item


def add_rules(parser: argparse.ArgumentParser, default: object = None) -> None:
    """Add `--rules FOLDER`. Of a word within a verb that has it too, `default` is `argparse.SUPPRESS`."""
    parser.add_argument("--rules", metavar="FOLDER", default=default,
                        help="a folder of rules of your own, read beside ours")


def words_for(shelf: Mapping[str, Item]) -> dict[str, str]:
    """Every word that means an item of a shelf, in small letters, and the name it means: name, title, aliases.

    >>> from advisor.library.base import load
    >>> words_for(load().causes)["dirty blower"]
    'fan-wheel-dirty'
    """
    out: dict[str, str] = {}
    for name, item in shelf.items():
        for word in (name, name.replace("-", " "), item.title, *getattr(item, "aliases", ())):
            out.setdefault(word.casefold(), name)
    return out


def twice(words: Sequence[str]) -> str:
    """What to say where `--rules` or `--file` is given twice, in whatever place: one would be dropped without a word.

    >>> twice(["diagnose", "--rules", "a", "case.yaml"])
    ''
    """
    for option, advice in (("--rules", "put all rules of your own into one folder"), ("--file", "name one record")):
        if sum(len(word) > 3 and option.startswith(word.partition("=")[0]) for word in words) > 1:
            return f"{option} was given twice; {advice}"
    return ""
