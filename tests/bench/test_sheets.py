"""Class sheets and their keys: what they say, that a sheet gives nothing away, and that it prints on one page."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path

import pytest

from advisor.bench.callfiles import our_calls
from advisor.bench.drawcall import draw
from advisor.bench.sheets import QUESTIONS, Sheet, rendered, sheet
from advisor.cli import main
from advisor.library.base import load
from tests.report.test_browser import chromium, needs_browser


@lru_cache
def made() -> tuple[Sheet, ...]:
    return (sheet(load(), draw(load(), 3, 1, "", "sooted-gas-passages"), 1),
            sheet(load(), our_calls(load())["soot-comes-back"], 2),
            sheet(load(), our_calls(load())["sunday-headache"], 3))


def test_a_sheet_holds_the_work_order_the_readings_and_blank_lines() -> None:
    text = rendered(load(), made(), "md", key=False)
    for one in made():
        assert one.call.says in text
        assert len(one.readings) >= 8
    assert text.count("______") >= 3 * sum(lines for _, lines in QUESTIONS)
    assert load().title("smoke") in text


def test_a_sheet_does_not_give_itself_away() -> None:
    for one in made():
        assert not any(found.confirmed for found in one.assessment.causes if found.name in one.call.hidden)
        page = rendered(load(), [one], "html", key=False)
        for name in one.call.hidden:
            assert load().causes[name].title not in page


def test_a_key_holds_chain_rules_with_sources_and_wrong_turns() -> None:
    for kind in ("md", "html"):
        text = rendered(load(), made(), kind, key=True)
        for one in made():
            for name in one.call.hidden:
                assert load().causes[name].title in text
            assert one.rules
            assert len(one.wrong_turns) >= 2
            assert not {turn.name for turn in one.wrong_turns} & set(one.call.hidden)
            for rule, source in one.rules:
                assert rule.name in text
                assert source.split("(")[0].strip() in text.replace("&#39;", "'")


def test_a_house_in_danger_is_cleared_first() -> None:
    danger = made()[2]
    assert danger.next_check == "none: the house is cleared first"
    assert "First of all" in rendered(load(), [danger], "md", key=True)


def test_variants_differ_and_a_seed_repeats_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [tmp_path / name for name in ("one.md", "key.md", "again.md")]
    words = ["sheets", "--count", "2", "--seed", "8", "--subject", "oil"]
    assert main([*words, str(files[0]), "--key", str(files[1])]) == 0
    assert main([*words, str(files[2])]) == 0
    assert files[0].read_text() == files[2].read_text()
    orders = files[0].read_text().split("# Work order ")[1:]
    assert len(orders) == 2
    assert orders[0].split("\n", 1)[1] != orders[1].split("\n", 1)[1]
    assert files[1].read_text().count("# Key to work order") == 2
    assert "Written" in capsys.readouterr().out


@pytest.mark.parametrize(("words", "said"), [
    (["sheets", "--count", "99"], "wants 1 to 40"), (["sheets", "x.pdf"], "ends in .html or .md"),
    (["sheets", "a.md", "--key", "a.md"], "two files"), (["sheets", "--call", "nonsense"], "no call is called"),
    (["sheets", "--call", "cold-sunday", "--count", "2"], "one call"), (["sheets", "--cause", "gremlins"], "no cause"),
    (["sheets", "--level", "7"], "wants 1 to 4"),
])
def test_what_cannot_be_done_is_said(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert said in capsys.readouterr().err


def test_pages_need_nothing_from_elsewhere_and_escape_what_they_hold() -> None:
    for key in (False, True):
        page = rendered(load(), made(), "html", key=key)
        assert not re.search(r"<(?:link|img|script|iframe)\b|https?://|@import", page)


@needs_browser
def test_each_sheet_prints_on_one_letter_page(tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text(rendered(load(), made(), "html", key=False), encoding="utf-8")
    pdf = tmp_path / "page.pdf"
    chromium(tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", (tmp_path / "page.html").as_uri())
    printed = pdf.read_bytes()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == len(made())
    boxes = [[float(one) for one in box.split()] for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", printed)]
    assert boxes
    assert all(box == [0.0, 0.0, 612.0, 792.0] for box in boxes)  # 8.5 by 11 in. at 72 points an inch
