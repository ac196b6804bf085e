"""One's own tables of calls: shown before they are added, read strictly, added once; and the wide table out."""

from __future__ import annotations

import csv
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.case import Case, Entry, remark
from advisor.visit.kept import Visit
from advisor.visit.record import RecordError, Unit, add_unit, open_record, save_visit, units, visits
from advisor.visit.sheetmap import proposed
from advisor.visit.sheetrows import read_rows, read_table
from advisor.visit.trend import measures
from advisor.visit.wide import export_wide
from tests.test_cli import DEMO
from tests.test_cli import run as cli

BASE = load()
OWN = ('Date,Customer Name,Street,Stack Temp (C),Smoke,"CO2, %",Tech,Dog,Comments,Fault\n'
       '11/05/2025,G. Case,4 Hill Road,265,1,11.5,T. Hand,Rex,"yearly, all fine",\n'
       '1/20/26,G. Case,4 Hill Road,293,3,11,T. Hand,,black smoke,soot in the flue passages\n')


def read(tmp_path: Path, text: str | bytes, *given: str) -> tuple[list[Visit], list[str]]:
    path = tmp_path / "own.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    table = read_table(path)
    found, problems = read_rows(BASE, table, proposed(BASE, table.headers, given), ())
    return [one for _, one in found if isinstance(one, Visit)], problems


def test_an_ordinary_table_is_read_with_its_units_and_nothing_of_it_is_lost(tmp_path: Path) -> None:
    """265 degC are 509 degF by the definition of the scales."""
    (first, second), problems = read(tmp_path, OWN, "CO2, %=co2 %")
    assert problems == []
    assert first.before.latest["stack_temperature"].value == pytest.approx(265 * 1.8 + 32)
    assert f"{first.at:%Y-%m-%d %H:%M}" == "2025-11-05 12:00"
    assert f"{second.at:%Y-%m-%d}" == "2026-01-20"
    assert (second.before.latest["smoke"].value, second.before.latest["co2"].value) == (3.0, 11.0)
    assert (second.confirmed, second.outcome, second.technician) == (("sooted-gas-passages",), "confirmed", "T. Hand")
    assert first.note == "Dog: Rex; yearly, all fine"  # a column that means nothing here is kept in the note
    assert first.unit == second.unit


@pytest.mark.parametrize(("change", "given", "says"), [
    (("11/05/2025", "25/11/2025"), (), "own.csv:2: '25/11/2025' is not a day such as 2026-11-25 or 11/25/2026"),
    (("11/05/2025", ""), (), "own.csv:2: tells no date"),
    (("265", "2650"), (), "own.csv:2: 'Stack Temp (C)': stack temperature 4,802 degF is not plausible"),
    (("265", "hot"), (), "own.csv:2: 'Stack Temp (C)'"),
    (("soot in the flue passages", "gremlins"), (), "own.csv:3: there is no cause 'gremlins'"),
    (("G. Case,4 Hill Road,265", ",,265"), (), "own.csv:2: tells no unit, address or customer"),
])
def test_what_cannot_be_read_is_told_with_its_line(
    tmp_path: Path, change: tuple[str, str], given: tuple[str, ...], says: str
) -> None:
    _, problems = read(tmp_path, OWN.replace(*change), *given)
    assert [problem for problem in problems if problem.startswith(str(tmp_path / says.partition(":")[0]))]
    assert any(says.partition(":")[2].partition(": ")[2] in problem for problem in problems)


def test_days_hours_separators_and_letters_of_other_spreadsheets(tmp_path: Path) -> None:
    text = "Day;Hour;Unit;Notes\n25.11.2025;2:30 PM;M\u00fchle;caf\u00e9\n"
    (visit,), problems = read(tmp_path, text.encode("cp1252"), "Day=day-first")
    assert (problems, f"{visit.at:%Y-%m-%d %H:%M}", visit.note) == ([], "2025-11-25 14:30", "caf\u00e9")
    for clock in ("25:00", "14.30", "13:00 PM"):
        assert read(tmp_path, text.replace("2:30 PM", clock).encode("cp1252"), "Day=day-first")[1]
    for bad, says in (("a\n", "no row below"), ("a,a\n1,2\n", "stands twice"), ("a,\n1,2\n", "no header"),
                      ("a,b\n1\n", "own.csv:2: has 1 cells"), ('a,b\n"1\n', "is not CSV")):
        with pytest.raises(RecordError, match=says):
            read(tmp_path, bad)
    with pytest.raises(RecordError, match="cannot be read"):
        read_table(tmp_path / "nowhere.csv")


@pytest.mark.parametrize("given", ["Dog", "Cat=note", "Dog=purple", "Dog=stack_temperature gallons", "Dog=fuel degF"])
def test_a_meaning_that_cannot_be_is_refused(given: str) -> None:
    with pytest.raises(RecordError, match="--map"):
        proposed(BASE, ["Date", "Dog"], [given])


