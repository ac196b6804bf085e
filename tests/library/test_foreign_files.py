"""A folder of rules as people have it: other programs' files in it, links, slips of YAML, thousands of mistakes."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.library.yamlfiles import MOST_SHOWN, LibraryError, parse_yaml
from advisor.physics import units
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
           "list.yaml": "- a\n- b\n"}


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
    rules = load(folder).rules
    assert "gray-day" in rules
    assert "other-day" not in rules


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
