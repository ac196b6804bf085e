"""Import refuses what it cannot read, says where, and adds nothing then; back-up and export never spoil a file."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from advisor.reasoning.case import Case, Entry
from advisor.visit.record import Record, RecordError, Unit, add_unit, open_record, save_visit, units, verify, visits
from advisor.visit.transfer import COLUMNS, back_up, export_csv, export_jsonl, import_csv, import_jsonl

HEAD = '{"kind": "burner-advisor-record", "version": 1}\n'
UNIT = '{"kind": "unit", "uid": "u", "label": "A"}\n'


def filled(path: Path) -> Record:
    record = open_record(path)
    unit = add_unit(record, Unit("A"))
    save_visit(record, unit, Case((Entry("smoke", "4", 4.0), Entry("flame_look", "?", None, "could not check"))),
               Case(), confirmed=("sooted-gas-passages",))
    return record


def visit(**more: object) -> str:
    return json.dumps({"kind": "visit", "uid": "v", "unit": "u", "at": "2026-01-05T10:00:00+00:00",
                       "before": {"entries": []}, **more}) + "\n"


@pytest.mark.parametrize(("text", "says"), [
    ("", "x.jsonl: is empty"),
    ("{", "x.jsonl:1: is not JSON"),
    ("[" * 100_000, "x.jsonl:1: is not JSON"),
    ("[]", "x.jsonl:1: is not an export"),
    ("\n" + UNIT, "x.jsonl:2: is not an export"),
    ('{"kind": "burner-advisor-record", "version": 2}', "version 2 of the export.*update burner-advisor"),
    (HEAD + "7", "x.jsonl:2: `kind` must be unit or visit"),
    (HEAD + UNIT + '{"kind": "unit", "uid": "w"}', "x.jsonl:3: `label` must be a text"),
    (HEAD + UNIT.replace("}", ', "phone": "1"}'), "x.jsonl:2: `phone` is not known here"),
    (HEAD + visit(), "to a unit u that stands neither there nor in the record"),
    (HEAD + UNIT + visit(at="yesterday"), "x.jsonl:3: `at` 'yesterday' is not a time"),
    (HEAD + UNIT + visit(at=""), "x.jsonl:3: a visit needs `at`"),
    (HEAD + UNIT + visit(before=None), "x.jsonl:3: before: must be a mapping"),
    (HEAD + UNIT + visit(confirmed="soot"), "x.jsonl:3: `confirmed` must list texts"),
    (HEAD + UNIT + visit(before={"entries": [{"name": "smoke", "value": True}]}), "smoke: 'True' is not a number"),
    (HEAD + UNIT + visit(before={"entries": [{"name": "smoke", "typed": "4"}]}), "its `status` must be"),
    (HEAD + UNIT + visit(before={"maker": {"co2-high": 10**400}}), "maker: co2-high: '1000.*' is not a number"),
    (HEAD + UNIT + visit(before={"entries": [{"name": "smoke", "value": float("nan")}]}), "smoke: 'nan' is not"),
])
def test_an_import_that_cannot_be_read_adds_nothing(tmp_path: Path, text: str, says: str) -> None:
    source = tmp_path / "x.jsonl"
    source.write_text(text)
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError, match=says):
            import_jsonl(record, source)
        assert units(record) == ()


def test_a_file_that_is_no_text_or_not_there_is_told(tmp_path: Path) -> None:
    (tmp_path / "x.jsonl").write_bytes(b"\xff\xfe\x00")
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError, match="not UTF-8 text"):
            import_jsonl(record, tmp_path / "x.jsonl")
        with pytest.raises(RecordError, match="No such file"):
            import_csv(record, tmp_path / "nowhere")


def test_the_label_of_another_unit_is_not_taken_over(tmp_path: Path) -> None:
    source = tmp_path / "x.jsonl"
    source.write_text(HEAD + UNIT + visit())
    with open_record(tmp_path / "r.sqlite3") as record:
        add_unit(record, Unit("a"))
        done = import_jsonl(record, source)
        assert [unit.label for unit in units(record)] == ["a", "A (2)"]
        assert done.notes == ("'A' is the label of another unit here; it was added as 'A (2)'",)
        assert import_jsonl(record, source).known == 2


@pytest.mark.parametrize("name", list(COLUMNS))
def test_csv_with_other_columns_or_strays_adds_nothing(tmp_path: Path, name: str) -> None:
    with filled(tmp_path / "r.sqlite3") as record:
        export_csv(record, tmp_path / "csv")
    path = tmp_path / "csv" / f"{name}.csv"
    whole = path.read_text()
    stray = ",".join("9" for _ in COLUMNS[name])
    bad = {"x" + whole: f"{name}.csv:1: the columns must be", whole + "1,2,3,4,5,6,7,8,9,10,11,12,13,14\n": "columns",
           whole + '"open': f"{name}.csv"}
    if name not in ("units", "visits"):
        bad[whole + stray + "\n"] = f"{name}.csv:.*belongs to no unit or visit"
    with open_record(tmp_path / "n.sqlite3") as record:
        for text, says in bad.items():
            path.write_text(text)
            with pytest.raises(RecordError, match=says):
                import_csv(record, tmp_path / "csv")
        assert units(record) == ()
        path.write_text(whole)
        assert import_csv(record, tmp_path / "csv").visits == 1


def test_a_long_note_goes_through_csv(tmp_path: Path) -> None:
    note = "long, \"quoted\"\r\n" * 20_000
    with open_record(tmp_path / "r.sqlite3") as record:
        save_visit(record, add_unit(record, Unit("A")), Case(), note=note)
        export_csv(record, tmp_path / "csv")
    with open_record(tmp_path / "n.sqlite3") as record:
        import_csv(record, tmp_path / "csv")
        assert visits(record)[0].note == note


def test_a_back_up_holds_one_moment_while_another_writes(tmp_path: Path) -> None:
    with filled(tmp_path / "r.sqlite3") as record, open_record(tmp_path / "r.sqlite3") as other:
        with other.transaction(writing=True) as connection:
            connection.execute("UPDATE visits SET note = 'half done'")
            back_up(record, tmp_path / "copy.sqlite3")
        with open_record(tmp_path / "copy.sqlite3", make=False) as copy:
            assert [one.note for one in visits(copy)] == [""]
            assert verify(copy) == ()
        assert [one.note for one in visits(record)] == ["half done"]


@pytest.mark.parametrize("write", [back_up, export_csv, export_jsonl])
def test_what_cannot_be_written_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, write: object
) -> None:
    assert callable(write)
    with filled(tmp_path / "r.sqlite3") as record:
        taken = tmp_path / "taken"
        taken.write_text("mine")
        if write is not export_jsonl:  # which replaces an older export whole
            with pytest.raises(RecordError, match="is there already and was left as it is"):
                write(record, taken)
        for place in (tmp_path / "nowhere" / "x", taken / "x"):
            with pytest.raises(RecordError, match="cannot be written"):
                write(record, place)

        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "replace", full)
        with pytest.raises(RecordError, match="No space left on device"):
            write(record, tmp_path / "new")
        assert taken.read_text() == "mine"
        assert {one.name for one in tmp_path.iterdir()} <= {"r.sqlite3", "r.sqlite3-wal", "r.sqlite3-shm", "taken"}
