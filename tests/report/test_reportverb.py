"""The verb `report`, from the words typed to the file written."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

import pytest

from advisor.library.yamlfiles import LibraryError
from advisor.reasoning.case import Case, Entry
from advisor.report.reportverb import add_arguments, run
from advisor.visit.record import Unit, add_unit, open_record, save_visit
from advisor.visit.remedy import Job, Work
from advisor.visit.workfile import write_work
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
    (("--html", BEFORE), "it was left as it is"),
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


def test_a_unit_of_the_record_and_one_sheet_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = str(tmp_path / "record.sqlite3")
    with open_record(Path(place)) as record:
        mill = add_unit(record, Unit("Mill Lane boiler"))
        save_visit(record, mill, Case((Entry("smoke", "4", 4.0),)), note="first")
        save_visit(record, mill, Case((Entry("smoke", "3", 3.0),)), note="second")
    assert types("Mill", "Lane", "--file", place, "--for", "customer") == 0
    out = capsys.readouterr().out
    assert "Note: second" in out
    assert "Sources" not in out
    assert types("mill", "--visit", "1", "--file", place) == 0
    assert "Note: first" in capsys.readouterr().out
    to = tmp_path / "a.pdf"
    assert types("mill", "--file", place, "--pdf", str(to), "--html", str(tmp_path / "a.html")) == 0
    assert to.read_bytes().startswith(b"%PDF-")
    assert to.stat().st_mode & 0o777 == 0o600
    for words, says in ((("nowhere",), "there is no unit 'nowhere'"), (("mill", "--visit", "9"), "no visit '9'"),
                        (("mill", "--part", "0 x brush"), "names no part"),
                        (("mill", "--pdf", str(to), "--html", str(to)), "name two")):
        assert types(*words, "--file", place) == 2
        assert says in capsys.readouterr().err


def test_what_lies_beside_a_case_file_is_taken_with_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.yaml").write_text("entries: {smoke: 4}")
    (tmp_path / "a.work.yaml").write_text(write_work(Work((Job("sooted-gas-passages", done=tuple(range(1, 9)),
                                                              times=(None,) * 8),), unit="Mill Lane")))
    assert types(str(tmp_path / "a.yaml")) == 0
    out = capsys.readouterr().out
    assert out.startswith("Mill Lane\n")
    assert "Brush and vacuum the flue passages. It is done." in out
    (tmp_path / "a.work.yaml").write_text("remedies: [{cause: none-such}]")
    with pytest.raises(LibraryError, match=r"a\.work\.yaml:1"):
        types(str(tmp_path / "a.yaml"))
