"""A folder of rules as people have it: other programs' files in it, links, slips of YAML, thousands of mistakes."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.library.yamlfiles import MOST_SHOWN, LibraryError, near, parse_yaml
from advisor.physics import units
from advisor.reasoning import entries
from advisor.reasoning.casefile import parse_case
from tests.test_cli import run

RULE = """
- rule: gray-day
  when: {smoke: [heavy]}
  supports: {fan-wheel-dirty: slight}
  because: "A try: nothing more."
  source: common practice
  examples: [{fires: {smoke: 5}}, {stays: {smoke: 0}}]
"""
PIPELINE = "name: build\non: [push]\njobs:\n  test: {runs-on: x, steps: [{run: make}]}\n"
FOREIGN = {"pipeline.yaml": PIPELINE, "hosts.yml": "- hosts: all\n  tasks: [{name: ping}]\n",
           "anchored.yaml": "services: &all {a: 1}\nmore: *all\n", "tagged.yaml": "Out: !Ref It\n",
           "list.yaml": "- a\n- b\n",
           # words of ours where other programs have them too
           "volumes.yaml": "services:\n  web:\n    volumes:\n    - source: a\n      target: b\n",
           "roles.yaml": "- hosts: all\n  roles:\n    - role: common\n", "source.yaml": "source: here\ncheck: yes\n",
           "jobs.yaml": "test:\n  rules:\n  - if: $A\n  - check: b\n", "limits.yaml": "limits:\n- limit: 5\n",
           "states.yaml": "- id: x\n  condition:\n  - condition: state\n",
           "inside.yaml": "all: &all\n  - rule: x\n  - check: *all\n"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "mine.yaml").write_text(RULE)
    return tmp_path


def test_files_of_other_programs_are_passed_over_and_named(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    for name, text in FOREIGN.items():
        (folder / name).write_text(text)
    case = tmp_path_factory.mktemp("case") / "c.yaml"
    case.write_text("entries: {smoke: 5}")
    status, out, errors = run("diagnose", str(case), "--rules", str(folder))
    assert status == 0
    assert "CAUSES" in out
    for name in FOREIGN:
        assert f"{name} holds no rules and was passed over" in errors
    assert "mine.yaml" not in errors
    status, out, _ = run("check-rules", str(folder))
    assert "pipeline.yaml: holds no rules; it is passed over" in out


@pytest.mark.parametrize(("text", "what"), [
    (RULE.replace("- rule:", "- rul:"), "must begin with `rule: its-name`, not with `rul`"),
    (RULE.replace("- rule:", "rule:", 1).replace("\n  ", "\n"), "must be a list of rules"),
    (RULE.replace("- rule:", "- Rule:"), "must begin with `rule: its-name`, not with `Rule`"),
    ("rules:\n" + RULE, "must be a list of rules"),
    (RULE.replace("rule: gray-day", "name: gray-day"), "must begin with `rule: its-name`, not with `name`"),
    (RULE.replace("- rule:", "- rul:").replace("[heavy]", "[heavy"), "is not YAML"),
    ("- term: x\n  title: y\n  means: z\n", "knowledge stands in a folder `knowledge` of its own"),
    (RULE.replace("heavy", "hevy").replace("gray-day", "other"), "smoke has no 'hevy'"),
])
def test_a_file_of_ours_with_a_slip_is_still_an_error(folder: Path, text: str, what: str) -> None:
    (folder / "slip.yaml").write_text(text)
    with pytest.raises(LibraryError, match=r"slip\.yaml:") as error:
        load(folder)
    assert what in str(error.value)


def test_links_to_folders_are_not_followed(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    (folder / "circle").symlink_to(folder)
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (elsewhere / "other.yaml").write_text(RULE.replace("gray-day", "other-day"))
    (folder / "out").symlink_to(elsewhere)
    (folder / "knowledge").symlink_to(elsewhere)
    base = load(folder)
    assert "gray-day" in base.rules
    assert "other-day" not in base.rules
    assert set(base.passed_over) == {f"{folder.name}/{name}" for name in ("circle", "knowledge", "out")}
    assert "is a link to a folder" in base.passed_over.values()


def test_a_link_to_a_file_is_read_wherever_it_leads(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    shared = tmp_path_factory.mktemp("elsewhere") / "shared.yaml"
    shared.write_text(RULE.replace("gray-day", "other-day").replace("[heavy]", "[some, heavy]"))
    (folder / "link.yaml").symlink_to(shared)
    assert "other-day" in load(folder).rules


def test_a_pipe_is_no_file_of_rules(folder: Path) -> None:
    """To open one waits until somebody writes into it: for ever."""
    os.mkfifo(folder / "pipe.yaml")
    with pytest.raises(LibraryError, match=r"pipe\.yaml:1: is no ordinary file"):
        load(folder)


def test_other_programs_files_may_be_large_or_no_text(folder: Path) -> None:
    (folder / "large.yaml").write_text("x:\n" + "- a\n" * 400_000)
    (folder / "latin.yaml").write_bytes(b"place: caf\xe9\n")
    assert set(load(folder).passed_over) == {f"{folder.name}/large.yaml", f"{folder.name}/latin.yaml"}


def test_a_file_of_ours_that_is_no_text_is_an_error(folder: Path) -> None:
    (folder / "mine-too.yaml").write_bytes(RULE.replace("A try", "A caf\xe9").encode("latin-1"))
    with pytest.raises(LibraryError, match=r"mine-too\.yaml:5: is not UTF-8"):
        load(folder)


def test_a_folder_named_knowledge_further_down_is_not_left_out_in_silence(folder: Path) -> None:
    below = folder / "shop" / "knowledge"
    below.mkdir(parents=True)
    (below / "more.yaml").write_text(RULE.replace("gray-day", "other-day").replace("[heavy]", "[some, heavy]"))
    assert "other-day" in load(folder).rules


@pytest.mark.parametrize(("text", "what"), [
    ("a: b: c", "a.yaml:1: is not YAML: mapping values are not allowed in this context - a text with `: ` in it must "
                "stand in quotation marks"),
    ("- {zero: white, or nearly so}", "a.yaml:1: `or nearly so` has no value; write one, and put a text with a comma"),
    ("a: [b", "must stand in quotation marks"),
])
def test_a_text_that_needs_quotation_marks_is_told_so(text: str, what: str) -> None:
    with pytest.raises(LibraryError) as error:
        parse_yaml(text, "a.yaml")
    assert what in str(error.value)


def test_near_names_of_a_case_are_looked_for_where_they_are_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of thousands of unknown names: each takes a while."""
    looked: list[str] = []

    def counted(word: str, known: Iterable[str]) -> list[str]:
        looked.append(word)
        return near(word, known)

    monkeypatch.setattr(entries, "near", counted)
    names = "".join(f"  smokee{number}: 4\n" for number in range(2_000))
    with pytest.raises(LibraryError) as error:
        parse_case(f"entries:\n{names}", "c.yaml", load())
    lines = str(error.value).splitlines()
    assert lines[0] == "c.yaml:2: 'smokee0' is not the name of a reading or observation; did you mean smoke?"
    assert lines[-1] == "and 1,950 more; mend these first"
    assert len(looked) == MOST_SHOWN


