"""Lines as technicians type them: what share of them is understood, and that nothing is entered that was not said.

The lines of `tests/call/said.yaml` were written by people who had not read what the knowledge says. A third of them, by
the hash of the line, is held out: the mechanisms were not looked at against it. `-s` prints the score.
"""

from __future__ import annotations

from collections import Counter

import pytest

from advisor.library.base import load
from tests.understanding.scoring import SAID, Item, corpus, score, verdict

ITEMS = corpus()
TOLD = corpus(SAID.with_name("told.yaml"))


def _told(found: Counter[tuple[str, str]]) -> str:
    kinds = ("one", "several", "nothing")
    words = ("right", "asked", "missed", "wrong")
    return "\n".join(f"  {kind:<8}" + ", ".join(f"{found[kind, word]} {word}" for word in words) for kind in kinds)


def _part(held_out: bool) -> list[Item]:
    return [item for item in ITEMS if item.held_out == held_out]


def test_the_corpus_is_as_large_as_it_was_asked_for() -> None:
    assert len(ITEMS) >= 400
    assert sum(not item.gives for item in ITEMS) >= 60
    assert len({item.line for item in ITEMS}) == len(ITEMS)


# 0.95 right and nothing wrong is the aim; these hold what is reached, so that no change gives it away unseen.
@pytest.mark.parametrize(("held_out", "least", "most_wrong"), [(False, 0.82, 0.035), (True, 0.54, 0.12)])
def test_the_share_of_lines_that_is_understood(held_out: bool, least: float, most_wrong: float) -> None:
    items = _part(held_out)
    found = score(load(), items)
    print(f"\n{'held out' if held_out else 'open'}, {len(items)} lines:\n{_told(found)}")
    right = sum(count for (_, word), count in found.items() if word == "right") / len(items)
    wrong = sum(count for (_, word), count in found.items() if word == "wrong") / len(items)
    assert right >= least
    assert wrong <= most_wrong


def test_the_share_of_the_second_list_that_is_understood() -> None:
    """Written before it was looked at what its lines give; the mechanisms were mended by it since."""
    found = score(load(), TOLD)
    print(f"\ntold, {len(TOLD)} lines:\n{_told(found)}")
    right = sum(count for (_, word), count in found.items() if word == "right") / len(TOLD)
    wrong = sum(count for (_, word), count in found.items() if word == "wrong") / len(TOLD)
    assert right >= 0.9
    assert wrong <= 0.015


def test_what_gives_nothing_is_not_guessed_at() -> None:
    guessed = [item.line for item in _part(False) if not item.gives and verdict(load(), item)[0] == "wrong"]
    assert len(guessed) <= 6, guessed