def test_nothing_is_added_before_the_columns_were_shown_and_agreed_to(tmp_path: Path) -> None:
    own, place = tmp_path / "own.csv", str(tmp_path / "r.sqlite3")
    own.write_text(OWN)
    words = ("record", "--file", place, "import", str(own), "--map", "CO2, %=co2 %")
    status, out, _ = cli(*words)
    told = " ".join(out.split())
    assert status == 0
    for say in ("2 rows, UTF-8, commas", "Stack Temp (C): stack temperature, in C, such as 265",
                "11/05/2025 is 2025-11-05", "kept in the note, with its header", "Nothing was added",
                "add 1 unit (4 Hill Road) and 2 visits"):
        assert say in told
    assert not Path(place).exists()
    assert "added 1 unit and 2 visits" in cli(*words, "--yes")[1]
    assert "added 0 units and 0 visits; 2 were here" in cli(*words, "--yes")[1]
    own.write_text(OWN.replace("265", "hot"))
    status, out, wrong = cli(*words, "--yes")
    assert (status, "own.csv:2" in wrong, "Nothing was added" in wrong) == (2, True, True)
    with open_record(Path(place)) as record:
        assert (len(units(record)), len(visits(record))) == (1, 2)
    (tmp_path / "x.jsonl").write_text("{}")
    status, _, wrong = cli("record", "--file", place, "import", str(tmp_path / "x.jsonl"), "--yes")
    assert (status, "belong to a CSV table" in wrong) == (2, True)


@pytest.mark.skipif(os.name == "nt", reason="a terminal of POSIX")
@pytest.mark.parametrize(("typed", "added"), [(b"yes\n", 2), (b"no\n", 0)])
def test_at_a_terminal_it_is_asked(tmp_path: Path, typed: bytes, added: int) -> None:
    own, place = tmp_path / "own.csv", tmp_path / "r.sqlite3"
    own.write_text(OWN)
    here, there = pty.openpty()
    with subprocess.Popen([sys.executable, "-m", "advisor.cli", "record", "--file", str(place), "import", str(own)],
                          stdin=there, stdout=there, stderr=there, cwd=DEMO.parent) as process:
        os.write(here, typed)
        assert process.wait(60) == 0
    os.close(there)
    os.close(here)
    with open_record(place) as record:
        assert len(visits(record)) == added


def test_the_wide_table_has_a_row_a_call_and_is_read_back(tmp_path: Path) -> None:
    case = Case((Entry("stack_temperature", "520 F", 520.0), Entry("room_temperature", "70 F", 70.0),
                 Entry("co2", "11 %", 11.0), Entry("flame_look", "?", None, "could not check"), remark("a dog")))
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("=Mill", "A. Tester", installed=2004))
        save_visit(record, unit, case, Case((Entry("co2", "12 %", 12.0),)), confirmed=("sooted-gas-passages",),
                   parts={"nozzle": 2.0}, technician="T. Hand", measured_in=measures(BASE), note="fine")
        save_visit(record, unit, Case(), outcome="nothing-wrong")
        assert export_wide(units(record), visits(record), BASE, tmp_path / "w.csv") == 2
        whole = visits(record)
    with (tmp_path / "w.csv").open(newline="") as stream:
        first, second = csv.DictReader(stream)
    assert first["unit"] == "'=Mill"  # no spreadsheet takes it for a formula
    assert (first["stack_temperature (degF)"], first["co2 as left (%)"], first["flame_look"]) == (
        "520", "12", "could not check")
    assert first["net_stack (degF) computed"] == "450"
    assert (first["parts"], first["note"], second["outcome"]) == ("2 x nozzle", "fine; a dog", "nothing-wrong")
    table = read_table(tmp_path / "w.csv")
    found, problems = read_rows(BASE, table, proposed(BASE, table.headers), ())
    assert problems == []
    back = [one for _, one in found if isinstance(one, Visit)]
    for one, was in zip(back, whole, strict=True):
        assert (one.confirmed, one.outcome, one.parts, one.technician) == (
            was.confirmed, was.outcome, was.parts, was.technician)
        assert [(entry.name, entry.value, entry.status) for entry in one.before.entries] == [
            (entry.name, entry.value, entry.status) for entry in was.before.entries if not entry.is_remark]
    assert back[0].after is not None
    assert back[0].after.latest["co2"].value == 12.0
    place = str(tmp_path / "r.sqlite3")
    (tmp_path / "mine.csv").write_text("mine")
    assert "not an older table of calls" in cli("record", "--file", place, "export", "--wide",
                                                str(tmp_path / "mine.csv"))[2]
    assert cli("record", "--file", place, "export", "--wide", "--without-names", str(tmp_path / "w.csv"))[0] == 0
    bare = (tmp_path / "w.csv").read_text()
    assert not [secret for secret in ("Mill", "Tester", "Hand", "dog", "fine") if secret in bare]


@given(st.lists(st.text(max_size=12), min_size=2, max_size=5))
def test_no_table_ends_in_a_traceback(tmp_path_factory: pytest.TempPathFactory, cells: list[str]) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(["Date", "Unit", "Smoke", "co2 (%)", "Dog"][:len(cells)])
        writer.writerow(cells)
    try:
        table = read_table(path)
    except RecordError:
        return
    found, problems = read_rows(BASE, table, proposed(BASE, table.headers), ())
    assert problems or found
