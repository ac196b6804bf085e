"""A case and a kept visit say by which rules they were advised, and what of them the rules of now do not know."""

from __future__ import annotations

from pathlib import Path

from advisor.library.base import load
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.casefile import parse_case, read_case, save_case, write_case
from tests.call.playing import play
from tests.test_cli import run

OWN = """
- cause: gremlin
  title: a gremlin
  subject: air
  common: rare
  about: a try
  chain: [{moves: smoke, to: [some], because: a try}]
  confirm: {check: air-trial, shows: it sits there}
  remedy: set-air-by-smoke-and-co2
"""
RULE = """
- rule: gremlin-seen
  when: {run_noise: [squeal]}
  confirms: [gremlin]
  supports: {gremlin: slight}
  because: a try
  source: common practice
  examples: [{fires: {run_noise: squeal}}, {stays: {run_noise: normal}}]
"""


def own_rules(folder: Path) -> Path:
    rules = folder / "mine"
    (rules / "knowledge").mkdir(parents=True)
    (rules / "knowledge" / "more.yaml").write_text(OWN)
    (rules / "own.yaml").write_text(RULE)
    return rules


def test_a_case_file_says_by_which_rules_it_was_advised(tmp_path: Path) -> None:
    ours, own = load(), load(own_rules(tmp_path))
    assert ours.rules_used != own.rules_used
    assert own.rules_used.endswith("with those in mine")
    case = Case((Entry("smoke", "4", 4.0),))
    text = write_case(case, own)
    read = parse_case(text, "case.yaml", ours)
    assert (read, read.rules) == (case, own.rules_used)


def test_a_case_of_other_rules_is_told_once_and_read_all_the_same(tmp_path: Path) -> None:
    ours, own, path = load(), load(own_rules(tmp_path)), tmp_path / "case.yaml"
    save_case(Case((Entry("smoke", "4", 4.0),)), path, own)
    told = "It was written with other rules (burner-advisor"
    status, out, errors = run("diagnose", str(path))
    assert (status, told in errors) == (0, True)
    save_case(Case((Entry("smoke", "4", 4.0),)), path, ours)
    status, same, errors = run("diagnose", str(path))
    assert (status, errors) == (0, "")
    assert out == same
    save_case(Case((Entry("smoke", "4", 4.0),)), path, own)
    _, out, _ = run("call", str(path), typed="quit\n")
    assert told in " ".join(out.split())


def test_what_was_confirmed_by_rules_that_are_not_given_is_named(tmp_path: Path) -> None:
    rules = own_rules(tmp_path)
    case = tmp_path / "c.yaml"
    case.write_text("entries: {run_noise: squeal}")
    place = ("--file", str(tmp_path / "own.sqlite3"))
    assert run("record", "add-unit", "A", *place)[0] == 0
    status, _, errors = run("record", "keep", str(case), "--unit", "A", "--confirmed", "gremlin", *place,
                            "--rules", str(rules))
    assert (status, errors) == (0, "")
    said = " ".join(run("record", "learned", *place)[1].split())
    assert "Confirmed here, and unknown to the rules of now: gremlin." in said
    assert "give them with --rules FOLDER" in said
    assert "no cause has been confirmed" not in said
    assert "a gremlin" in run("record", "learned", *place, "--rules", str(rules))[1]
    assert "with those in mine" in " ".join(run("record", "show", "1", *place)[1].split())


def test_a_consultation_writes_the_rules_of_now(tmp_path: Path) -> None:
    from advisor.call.autosave import CaseFile

    base = load()
    file = CaseFile(tmp_path / "case.yaml", base)
    play(file, "boiler")
    assert read_case(file.path, base).rules == base.rules_used
