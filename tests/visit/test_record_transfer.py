"""Import refuses what it cannot read, says where, and adds nothing then; back-up and export never spoil a file."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import sqlite3
from contextlib import closing
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.library.yamlfiles import MOST_SHOWN
from advisor.reasoning.case import Case, Entry
from advisor.visit.record import Record, RecordError, Unit, add_unit, open_record, save_visit, units, verify, visits
from advisor.visit.schema import APPLICATION_ID, MIGRATIONS
from advisor.visit.strict import unreadable
from advisor.visit.tables import COLUMNS, export_csv, import_csv
from advisor.visit.transfer import back_up, export_jsonl, import_jsonl

HEAD = '{"kind": "burner-advisor-record", "version": 1}\n'
CHECK = partial(unreadable, load())
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
    ('{"kind": "burner-advisor-record", "version": 99}', "version 99 of the export.*update burner-advisor"),
    (HEAD + "7", "x.jsonl:2: `kind` must be unit, visit or trace"),
    (HEAD + UNIT + '{"kind": "unit", "uid": "w"}', "x.jsonl:3: `label` must be a text"),
    (HEAD + UNIT.replace("}", ', "phone": "1"}'), "x.jsonl:2: `phone` is not known here"),
    (HEAD + visit(), "to a unit u that stands neither there nor in the record"),
    (HEAD + UNIT + visit(at="yesterday"), "x.jsonl:3: `at` 'yesterday' is not a time"),
    (HEAD + UNIT + visit(at=""), "x.jsonl:3: a visit needs `at`"),
    (HEAD + UNIT + visit(before=None), "x.jsonl:3: before: must be a mapping"),
    (HEAD + UNIT + visit(confirmed="soot"), "x.jsonl:3: `confirmed` must list texts"),
    (HEAD + UNIT + visit(before={"entries": [{"name": "smoke", "value": True}]}), "smoke: 'True' is not a number"),
    (HEAD + UNIT + visit(before={"entries": [{"name": "smoke", "typed": "4"}]}), "its `status` must be"),
    (HEAD + UNIT + visit(before={"manufacturer": {"co2-high": 10**400}}),
     "manufacturer: co2-high: '1000.*' is not a number"),
    (HEAD + UNIT + visit(before={"entries": [{"name": "smoke", "value": float("nan")}]}), "NaN is not a number"),
])
def test_an_import_that_cannot_be_read_adds_nothing(tmp_path: Path, text: str, says: str) -> None:
    source = tmp_path / "x.jsonl"
    source.write_text(text)
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError, match=says):
            import_jsonl(record, source, CHECK)
        assert units(record) == ()


def test_a_file_that_is_no_text_or_not_there_is_told(tmp_path: Path) -> None:
    (tmp_path / "x.jsonl").write_bytes(b"\xff\xfe\x00")
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError, match="not UTF-8 text"):
            import_jsonl(record, tmp_path / "x.jsonl", CHECK)
        with pytest.raises(RecordError, match="No such file"):
            import_csv(record, tmp_path / "nowhere", CHECK)


def test_the_label_of_another_unit_is_not_taken_over(tmp_path: Path) -> None:
    source = tmp_path / "x.jsonl"
    source.write_text(HEAD + UNIT + visit())
    with open_record(tmp_path / "r.sqlite3") as record:
        add_unit(record, Unit("a"))
        done = import_jsonl(record, source, CHECK)
        assert [unit.label for unit in units(record)] == ["a", "A (2)"]
        assert done.notes == ("'A' is the label of another unit here; it was added as 'A (2)'",)
        assert import_jsonl(record, source, CHECK).known == 2


@pytest.mark.parametrize("name", list(COLUMNS))
def test_csv_with_other_columns_or_strays_adds_nothing(tmp_path: Path, name: str) -> None:
    with filled(tmp_path / "r.sqlite3") as record:
        export_csv(record, tmp_path / "csv")
    path = tmp_path / "csv" / f"{name}.csv"
    whole = path.read_text()
    stray = ",".join("9" for _ in COLUMNS[name])
    bad = {"x" + whole: f"{name}.csv:1: the columns must be", whole + "1,2,3,4,5,6,7,8,9,10,11,12,13,14\n": "columns",
           whole + '"open': f"{name}.csv"}
    if name not in ("units", "visits", "traces"):
        bad[whole + stray + "\n"] = f"{name}.csv:.*belongs to no unit or visit"
    with open_record(tmp_path / "n.sqlite3") as record:
        for text, says in bad.items():
            path.write_text(text)
            with pytest.raises(RecordError, match=says):
                import_csv(record, tmp_path / "csv", CHECK)
        assert units(record) == ()
        path.write_text(whole)
        assert import_csv(record, tmp_path / "csv", CHECK).visits == 1


def test_a_long_note_goes_through_csv(tmp_path: Path) -> None:
    note = "long, \"quoted\"\r\n" * 20_000
    with open_record(tmp_path / "r.sqlite3") as record:
        save_visit(record, add_unit(record, Unit("A")), Case(), note=note)
        export_csv(record, tmp_path / "csv")
    with open_record(tmp_path / "n.sqlite3") as record:
        import_csv(record, tmp_path / "csv", CHECK)
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


def entry(name: str, value: object, **more: object) -> dict[str, object]:
    return {"name": name, "typed": str(value), "value": value, **more}


@pytest.mark.parametrize(("line", "says"), [
    (visit(before={"entries": [entry("smok", 4.0)]}), "entries: 'smok' is no reading or observation known here"),
    (visit(before={"entries": [entry("smoke", 40.0)]}), "smoke: 40 is not plausible for smoke spot number"),
    (visit(before={"entries": [entry("smoke", "heavy")]}), "smoke: 'heavy' is not a number"),
    (visit(before={"entries": [entry("fan_wheel", "filthy")]}), "fan_wheel: 'filthy' is not an answer; it takes one"),
    (visit(before={"entries": [entry("stack_temperature", 500.0, measure="psi")]}), "stack_temperature: "),
    (visit(before={"entries": [entry("stack_temperature", 500.0, measure="furlongs")]}), "stack_temperature: "),
    (visit(before={"entries": [{"name": "oil-leek", "typed": "new", "value": None, "status": "cured"}]}),
     "cured: 'oil-leek' is no hazard known here; did you mean oil-leak?"),
    (visit(confirmed=["soot"]), "confirmed: 'soot' is no cause known here"),
    (visit(remedies=["brush"]), "remedies: 'brush' is no remedy known here"),
    (visit(before={"entries": [], "manufacturer": {"co2-hi": 13.0}}), "manufacturer: 'co2-hi' is no limit known here"),
    (visit(before={"entries": [], "instruments": ["hammer"]}), "instruments: 'hammer' is no instrument known here"),
    (visit(uid="w", unit="nowhere"), "visit w is to a unit nowhere that stands neither there nor in the record"),
    (visit().replace('"uid": "v"', '"uid": "v", "uid": "w"'), "is not JSON ('uid' stands twice in one object)"),
    (visit(note="a\0b"), "is not JSON (holds a NUL, which no text has)"),
    (visit(before={"entries": [entry("smoke", 1.0)]}).replace("1.0}", "1e400}"), "smoke: 'inf' is not a number"),
    (visit(before={"entries": [entry("smoke", 1.0)]}).replace("1.0}", "Infinity}"), "Infinity is not a number"),
    (visit(at="0000-00-00"), "`at` "),
    (UNIT, "u stands twice; keep one"),
])
def test_whatever_our_knowledge_cannot_read_is_refused_with_its_line(tmp_path: Path, line: str, says: str) -> None:
    source = tmp_path / "x.jsonl"
    source.write_text(HEAD + UNIT + line + visit(uid="z", confirmed=["also-wrong"]))
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError) as error:
            import_jsonl(record, source, CHECK)
        said = str(error.value).splitlines()
        assert any(one.startswith(f"{source}:3: {says}") or (one.startswith(f"{source}:3: ") and says in one)
                   for one in said), said
        assert any(one.startswith(f"{source}:4: confirmed: 'also-wrong'") for one in said)  # all at once
        assert said[-1] == "Nothing was added."
        assert (units(record), visits(record)) == ((), ())


@pytest.mark.parametrize("version", ["true", "1.0", '"1"', "null", "99", "0"])
def test_a_version_is_a_whole_number_known_here(tmp_path: Path, version: str) -> None:
    (tmp_path / "x.jsonl").write_text(HEAD.replace("1}", f"{version}}}") + UNIT)
    with open_record(tmp_path / "r.sqlite3") as record, pytest.raises(RecordError, match="of the export is not known"):
        import_jsonl(record, tmp_path / "x.jsonl", CHECK)


def test_thousands_of_problems_are_told_in_a_page(tmp_path: Path) -> None:
    (tmp_path / "x.jsonl").write_text(HEAD + UNIT + "".join(
        visit(uid=str(number), confirmed=["soot"]) for number in range(3_000)))
    with open_record(tmp_path / "r.sqlite3") as record, pytest.raises(RecordError) as error:
        import_jsonl(record, tmp_path / "x.jsonl", CHECK)
    said = str(error.value).splitlines()
    assert len(said) == MOST_SHOWN + 3
    assert said[MOST_SHOWN] == "and 2,950 more"
    assert "--rules FOLDER" in said[-2]


@pytest.mark.parametrize("cell", ["=1+1", "+1 555 0100", "-x", "@home", "'=1", "-0.02", "+.5", "1e3", "'",
                                  "Miller's", ""])
def test_no_cell_is_a_formula_and_all_come_back(tmp_path: Path, cell: str) -> None:
    entries = (Entry("draft_over_fire", "-.02", -0.02, note=cell, said=cell),)
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("A", customer=cell, address=cell))
        save_visit(record, unit, Case(entries, title=cell), note=cell, rules=cell)
        export_csv(record, tmp_path / "csv")
        kept = visits(record)
    for path in (tmp_path / "csv").iterdir():
        for row in csv.reader(io.StringIO(path.read_text(), newline="")):
            for one in row:
                number = re.fullmatch(r"[-+]?[0-9.]+(e[0-9]+)?", one)
                assert number or not one.startswith(("=", "+", "-", "@", "\t", "\r"))  # OWASP, CSV injection
    assert "-0.02" in (tmp_path / "csv" / "entries.csv").read_text()
    with open_record(tmp_path / "n.sqlite3") as record:
        import_csv(record, tmp_path / "csv", CHECK)
        assert [replace(one, number=0) for one in visits(record)] == [replace(one, number=0) for one in kept]
        assert units(record)[0].customer == cell


def test_an_export_of_version_1_is_still_read(tmp_path: Path) -> None:
    with filled(tmp_path / "r.sqlite3") as record:
        export_csv(record, tmp_path / "csv")
    for name, new in (("equipment", 1), ("visits", 5), ("entries", 1)):
        path = tmp_path / "csv" / f"{name}.csv"
        rows = [row[:-new] for row in csv.reader(io.StringIO(path.read_text(), newline=""))]
        path.write_text("".join(",".join(row) + "\n" for row in rows))
    for name in ("parts", "minutes", "traces"):
        (tmp_path / "csv" / f"{name}.csv").unlink()
    with open_record(tmp_path / "n.sqlite3") as record:
        assert import_csv(record, tmp_path / "csv", CHECK).visits == 1
        assert visits(record)[0].outcome == "confirmed"  # by what was confirmed


def test_exports_that_say_maker_are_still_read(tmp_path: Path) -> None:
    """As exports before version 3 did."""
    case = Case((Entry("smoke", "1", 1.0),), {"co2-high": 12.5})
    with filled(tmp_path / "r.sqlite3") as record:
        save_visit(record, units(record)[0], case)
        export_csv(record, tmp_path / "csv")
        export_jsonl(record, tmp_path / "x.jsonl")
    (tmp_path / "csv" / "manufacturer_figures.csv").rename(tmp_path / "csv" / "maker_figures.csv")
    lines = (tmp_path / "x.jsonl").read_text().replace('"manufacturer":', '"maker":')
    (tmp_path / "x.jsonl").write_text(lines.replace('"version": 6', '"version": 2'))
    for take, source in ((import_csv, "csv"), (import_jsonl, "x.jsonl")):
        with open_record(tmp_path / f"{source}.sqlite3") as record:
            take(record, tmp_path / source, CHECK)
            assert [dict(visit.before.manufacturer) for visit in visits(record)] == [{}, {"co2-high": 12.5}]


def test_a_record_of_version_1_is_brought_to_this_one(tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite3"
    with closing(sqlite3.connect(path)) as old:
        for statement in MIGRATIONS[0]:
            old.execute(statement)
        old.execute("INSERT INTO units VALUES (1, 'u', 'A', '', '')")
        old.execute("INSERT INTO visits VALUES (1, 'v', 1, '2026-01-05T10:00:00+00:00', 'old')")
        old.execute("INSERT INTO cases VALUES (1, 'before', '', NULL)")
        old.execute("INSERT INTO entries VALUES (1, 'before', 0, 'smoke', '4', 4.0, '', NULL, '', '', '', NULL)")
        old.execute("INSERT INTO visits VALUES (2, 'w', 1, '2026-01-06T10:00:00+00:00', '')")
        old.execute("INSERT INTO cases VALUES (2, 'before', '', NULL)")
        old.execute("INSERT INTO confirmed VALUES (2, 0, 'sooted-gas-passages')")
        old.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        old.execute("PRAGMA user_version = 1")
        old.commit()
    with open_record(path) as record:
        kept, confirmed = visits(record)
        assert (kept.outcome, confirmed.outcome) == ("", "confirmed")
        assert (kept.note, kept.rules, kept.before.latest["smoke"].value) == ("old", "", 4.0)
        save_visit(record, units(record)[0], Case((Entry("symptoms", "yes", "yes", said="he is dizzy"),)), rules="r")
        assert visits(record)[2].before.entries[0].said == "he is dizzy"


def test_what_a_kill_has_left_of_an_export_or_a_back_up_goes_with_the_next(tmp_path: Path) -> None:
    """Of a folder of tables too; what is young may be at work still."""
    for name in (".csv.abc.new", ".copy.sqlite3.abc.new", ".csv.young.new"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "units.csv").write_text("half")
        if "young" not in name:
            os.utime(tmp_path / name, (0, 0))
    with filled(tmp_path / "r.sqlite3") as record:
        export_csv(record, tmp_path / "csv")
        back_up(record, tmp_path / "copy.sqlite3")
    assert [one.name for one in sorted(tmp_path.glob(".*"))] == [".csv.young.new"]
