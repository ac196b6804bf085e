"""The handbook as a site: every item has its page, no link leads nowhere, the search finds in a real browser."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.handbook.site import address_of, site
from advisor.library.base import load
from advisor.pages.finding import shelves_of
from tests.pages.axe import serious
from tests.report.test_browser import DESK, PHONE, SAY, needs_axe, needs_browser, seen


@lru_cache
def files() -> dict[str, str]:
    return dict(site(load()))


def alone(name: str) -> str:
    """A page with its style and script in it, as a frame without an address takes it."""
    page = files()[name].replace('<link rel="stylesheet" href="style.css" />', f"<style>{files()['style.css']}</style>")
    return page.replace('<script src="handbook.js"></script>', f"<script>{files()['handbook.js']}</script>")


def test_everything_known_has_a_page() -> None:
    for kind, shelf in shelves_of(load()).items():
        for name in shelf:
            assert address_of(kind, name) in files(), (kind, name)


def test_no_link_leads_nowhere_and_none_leads_out() -> None:
    for name, text in files().items():
        if name.endswith(".html"):
            for address in re.findall(r'(?:href|src|action)="([^"#]*)"', text):
                assert address in files(), (name, address)
    for name, text in files().items():
        assert not re.search(r"https?://(?!www\.w3\.org/)|@import|fetch\(|XMLHttpRequest", text), name


def test_links_lead_both_ways() -> None:
    """Where one page links to another, that one names it, unless it links to it in its own text."""
    of = {name: set(re.findall(r'href="([a-z]+-[^"]+\.html)"', text)) for name, text in files().items()
          if re.match(r"(?:cause|check|remedy|hazard)-", name)}
    for name, others in of.items():
        for other in others & set(of):
            assert name in of[other], (name, other)


def test_a_rule_is_told_in_full_with_what_blocks_it() -> None:
    base = load()
    rule = next(one for one in base.rules.values() if len(one.when) == 2 and all(
        name in base.observations and len(base.named[name].symbols) > len(any_of) for name, any_of in one.when.items()))
    text = files()[address_of("rule", rule.name)]
    blocked = text[text.index("What blocks it"):]
    for name in rule.when:
        assert base.title(name) in re.sub("<[^>]+>", "", text)
        assert base.title(name) in re.sub("<[^>]+>", "", blocked)


def test_what_raises_co_is_told_level_by_level_and_no_cause_makes_it_normal() -> None:
    """Short of air a flame burns to CO: `common practice`."""
    text = files()["question-co.html"]
    assert "What makes it: normal?" not in text
    high = text[text.index("What makes it: high?"):]
    assert "cause-air-shutter-too-closed.html" in high


@needs_browser
@pytest.mark.parametrize(("typed", "address"), [
    ("what raises CO", "question-co.html"), ("soot", "cause-sooted-gas-passages.html"),
    ("clogged nozzle", "cause-nozzle-plugged.html"), ("cad cell", "cause-flame-sensor-dirty.html"),
    ("what smokes at start only", "question-complaint.html"), ("what makes the stack hot", "question-net_stack.html"),
])
def test_the_search_finds_by_what_people_type(tmp_path: Path, typed: str, address: str) -> None:
    script = SAY + f"""
      const box = document.getElementById('find');
      box.value = {typed!r}; box.dispatchEvent(new Event('input'));
      say([...document.querySelectorAll('#results a')].map(one => one.getAttribute('href')));"""
    assert address in seen(tmp_path, alone("search.html"), PHONE, script)[:12]


@needs_browser
def test_the_basics_hide_the_rest(tmp_path: Path) -> None:
    script = SAY + """
      const dial = document.getElementById('depth'), shown = () =>
        [...document.querySelectorAll('main h2')].filter(one => one.offsetParent).map(one => one.textContent);
      const counts = [];
      for (const level of ['basic', 'working', 'master']) {
        dial.value = level; dial.dispatchEvent(new Event('change')); counts.push(shown());
      }
      say(counts);"""
    basic, working, master = seen(tmp_path, alone("cause-sooted-gas-passages.html"), DESK, script)
    assert set(basic) < set(working) < set(master)
    assert "Remedy" in working
    assert "Rules about it" in master
    assert "Rules about it" not in working


@needs_browser
@pytest.mark.parametrize("name", ["index.html", "cause-sooted-gas-passages.html", "all-rule.html", "search.html"])
def test_nothing_sticks_out_on_a_phone(tmp_path: Path, name: str) -> None:
    script = SAY + "const root = document.documentElement; say([root.clientWidth, root.scrollWidth]);"
    inner, scroll = seen(tmp_path, alone(name), PHONE, script)
    assert scroll <= inner == PHONE


@needs_browser
@needs_axe
@pytest.mark.parametrize("name", ["index.html", "cause-sooted-gas-passages.html", "hazard-flooded-chamber.html",
                                  "search.html", "question-co.html"])
def test_accessibility_has_no_serious_finding(tmp_path: Path, name: str) -> None:
    assert serious(tmp_path, alone(name), PHONE) == []


def test_a_folder_of_other_files_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    assert main(["handbook", str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert [one.name for one in tmp_path.iterdir()] == ["mine.txt"]
