"""The verb `report`, from the words typed to the file written."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

import pytest

from advisor.report.reportverb import add_arguments, run
from tests.report.pages import DEMO, base

BEFORE, AFTER = str(DEMO / "sooting-boiler.yaml"), str(DEMO / "after.yaml")


def types(*words: str) -> int:
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    return run(parser.parse_args(words), base())


def test_text_goes_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert types(BEFORE, AFTER, "--confirmed", "soot in the gas passages", "--remedy", "clean-gas-passages",
                 "--note", "first", "--note", "second", "--unit", "Mill Lane", "--date", "2026-11-25") == 0
    out, errors = capsys.readouterr()
    assert out.startswith("Mill Lane\nVisit to your oil burner on November 25, 2026\n")
    assert "Note: first" in out
    assert "Note: second" in out
    assert errors == ""


def test_the_page_is_written_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    to = tmp_path / "report.html"
    assert types(BEFORE, AFTER, "--html", str(to)) == 0
    page = to.read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")
    assert page.rstrip().endswith("</html>")
    assert page.count('role="img"') == 2  # both pictures: the settings of the air come from the case as left
    assert os.listdir(tmp_path) == ["report.html"]
    assert capsys.readouterr().out == f"written to {to}\n"


def test_an_open_hazard_is_the_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case = tmp_path / "a.yaml"
    case.write_text('entries: {symptoms: "yes"}', encoding="utf-8")
    assert types(str(case)) == 1
    assert "DANGER" in capsys.readouterr().out


@pytest.mark.parametrize(("words", "says"), [
    (("--confirmed", "sooted-gas-pasages"), "did you mean sooted-gas-passages"),
    (("--remedy", "zzzz"), "is not a remedy"),
    (("--date", "25.11."), "2026-11-25"),
    (("--note", "caf\udce9"), "not readable text"),
    (("--html", BEFORE), "is a case file"),
    (("--html", "/no/such/folder/r.html"), "cannot be written"),
])
def test_errors_take_one_clear_line(words: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    before = Path(BEFORE).read_bytes()
    assert types(BEFORE, *words) == 2
    out, errors = capsys.readouterr()
    assert says in errors
    assert len(errors.splitlines()) == 1
    assert out == ""
    assert Path(BEFORE).read_bytes() == before
