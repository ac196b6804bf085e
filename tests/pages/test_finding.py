"""`explain` finds by the words people type, and never shows one thing where several are meant."""

from __future__ import annotations

import pytest

from advisor.cli import main
from advisor.library.base import load
from advisor.pages.finding import UnknownNameError, having
from advisor.pages.handbook import index_page, page, words_page


@pytest.mark.parametrize(("words", "names"), [
    ("soot", ["sooted-gas-passages", "connector-poor", "smoke-in-living-space"]),
    ("pump", ["pump-worn", "pump-seized", "measure-pump-pressure"]),
    ("cad cell", ["flame-sensor-dirty", "flame-sensor-failed", "inspect-sensor"]),
    ("nozzle", ["nozzle-worn", "nozzle-plugged"]),
])
def test_a_word_that_names_several_lists_them(words: str, names: list[str]) -> None:
    lines = words_page(load(), words)
    assert max(map(len, lines)) <= 80
    for name in names:
        assert any(line.split()[:1] == [name] for line in lines), name


def test_a_name_or_title_gets_its_page_alone() -> None:
    for words in ("sooted-gas-passages", "soot in the flue passages", "causes"):
        assert words_page(load(), words) == page(load(), words)


def test_nothing_that_has_not_all_words_is_found() -> None:
    for kind, items in having(load(), "cad cell").items():
        for item in items:
            text = " ".join((item.name, item.title, *getattr(item, "aliases", ()))).replace("-", " ").lower()
            assert {"cad", "cell"} <= set(text.split()), (kind, item.name)
    with pytest.raises(UnknownNameError, match="nothing here is called"):
        words_page(load(), "xyzzy")


def test_bare_explain_lists_every_kind(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    assert capsys.readouterr().out.splitlines() == index_page(load())
    for line in index_page(load()):
        if line.startswith("  explain "):
            assert words_page(load(), line.split()[1])[0] == line.split()[1].upper()
