"""Customers' data are for the owner alone, and an export without names holds none."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.reasoning.case import CURED, Case, Entry, remark
from advisor.visit.record import Unit, add_unit, open_record, save_visit, units, visits
from advisor.visit.strict import unreadable
from advisor.visit.tables import export_csv, import_csv
from advisor.visit.transfer import back_up, export_jsonl, import_jsonl
from tests.test_cli import run as cli

CHECK = partial(unreadable, load())
SECRETS = ("Secretson", "Hidden", "T. Hand", "gate", "told by")


def mode(path: Path) -> int:
    return path.stat().st_mode & 0o777


def filled(path: Path) -> None:
    with open_record(path) as record:
        unit = add_unit(record, Unit("Secretson boiler", "Secretson", "1 Hidden Lane", (
            Entry("appliance", "boiler, told by Secretson", "boiler", note="Hidden", said="told by Secretson"),)))
        case = Case((Entry("smoke", "4, told by Secretson", 4.0, said="Hidden 4"), remark("the gate is Hidden"),
                     Entry("flame_look", "told by", None, "could not check"),
                     Entry("vent-open", "Secretson closed it", None, CURED)), title="Hidden Lane")
        save_visit(record, unit, case, case, confirmed=("sooted-gas-passages",), note="gate", technician="T. Hand",
                   parts={"nozzle": 1.0}, measured_in={"smoke": ""})


@pytest.mark.skipif(os.name == "nt", reason="modes of POSIX")
def test_the_record_its_journals_and_its_exports_are_for_the_owner(tmp_path: Path) -> None:
    place = tmp_path / "r.sqlite3"
    before = os.umask(0)
    try:
        filled(place)
        with open_record(place) as record:
            save_visit(record, units(record)[0], Case())  # so that a journal is there
            journals = [one for one in tmp_path.iterdir() if one.name.startswith("r.sqlite3-")]
            assert journals
            for one in (place, *journals):
                one.chmod(0o644)
        with open_record(place) as record, open_record(place):
            assert {mode(one) for one in tmp_path.iterdir()} == {0o600}
            (tmp_path / "x.jsonl").touch(0o644)
            export_jsonl(record, tmp_path / "x.jsonl")
            export_csv(record, tmp_path / "csv")
            back_up(record, tmp_path / "copy.sqlite3")
    finally:
        os.umask(before)
    assert mode(tmp_path / "csv") == 0o700
    files = [one for one in tmp_path.rglob("*") if one.is_file()]
    assert len(files) > 10
    assert {mode(one) for one in files} == {0o600}


def test_an_export_without_names_holds_none_and_all_else(tmp_path: Path) -> None:
    filled(tmp_path / "r.sqlite3")
    with open_record(tmp_path / "r.sqlite3") as record:
        export_jsonl(record, tmp_path / "x.jsonl", names=False)
        export_csv(record, tmp_path / "csv", names=False)
        (whole,) = visits(record)
    text = "".join(path.read_text() for path in (tmp_path / "x.jsonl", *(tmp_path / "csv").iterdir()))
    assert not [secret for secret in SECRETS if secret in text]
    for take, source in ((import_csv, "csv"), (import_jsonl, "x.jsonl")):
        with open_record(tmp_path / f"{source}.sqlite3") as record:
            take(record, tmp_path / source, CHECK)
            (bare,) = visits(record)
            (unit,) = units(record)
        assert (unit.label, unit.customer, unit.address) == ("unit 1", "", "")
        assert (bare.technician, bare.note, bare.confirmed, bare.parts) == (
            "technician 1", "", whole.confirmed, whole.parts)
        assert [(one.name, one.value, one.status) for one in bare.before.entries] == [
            (one.name, one.value, one.status) for one in whole.before.entries if not one.is_remark]


def test_the_file_may_be_named_before_the_word_or_behind_it_but_once(tmp_path: Path) -> None:
    place = str(tmp_path / "r.sqlite3")
    filled(Path(place))
    before = cli("record", "--file", place, "units")
    assert before == cli("record", "units", "--file", place)
    assert (before[0], "Secretson boiler" in before[1]) == (0, True)
    status, _, wrong = cli("record", "--file", place, "units", "--file", "other")
    assert (status, wrong) == (2, "--file was given twice; name one record\n")
    assert cli("record", "--file", place, "export", "--without-names", str(tmp_path / "n.jsonl"))[0] == 0
    assert "Secretson" not in (tmp_path / "n.jsonl").read_text()
