"""The record: kept and read back alike, opened with care, with clear words for everything that can go wrong."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import platformdirs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.plaintext import plain_text
from advisor.reasoning.case import SKIPPED, UNCHECKED, Case, Entry
from advisor.visit import schema, tables, transfer
from advisor.visit.record import (
    Record,
    RecordError,
    Unit,
    Visit,
    add_unit,
    default_place,
    find_unit,
    find_visit,
    open_record,
    replace_unit,
    save_visit,
    units,
    verify,
    visits,
)

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12).map(plain_text)
names = st.text("abcdefghij_-", min_size=1, max_size=10)
numbers = st.floats(allow_nan=False, allow_infinity=False)
times = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1))
MEASURED_IN = {"stack_temperature": "degF"}


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    value: float | str | None = draw(st.one_of(numbers, texts.filter(bool), st.none()))
    status = "" if value is not None else draw(st.sampled_from([SKIPPED, UNCHECKED]))
    name = draw(st.sampled_from(["stack_temperature", "a_b"]) | names)
    return Entry(name, draw(texts), value, status, draw(texts), draw(st.sampled_from(["", "rechecked"])),
                 draw(st.none() | times), draw(texts))


case_values = st.builds(
    Case, st.lists(entries(), max_size=5).map(tuple), st.dictionaries(names, numbers, max_size=3),
    st.none() | st.lists(texts, max_size=3, unique=True).map(tuple), texts,
)
several = st.lists(texts, max_size=3, unique=True)
Kept = tuple[Case, Case | None, list[str], list[str], str, datetime]
visit_values = st.tuples(case_values, st.none() | case_values, several, several, texts,
                         st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=st.sampled_from(
                             [UTC, timezone(timedelta(hours=-5))])))


def fill(record: Record, kept: list[Kept]) -> Unit:
    unit = add_unit(record, Unit("Mill Lane  boiler", "Mill, a; \"customer\"", "1 Mill Lane\r\nrear",
                                 (Entry("appliance", "boiler", "boiler"),)))
    for before, after, confirmed, remedies, note, at in kept:
        save_visit(record, unit, before, after, confirmed=confirmed, remedies=remedies, note=note, at=at,
                   measured_in=MEASURED_IN)
    return unit


def unnumbered(found: tuple[Visit, ...]) -> list[Visit]:
    return [replace(one, number=0) for one in found]


@settings(max_examples=20, deadline=None)
@given(kept=st.lists(visit_values, max_size=3, unique_by=lambda one: one[-1]))
def test_what_was_kept_is_read_back_here_and_wherever_it_is_taken(
    tmp_path_factory: pytest.TempPathFactory, kept: list[Kept]
) -> None:
    folder = tmp_path_factory.mktemp("record")
    with open_record(folder / "here.sqlite3") as here:
        unit = fill(here, kept)
        found = visits(here, unit)
        assert [(one.before, one.after, one.confirmed, one.remedies, one.note, one.at) for one in found] == [
            (before, after, tuple(confirmed), tuple(remedies), note, at)
            for before, after, confirmed, remedies, note, at in sorted(kept, key=lambda one: one[-1])]
        assert all(set(one.measured_in.items()) <= set(MEASURED_IN.items()) for one in found)
        transfer.export_jsonl(here, folder / "all.jsonl")
        tables.export_csv(here, folder / "csv")
        transfer.back_up(here, folder / "copy.sqlite3")
        assert units(here) == (unit,)
    for name, source in (("lines", "all.jsonl"), ("tables", "csv")):
        read = transfer.import_jsonl if name == "lines" else tables.import_csv
        with open_record(folder / f"{name}.sqlite3") as there:
            done = read(there, folder / source, lambda one: ())
            assert (done.units, done.visits, done.known) == (1, len(kept), 0)
            again = read(there, folder / source, lambda one: ())
            assert (again.units, again.visits, again.known) == (0, 0, 1 + len(kept))
            assert (units(there), unnumbered(visits(there))) == ((unit,), unnumbered(found))
    with open_record(folder / "copy.sqlite3", make=False) as copy:
        assert (units(copy), visits(copy), verify(copy)) == ((unit,), found, ())


def test_a_text_that_spells_a_nul_is_none(tmp_path: Path) -> None:
    with open_record(tmp_path / "a.sqlite3") as record:
        save_visit(record, add_unit(record, Unit("A")), Case(), note=r"\u0000 in a note")
        transfer.export_jsonl(record, tmp_path / "a.jsonl")
    with open_record(tmp_path / "b.sqlite3") as record:
        transfer.import_jsonl(record, tmp_path / "a.jsonl", lambda one: ())
        assert visits(record)[0].note == r"\u0000 in a note"


def test_visits_come_in_the_order_of_their_time_and_are_found_by_number_and_uid(tmp_path: Path) -> None:
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("A"))
        west = timezone(timedelta(hours=-8))
        later = save_visit(record, unit, Case(), at=datetime(2026, 1, 1, 1, tzinfo=west))  # 9:00 in Greenwich
        first = save_visit(record, unit, Case(), at=datetime(2026, 1, 1, 3, tzinfo=UTC))
        assert [visit.number for visit in visits(record, unit)] == [first.number, later.number]
        assert find_visit(record, str(later.number)) == find_visit(record, later.uid) == later
        with pytest.raises(RecordError, match="there is no visit '99'"):
            find_visit(record, "99")


def test_a_unit_is_found_by_words_and_changed(tmp_path: Path) -> None:
    with open_record(tmp_path / "r.sqlite3") as record:
        mill = add_unit(record, Unit("Mill Lane boiler", "Miller"))
        add_unit(record, Unit("Mill Lane furnace", "Miller"))
        assert find_unit(record, "mill LANE boiler").uid == find_unit(record, "boil").uid == mill.uid
        with pytest.raises(RecordError, match="may be 'Mill Lane boiler' or 'Mill Lane furnace'; say which"):
            find_unit(record, "miller")
        with pytest.raises(RecordError, match="no unit 'barn'; there are 'Mill Lane boiler'"):
            find_unit(record, "barn")
        with pytest.raises(RecordError, match="called 'mill lane BOILER' already"):
            add_unit(record, Unit("mill lane BOILER"))
        with pytest.raises(RecordError, match="needs a label"):
            add_unit(record, Unit("  "))
        changed = Unit("Barn boiler", "Farmer", "2 Mill Lane", (Entry("smoke", "4", 4.0),), {}, mill.uid)
        replace_unit(record, changed)
        assert find_unit(record, "barn") == changed


def test_a_number_that_is_none_is_refused_and_nothing_is_kept(tmp_path: Path) -> None:
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("A"))
        with pytest.raises(RecordError, match="smoke: nan is not a number"):
            save_visit(record, unit, Case((Entry("smoke", "x", float("nan")),)))
        with pytest.raises(RecordError, match="cannot be kept"):
            save_visit(record, unit, Case(), note="\ud800")
        assert visits(record) == ()


def test_a_full_disk_keeps_what_was_there_and_work_goes_on(tmp_path: Path) -> None:
    """SQLite's own limit of pages gives SQLITE_FULL, as a full disk does (sqlite.org, result codes)."""
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("A"))
        save_visit(record, unit, Case((Entry("smoke", "4", 4.0),)), note="first")
        (pages,) = record.connection.execute("PRAGMA page_count").fetchone()
        record.connection.execute(f"PRAGMA max_page_count = {pages}")
        large = Case(tuple(Entry("smoke", "4" * 200, 4.0) for _ in range(40)))

        def fill_the_disk() -> None:
            for _ in range(200):
                save_visit(record, unit, large, note="more")

        with pytest.raises(RecordError, match=r"r\.sqlite3: the disk is full.*Free some space.*--file"):
            fill_the_disk()
        kept = visits(record)
        assert all(len(visit.before.entries) == (1 if visit.note == "first" else 40) for visit in kept)
        assert verify(record) == ()
        record.connection.execute("PRAGMA max_page_count = 1000000")
        save_visit(record, unit, Case(), note="after")
        assert len(visits(record)) == len(kept) + 1


