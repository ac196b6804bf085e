"""Voiding, correcting and merging leave a trace of what was there, and nothing is lost."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path

import pytest

from advisor.library.base import load
from advisor.reasoning.case import Case, Entry
from advisor.visit.documents import read_visit, visit_document
from advisor.visit.learning import learned
from advisor.visit.mend import correct_visit, merge_units, merged_into, restore_visit, traces, void_visit
from advisor.visit.record import (
    Record,
    RecordError,
    Unit,
    add_unit,
    find_visit,
    last_visits,
    open_record,
    save_visit,
    units,
    verify,
    visits,
)
from advisor.visit.strict import unreadable
from advisor.visit.tables import export_csv, import_csv
from advisor.visit.transfer import export_jsonl, import_jsonl
from tests.test_cli import run as cli

CHECK = partial(unreadable, load())
SOOT = "sooted-gas-passages"
CASE = Case((Entry("smoke", "4", 4.0),), {"co2-high": 12.0})


def filled(path: Path) -> Record:
    record = open_record(path)
    mill = add_unit(record, Unit("Mill", "A. Tester", equipment=(Entry("appliance", "boiler", "boiler"),)))
    add_unit(record, Unit("Mill Lane", address="1 Mill Lane", equipment=(Entry("fuel", "no 2", "no-2-oil"),)))
    save_visit(record, mill, CASE, CASE, confirmed=(SOOT,), note="first", parts={"nozzle": 1.0})
    save_visit(record, mill, Case(), note="second")
    return record


def test_a_void_visit_counts_for_nothing_and_can_count_again(tmp_path: Path) -> None:
    with filled(tmp_path / "r.sqlite3") as record:
        visit = find_visit(record, "1")
        void_visit(record, visit, "typed twice")
        assert [one.number for one in visits(record)] == [2]
        assert [one.void for one in visits(record, void=True)] == ["typed twice", ""]
        assert last_visits(record)[visit.unit][0] == 1
        assert learned(record, load())[SOOT].found == 0
        with pytest.raises(RecordError, match="is void already: typed twice"):
            void_visit(record, find_visit(record, "1"), "again")
        with pytest.raises(RecordError, match="say why"):
            restore_visit(record, find_visit(record, "1"), " ")
        assert find_visit(record, "1").void  # a change without a reason was not made
        restore_visit(record, find_visit(record, "1"), "it was two visits")
        assert find_visit(record, "1") == visit
        assert [(one.what, one.reason) for one in traces(record, visit.uid)] == [
            ("voided", "typed twice"), ("restored", "it was two visits")]


def test_a_corrected_visit_keeps_number_and_uid_and_what_was_there(tmp_path: Path) -> None:
    with filled(tmp_path / "r.sqlite3") as record:
        old = find_visit(record, "1")
        new = read_visit({**visit_document(old), "confirmed": [], "outcome": "not-found", "note": "right"}, "x")
        correct_visit(record, old, new, "wrong box ticked")
        now = find_visit(record, "1")
        assert (now.uid, now.note, now.confirmed, now.outcome) == (old.uid, "right", (), "not-found")
        assert now.before == old.before
        (trace,) = traces(record, old.uid)
        was = read_visit(json.loads(trace.was), "trace")
        assert visit_document(was) == visit_document(old)
        with pytest.raises(RecordError, match="nothing would change in visit 1"):
            correct_visit(record, now, now, "nothing")
        assert verify(record) == ()


def test_merged_units_are_one_and_an_older_export_brings_none_of_them_back(tmp_path: Path) -> None:
    with filled(tmp_path / "r.sqlite3") as record:
        export_jsonl(record, tmp_path / "old.jsonl")
        mill, lane = sorted(units(record), key=lambda unit: unit.label)
        merge_units(record, mill, lane, "the same boiler")
        (unit,) = units(record)
        assert (unit.label, unit.customer, unit.address) == ("Mill Lane", "A. Tester", "1 Mill Lane")
        assert {entry.name for entry in unit.equipment} == {"appliance", "fuel"}
        assert {visit.unit for visit in visits(record)} == {lane.uid}
        assert merged_into(record) == {mill.uid: lane.uid}
        done = import_jsonl(record, tmp_path / "old.jsonl", CHECK)
        assert (done.units, done.visits, len(units(record))) == (0, 0, 1)
        with pytest.raises(RecordError, match="into itself"):
            merge_units(record, unit, unit, "why not")
        later = add_unit(record, Unit("Later"))
        merge_units(record, lane, later, "renamed")
        assert merged_into(record) == {mill.uid: later.uid, lane.uid: later.uid}
        assert len(visits(record, later)) == 2
        assert verify(record) == ()


def test_traces_and_void_visits_go_through_both_exports_but_not_without_names(tmp_path: Path) -> None:
    with filled(tmp_path / "r.sqlite3") as record:
        void_visit(record, find_visit(record, "1"), "typed for Secretson")
        mill, lane = sorted(units(record), key=lambda unit: unit.label)
        merge_units(record, mill, lane, "the same boiler")
        whole = traces(record)
        for names in (True, False):
            export_csv(record, tmp_path / f"csv{names}", names)
            export_jsonl(record, tmp_path / f"{names}.jsonl", names)
    for names in (True, False):
        for take, source in ((import_csv, f"csv{names}"), (import_jsonl, f"{names}.jsonl")):
            with open_record(tmp_path / f"{source}.sqlite3") as record:
                take(record, tmp_path / source, CHECK)
                assert traces(record) == (whole if names else ())
                assert [bool(one.void) for one in visits(record, void=True)] == [True, False]
    assert "Secretson" not in (tmp_path / "False.jsonl").read_text()


@pytest.mark.parametrize(("more", "says"), [
    ({"what": "eaten"}, "`what` must be one of"), ({"at": ""}, "a trace needs `at`"), ({"was": "x"}, "`was` must be"),
    ({"was": {}}, "was: a visit needs `at`"), ({"what": "merged", "was": {"gone": {}}}, "have `gone`, `into`"),
    ({"what": "changed", "was": {"uid": "u"}}, "`label` must be a text"),
])
def test_an_import_refuses_a_trace_that_tells_nothing(tmp_path: Path, more: dict[str, object], says: str) -> None:
    trace = {"kind": "trace", "uid": "t", "at": "2026-01-05T10:00:00+00:00", "what": "voided", "subject": "v",
             "reason": "x", "into": "", "was": {}, **more}
    lines = [{"kind": "burner-advisor-record", "version": 6}, trace]
    (tmp_path / "x.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines))
    with open_record(tmp_path / "r.sqlite3") as record:
        with pytest.raises(RecordError, match=says):
            import_jsonl(record, tmp_path / "x.jsonl", CHECK)
        assert traces(record) == ()


def test_the_verb_corrects_voids_and_merges_and_shows_the_trace(tmp_path: Path) -> None:
    place = str(tmp_path / "r.sqlite3")
    filled(Path(place)).connection.close()

    def says(*words: str, status: int = 0) -> str:
        found, out, wrong = cli("record", "--file", place, *words)
        assert found == status, wrong
        return " ".join((out + wrong).split())

    assert "outcome: nothing -> nothing was wrong" in says(
        "correct", "1", "--outcome", "nothing-wrong", "--because", "wrong box")
    (tmp_path / "new.yaml").write_text("entries: {smoke: 1, co2: 12 %}")
    says("correct", "1", "--case", str(tmp_path / "new.yaml"), "--part", "2 x gasket", "--because", "other sheet",
         "--at", "2026-01-05T10:00", "--after", str(tmp_path / "new.yaml"))
    shown = says("show", "1")
    for words in ("2026-01-05", "corrected, because wrong box", "confirmed: soot in the flue passages",
                  "as found smoke 4", "2 x gasket", "1 x nozzle"):
        assert words in shown
    assert "counts for nothing" in says("void", "2", "--because", "typed twice")
    assert "what is to be corrected" in says("correct", "1", "--because", "x", status=2)
    assert "is not a time" in says("correct", "1", "--at", "soon", "--because", "x", status=2)
    assert "merged: Mill is Mill Lane" in says("merge", "Mill", "--into", "Mill Lane", "--because", "one boiler")
    assert "VOID (typed twice)" in says("visits", "Mill Lane")
    assert len(json.loads(says("traces", "--json"))["traces"]) == 4
    assert "Mill and Mill Lane, 2 visits of the first" in says("traces")
