"""Look-alikes: what tells apart best is on top, by the advisor's own look-ahead; bad words get one line."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from advisor.bench.benchfiles import BenchError
from advisor.bench.effectsverb import cause_called
from advisor.bench.likeness import confused, information, side_by_side
from advisor.bench.tellapartverb import apart_text, offered
from advisor.cli import main
from advisor.library.base import load
from advisor.pages.wording import at_width


def test_information_is_that_of_a_noisy_channel() -> None:
    """A binary channel with an error of 0.11 passes 1 - H(0.11) = 0.5002 bits (Shannon 1948; the entropy function
    worked out here from its definition)."""
    wrong = 0.11
    entropy = -(wrong * math.log2(wrong) + (1 - wrong) * math.log2(1 - wrong))
    assert information([{"a": 1 - wrong, "b": wrong}, {"a": wrong, "b": 1 - wrong}]) == pytest.approx(1 - entropy)
    assert information([{"a": 1.0}, {"b": 1.0}, {"c": 1.0}]) == pytest.approx(math.log2(3))


def test_what_only_one_of_two_shows_in_its_own_place_tells_best() -> None:
    """Soot is seen in the passages, a plugged flue from the chimney's base: `common practice`."""
    base = load()
    rows = side_by_side(base, [base.causes["sooted-gas-passages"], base.causes["blocked-flue"]])
    assert {rows[0].name, rows[1].name} == {"passages_look", "chimney_look"}
    assert rows[0].because[0]
    assert rows[0].because[1] is None
    assert all(earlier.bits >= later.bits - 1e-5 for earlier, later in pairwise(rows))
    for row in rows:
        for shares in row.shares:
            assert sum(shares.values()) == pytest.approx(1.0, abs=0.02), row.name


def test_the_order_of_causes_changes_no_row() -> None:
    base = load()
    one, other, third = (base.causes[name] for name in ("nozzle-worn", "nozzle-plugged", "weak-cut-off"))
    there, back = side_by_side(base, [one, other, third]), side_by_side(base, [third, other, one])
    assert {row.name: round(row.bits, 9) for row in there} == {row.name: round(row.bits, 9) for row in back}


@pytest.mark.parametrize("wide", [40, 80])
def test_it_fits_the_screen(wide: int) -> None:
    base = load()
    with at_width(wide):
        for names in (("nozzle-worn", "nozzle-plugged", "weak-cut-off"), ("circulator-dead", "zone-valve-stuck-shut")):
            lines = apart_text(base, [base.causes[name] for name in names])
            assert max(map(len, lines)) <= wide


def test_pairs_of_the_benchmark_are_offered_first_the_most_frequent_on_top() -> None:
    base = load()
    pairs = confused(base)
    assert len(pairs) > 5
    text = " ".join(" ".join(offered(base)).split())
    places = [text.index(f"tell-apart {' '.join(pair.causes)}") for pair in pairs]
    assert places == sorted(places)
    assert all(place < text.index("ALIKE IN THEIR READINGS") for place in places)


@pytest.mark.parametrize(("words", "said"), [
    (["sooted-gas-passages"], "look-alikes of soot in the flue passages"),
    (["sooted-gas-passages", "sooted gas passages"], "each once"),
    (["a", "b", "c", "d"], "put a name of several words into quotes"),
    (["sooted-gas-passages", "nothing-such"], "no cause is called"),
])
def test_bad_words_get_one_line(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tell-apart", *words]) == 2
    errors = capsys.readouterr().err
    assert said in errors
    assert errors.count("\n") == 1


def test_a_word_of_several_causes_names_them() -> None:
    with pytest.raises(BenchError, match="sooted-gas-passages"):
        cause_called(load(), "soot")