def test_a_disk_that_refuses_to_write_leaves_the_record_whole(tmp_path: Path) -> None:
    """The operating system's own limit of a file's size, in a process of its own."""
    path = tmp_path / "r.sqlite3"
    with open_record(path) as record:
        save_visit(record, add_unit(record, Unit("A")), Case(), note="first")
    program = (
        "import resource, sys; from pathlib import Path\n"
        "from advisor.visit.record import *; from advisor.reasoning.case import *\n"
        "with open_record(Path(sys.argv[1])) as record:\n"
        "    unit = units(record)[0]\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, resource.RLIM_INFINITY))\n"
        "    kept = 0\n"
        "    try:\n"
        "        while True:\n"
        "            save_visit(record, unit, Case(tuple(Entry('smoke', '4' * 500, 4.0) for _ in range(50))))\n"
        "            kept += 1\n"
        "    except RecordError as error: print(kept, error)\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))\n"
        "    save_visit(record, unit, Case(), note='after')\n"
    )
    done = subprocess.run([sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=False,
                          env={**os.environ, "PYTHONPATH": str(Path(schema.__file__).parents[2])}, timeout=60)
    assert done.returncode == 0, done.stderr
    kept, _, said = done.stdout.partition(" ")
    assert "so this was not kept" in said
    with open_record(path) as record:
        assert len(visits(record)) == int(kept) + 2
        assert verify(record) == ()


def test_a_record_of_a_newer_version_is_refused_and_left(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite3"
    with open_record(path) as record:
        record.connection.execute("PRAGMA user_version = 99")
    before = path.read_bytes()
    with pytest.raises(RecordError, match=r"newer burner-advisor \(version 99 of the record.*update burner-advisor"):
        open_record(path)
    assert path.read_bytes() == before


def test_another_programs_file_is_refused_and_left(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite3"
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE recipes (dish TEXT)")
    other.close()
    before = path.read_bytes()
    with pytest.raises(RecordError, match="another program's file"):
        open_record(path)
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["r.sqlite3"]


def filled(path: Path) -> None:
    with open_record(path) as record:
        unit = add_unit(record, Unit("A"))
        for _ in range(30):
            save_visit(record, unit, Case(tuple(Entry("smoke", "4", 4.0) for _ in range(30)), {"co2-high": 12.0}),
                       confirmed=("a", "b"))


@pytest.mark.parametrize("content", [b"not a record " * 400, bytes(range(256)) * 64, b"\x00" * 9000, b"x",
                                     b"SQLite format 3\x00" + b"\xff" * 5000])
def test_a_file_of_something_else_is_refused_and_left(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "r.sqlite3"
    path.write_bytes(content)
    with pytest.raises(RecordError, match=r"damaged, or is not a record.*back-up"):
        open_record(path)
    assert path.read_bytes() == content


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9, 0.99])
def test_a_file_cut_short_is_refused_and_left(tmp_path: Path, share: float) -> None:
    path = tmp_path / "r.sqlite3"
    filled(path)
    content = path.read_bytes()[: int(path.stat().st_size * share)]
    path.write_bytes(content)
    with pytest.raises(RecordError, match="damaged"):
        open_record(path)
    assert path.read_bytes() == content


def why_refused(path: Path) -> str:
    try:
        with open_record(path) as record:
            return "" if units(record) and visits(record) else "nothing there"
    except RecordError as error:
        return str(error)


def test_a_file_damaged_anywhere_is_refused_and_left_or_read_without_a_crash(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite3"
    filled(path)
    whole, refused = path.read_bytes(), 0
    for place in range(0, len(whole), 1000):
        content = whole[:place] + b"\xff" * 120 + whole[place + 120:]
        path.write_bytes(content)
        said = why_refused(path)
        if said:
            refused += 1
            assert "damaged" in said
            assert len(said.splitlines()) == 1
            assert path.read_bytes() == content
    assert refused > 20


def test_a_damaged_file_is_left_though_a_log_with_newer_visits_stands_beside_it(tmp_path: Path) -> None:
    """After a kill the log holds visits that are not in the file yet: both stay as they are, to be rescued."""
    path = tmp_path / "r.sqlite3"
    filled(path)
    with open_record(path) as record:
        unit = units(record)[0]
        save_visit(record, unit, Case(), note="only in the log")
        kept = {one.name: one.read_bytes() for one in tmp_path.iterdir()}
    other = tmp_path / "after the kill"
    other.mkdir()
    for name, content in kept.items():
        if not name.endswith("-shm"):
            (other / name).write_bytes(content)
    assert len((other / "r.sqlite3-wal").read_bytes()) > 1000
    middle = len(kept["r.sqlite3"]) // 2  # which the log does not replace
    spoilt = kept["r.sqlite3"][:middle] + b"\xff" * 9000 + kept["r.sqlite3"][middle + 9000:]
    (other / "r.sqlite3").write_bytes(spoilt)
    with pytest.raises(RecordError, match="damaged"):
        open_record(other / "r.sqlite3")
    assert (other / "r.sqlite3").read_bytes() == spoilt
    assert (other / "r.sqlite3-wal").read_bytes() == kept["r.sqlite3-wal"]
    (other / "r.sqlite3").write_bytes(kept["r.sqlite3"])
    with open_record(other / "r.sqlite3") as record:
        assert [visit.note for visit in visits(record)][-1] == "only in the log"


def test_a_place_that_cannot_be_written_is_told_in_words(tmp_path: Path) -> None:
    below_a_file = tmp_path / "file"
    below_a_file.write_text("a file, no folder")
    for path in (below_a_file / "r.sqlite3", tmp_path, tmp_path / ("x" * 300), tmp_path / "nul\0"):
        with pytest.raises(RecordError, match=r"cannot be opened for writing.*--file or BURNER_ADVISOR_RECORD"):
            open_record(path)
    assert below_a_file.read_text() == "a file, no folder"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_without_permission_is_told_in_words(tmp_path: Path) -> None:
    path = tmp_path / "shut" / "r.sqlite3"
    filled(path)
    path.parent.chmod(0o500)
    try:
        with pytest.raises(RecordError, match="--file or BURNER_ADVISOR_RECORD"), open_record(path) as record:
            add_unit(record, Unit("B"))
        with pytest.raises(RecordError, match="cannot be opened for writing"):
            open_record(path.with_name("new.sqlite3"))
    finally:
        path.parent.chmod(0o700)
    with open_record(path) as record:
        assert len(visits(record)) == 30


def test_a_record_that_another_program_holds_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "r.sqlite3"
    monkeypatch.setattr(schema, "PATIENCE", 0.05)
    with open_record(path) as one, open_record(path) as other:
        unit = add_unit(one, Unit("A"))
        with one.transaction(writing=True):
            with pytest.raises(RecordError, match="another program has held it"):
                save_visit(other, unit, Case())
            assert units(other) == (unit,)  # reading goes on
        save_visit(other, unit, Case())


def test_a_record_that_is_not_there_is_not_made_by_reading(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no record here yet; `record add-unit` begins one"):
        open_record(tmp_path / "r.sqlite3", make=False)
    assert list(tmp_path.iterdir()) == []


def test_only_this_user_can_read_customers_addresses(tmp_path: Path) -> None:
    path = tmp_path / "data" / "r.sqlite3"
    with open_record(path) as record:
        add_unit(record, Unit("A"))
        assert {one.stat().st_mode & 0o077 for one in (path.parent, *path.parent.iterdir())} == {0}


def test_a_migration_takes_the_rows_along_or_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "r.sqlite3"
    filled(path)
    more = ("ALTER TABLE units ADD COLUMN telephone TEXT NOT NULL DEFAULT ''", "CREATE TABLE vans (name TEXT)")
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, (*more, "CREATE TABLE vans (name TEXT)")))
    with pytest.raises(RecordError, match="vans already exists"):
        open_record(path)
    monkeypatch.undo()
    with open_record(path) as record:  # the file is still of the version before
        assert record.connection.execute("SELECT count(*) FROM sqlite_master WHERE name = 'vans'").fetchone() == (0,)
        assert len(visits(record)) == 30
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, more))
    with open_record(path) as record:
        assert record.connection.execute("PRAGMA user_version").fetchone() == (len(schema.MIGRATIONS),)
        assert record.connection.execute("SELECT telephone FROM units").fetchall() == [("",)]
        assert len(visits(record)) == 30