def test_check_rules_shows_a_page_of_problems(folder: Path) -> None:
    (folder / "more.yaml").write_text("".join(
        RULE.replace("gray-day", f"day-{at}").replace("fan-wheel-dirty", cause).replace("[heavy]", "[trace, heavy]")
        .replace("smoke: 5", "smoke: 0")
        for at, cause in enumerate(load().causes) if cause != "fan-wheel-dirty"))
    status, out, _ = run("check-rules", str(folder))
    assert status == 2
    assert "does not fire on its example" in out
    assert len(out.splitlines()) < MOST_SHOWN + 5
    assert "more; mend these first" in out


def test_thousands_of_mistakes_are_told_in_a_page(folder: Path) -> None:
    names = ", ".join(f"smok{number}: [heavy]" for number in range(20_000))
    (folder / "many.yaml").write_text(RULE.replace("smoke: [heavy]", names).replace("gray-day", "many"))
    with pytest.raises(LibraryError) as error:
        load(folder)
    lines = str(error.value).splitlines()
    assert len(lines) == MOST_SHOWN + 1
    assert lines[-1].endswith("more; mend these first")
    assert "did you mean 'smoke'?" in lines[0]
    assert len(str(error.value)) < 20_000


def test_a_misspelt_kind_of_item_is_told_with_the_nearest(folder: Path) -> None:
    (folder / "knowledge").mkdir()
    (folder / "knowledge" / "x.yaml").write_text("- caus: a\n  title: b\n")
    with pytest.raises(LibraryError, match="did you mean cause"):
        load(folder)


def test_the_guide_lists_every_kind_of_unit() -> None:
    guide = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text()
    for kind in units.KINDS:
        assert f"`{kind}`" in guide, kind


def test_a_whole_disk_is_no_folder_of_rules(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("advisor.library.yamlfiles.MOST_FILES", 100)
    deep = folder / "deep"
    deep.mkdir()
    for number in range(101):
        (deep / f"{number}.txt").write_text("")
    with pytest.raises(LibraryError, match="holds more than 100 files; name a folder that holds the rules alone"):
        load(folder)
