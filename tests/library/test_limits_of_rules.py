"""What rules cannot hold is told when they are loaded, with file and line, and never fails in the middle of a call."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.library.rulebase import MOST_CELLS
from advisor.library.yamlfiles import LibraryError
from advisor.reasoning import rulecheck
from advisor.reasoning.engine import Fact, Firing
from advisor.reasoning.plainrules import PlainSession
from tests.test_cli import run

OBSERVATIONS = [one for one in load().observations.values() if one.part == "reading" and not one.only]


def rule(name: str, when: str, effect: str, fires: str, stays: str = "smoke: 0") -> str:
    return (f"- rule: {name}\n  when: {{{when}}}\n  {effect}\n  because: a try\n  source: common practice\n"
            f"  examples: [{{fires: {{{fires}}}}}, {{stays: {{{stays}}}}}]\n")


def refused(folder: Path, text: str) -> str:
    (folder / "own.yaml").write_text(text)
    with pytest.raises(LibraryError) as error:
        load(folder)
    return str(error.value)


def wide(count: int) -> tuple[str, str]:
    chosen = OBSERVATIONS[:count]
    return (", ".join(f'{one.name}: ["{one.symbols[0]}"]' for one in chosen),
            ", ".join(f'{one.name}: "{one.symbols[0]}"' for one in chosen))


@pytest.mark.parametrize("count", [8, 16, 60])
def test_a_table_with_too_many_joint_answers(tmp_path: Path, count: int) -> None:
    when, fires = wide(count)
    said = refused(tmp_path, rule("wide", when, "supports: {fan-wheel-dirty: strong}", fires))
    assert "own.yaml:1: the rules on" in said
    assert f"joint answers, and a table holds {MOST_CELLS:,}; let a rule conclude a condition" in said


def test_a_condition_that_hangs_on_too_much(tmp_path: Path) -> None:
    text = ""
    for at in range(0, 52, 4):
        names = OBSERVATIONS[at:at + 4]
        text += rule(f"part-{at}", ", ".join(f'{one.name}: ["{one.symbols[0]}"]' for one in names),
                     "concludes: {gas_passages: restricted}",
                     ", ".join(f'{one.name}: "{one.symbols[0]}"' for one in names))
    assert "the rules that conclude gas_passages span" in refused(tmp_path, text)


def test_what_a_condition_cannot_hold_is_told_of_the_rules_that_came_last(tmp_path: Path) -> None:
    """Not of our own, which fit by themselves."""
    text = "".join(rule(f"part-{at}", f'{one.name}: ["{one.symbols[0]}"]', "concludes: {gas_passages: restricted}",
                        f'{one.name}: "{one.symbols[0]}"') for at, one in enumerate(OBSERVATIONS[:20]))
    (told,) = [line for line in refused(tmp_path, text).splitlines() if "the rules that conclude gas_passages" in line]
    assert "own.yaml:" in told.split(": ")[0]


def test_two_values_of_one_condition_from_the_same_facts(tmp_path: Path) -> None:
    condition = next(one for one in load().conditions.values() if len(one.values) > 1)
    one, other = list(condition.values)[:2]
    text = rule("one", "wind_effect: ['yes']", f"concludes: {{{condition.name}: {one}}}", "wind_effect: 'yes'")
    text += rule("other", "wind_effect: ['yes']", f"concludes: {{{condition.name}: {other}}}", "wind_effect: 'yes'")
    said = refused(tmp_path, text)
    assert f"own.yaml:7: rule other concludes {condition.name} {other!r}, where rule one" in said
    assert "own.yaml:1) concludes" in said


def test_two_values_that_only_happen_to_meet_are_left_open(tmp_path: Path) -> None:
    condition = next(one for one in load().conditions.values() if len(one.values) > 1)
    one, other = list(condition.values)[:2]
    text = rule("one", "wind_effect: ['yes', 'no']", f"concludes: {{{condition.name}: {one}}}", "wind_effect: 'yes'")
    text += rule("other", "thimble: [tight, leaking, too-deep]", f"concludes: {{{condition.name}: {other}}}",
                 "thimble: tight")
    (tmp_path / "own.yaml").write_text(text)
    case = tmp_path / "case.txt"
    case.write_text("entries: {wind_effect: 'yes', thimble: tight, smoke: 5}")
    status, out, errors = run("diagnose", str(case), "--rules", str(tmp_path))
    assert status == 0, errors
    assert f"{condition.title}: the readings point two ways; it is left open" in " ".join(out.split())


@pytest.mark.parametrize(("effect", "words"), [
    ("confirms: [fan-wheel-dirty]\n  excludes: [fan-wheel-dirty]", "confirms and excludes fan-wheel-dirty; keep one"),
    ("supports: {fan-wheel-dirty: slight}\n  excludes: [fan-wheel-dirty]", "supports and excludes"),
    ("confirms: [fan-wheel-dirty]\n  against: {fan-wheel-dirty: slight}", "confirms and is against"),
    ("supports: {fan-wheel-dirty: slight}\n  against: {fan-wheel-dirty: slight}", "speaks both for and against"),
])
def test_one_rule_that_says_both(tmp_path: Path, effect: str, words: str) -> None:
    said = refused(tmp_path, rule("both", "smoke: [heavy]", effect, "smoke: 5"))
    assert f"own.yaml:1: rule both {words}" in said


def test_a_complaint_for_which_one_cause_speaks(tmp_path: Path) -> None:
    (tmp_path / "knowledge").mkdir()
    (tmp_path / "knowledge" / "more.yaml").write_text(
        "- observation: second_complaint\n  title: second complaint\n  part: complaint\n  question: What else?\n"
        "  answers: {none: {usual: 0.9, means: nothing}, whistle: {usual: 0.1, means: it whistles}}\n"
        "- check: ask-more\n  title: ask for more\n  gives: [second_complaint]\n  minutes: 1\n  state: any\n"
        "  who: technician\n  how: [Ask.]\n  why: people forget\n  mistakes: []\n")
    text = rule("whistle", "second_complaint: [whistle]", "supports: {fan-wheel-dirty: strong}",
                "second_complaint: whistle", "second_complaint: none")
    said = refused(tmp_path, text)
    assert "own.yaml:1: second_complaint 'whistle' speaks for fan-wheel-dirty alone" in said


def test_an_example_runs_only_rules_that_can_matter_to_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Thousands of rules on the same names would else fire on each of the thousands of examples."""
    causes = list(load().causes)[:20]
    text = "".join(rule(f"part-{at}", "smoke: [zero, heavy]", f"supports: {{{cause}: slight}}", "smoke: 5", "smoke: 1")
                   for at, cause in enumerate(causes))
    (tmp_path / "own.yaml").write_text(text)
    base = load(tmp_path)
    fired: list[str] = []
    enter = PlainSession._enter

    def noted(session: PlainSession, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        firings = enter(session, facts)
        fired.extend(firing.rule for firing in firings)
        return firings

    monkeypatch.setattr(PlainSession, "_enter", noted)
    mine = base.rules["part-0"]
    assert [rulecheck.example_problem(base, mine, example) for example in mine.examples] == ["", ""]
    assert not [name for name in fired if name.startswith("part-")]


def test_what_repeats_is_told_once_a_rule(tmp_path: Path) -> None:
    """Of rules that say the same, each is told beside one of the others, not beside every one."""
    shares = ["zero", "zero, trace", "zero, trace, some", "zero, some"]
    text = "".join(rule(f"part-{at}", f"smoke: [{symbols}]", "supports: {fan-wheel-dirty: slight}", "smoke: 0",
                        "smoke: 5") for at, symbols in enumerate(shares))
    (tmp_path / "own.yaml").write_text(text)
    told = [str(one) for one in rulecheck.repeats(load(tmp_path)) if "part-0" in str(one) or "part-3" in str(one)]
    assert [line.split(": ")[1] for line in told] == [
        f"rule part-{at} says of fan-wheel-dirty what part-0 says already; keep one" for at in (1, 2, 3)]