def test_the_usual_place_follows_the_base_directory_specification(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """XDG Base Directory Specification (freedesktop.org): a relative path counts as not set."""
    monkeypatch.delenv("BURNER_ADVISOR_RECORD", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    for unset in ("", "relative"):
        monkeypatch.setenv("XDG_DATA_HOME", unset)
        assert default_place() == tmp_path / ".local" / "share" / "burner-advisor" / "record.sqlite3"
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert default_place() == tmp_path / "data" / "burner-advisor" / "record.sqlite3"
    monkeypatch.setenv("BURNER_ADVISOR_RECORD", "~/a")
    assert default_place() == tmp_path / "a"


def test_a_record_at_the_place_of_earlier_versions_is_still_read(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """They kept it under ~/.local/share on every system; macOS and Windows have other places."""
    elsewhere = tmp_path / "Library" / "burner-advisor"
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: elsewhere)
    monkeypatch.delenv("BURNER_ADVISOR_RECORD", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", "")
    monkeypatch.setenv("HOME", str(tmp_path))
    former = tmp_path / ".local" / "share" / "burner-advisor" / "record.sqlite3"
    assert default_place() == elsewhere / "record.sqlite3"
    with open_record(former) as record:
        add_unit(record, Unit("Mill Lane"))
    with open_record() as record:
        assert (record.path, [unit.label for unit in units(record)]) == (former, ["Mill Lane"])
    with open_record(elsewhere / "record.sqlite3"):
        assert default_place() == elsewhere / "record.sqlite3"


def test_folders_made_for_a_record_are_for_its_owner_alone(tmp_path: Path) -> None:
    with open_record(tmp_path / "a" / "b" / "record.sqlite3") as record:
        add_unit(record, Unit("Mill Lane"))
        modes = {path.name: path.stat().st_mode & 0o777 for path in tmp_path.rglob("*")}
    assert {modes["a"], modes["b"]} == {0o700}
    assert {mode for name, mode in modes.items() if name.startswith("record.sqlite3")} == {0o600}
    assert "record.sqlite3-wal" in modes
