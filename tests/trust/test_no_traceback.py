"""Odd streams, homes, locales, times and zones end in words and in a status of 0, 1 or 2, never in a traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from _pytest.mark import ParameterSet

from advisor.library.base import load
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.casefile import beside, read_case, save_case
from advisor.visit.record import Unit, add_unit, find_unit, open_record, save_visit, visits
from advisor.visit.remedy import Job, Work
from advisor.visit.workfile import write_work

ROOT = Path(__file__).parents[2]
CASE = "entries: [{smoke: 4, at: '2026-01-05T10:00'}, {stack: 500 F, at: '2026-01-05T10:00+02:00'}, {co2: 10}]\n"
VERBS = (["diagnose", "a.yaml"], ["diagnose", "-"], ["report", "a.yaml"], ["explain", "smoke"], ["--help"],
         ["--version"], ["record", "units"], ["practice", "--list"], ["effects"],
         ["sheets"], ["tell-apart"], ["tell-apart", "nozzle-worn", "nozzle-plugged"], ["explain"], ["call", "c.yaml"])


def run(folder: Path, *words: str, typed: str = "", before: str = "", **there: str) -> tuple[int, str]:
    """Exit status, and output and errors together; `before` is done by the shell to the streams, such as `>&-`."""
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "BURNER_ADVISOR_RECORD": str(folder / "r.sqlite3"), **there}
    line = f'exec {before}; exec "$@"' if before else 'exec "$@"'
    done = subprocess.run(["sh", "-c", line, "sh", sys.executable, "-m", "advisor.cli", *words], input=typed.encode(),
                          capture_output=True, cwd=folder, env=surroundings, timeout=120, check=False)
    said = (done.stdout + done.stderr).decode(errors="replace")
    for never in ("Traceback", "should not happen", "Exception ignored", "Fatal"):
        assert never not in said, (words, before, said)
    assert done.returncode in (0, 1, 2), (words, before, done.returncode, said)
    return done.returncode, said


def longer(*values: object) -> list[ParameterSet]:
    """What only the longer run tries (`pytest -m fuzz`)."""
    return [pytest.param(value, marks=pytest.mark.fuzz) for value in values]


@pytest.mark.parametrize("before", ["<&- >&- 2>&-", *longer("<&-", ">&-", "2>&-", ">/dev/full", "2>/dev/full",
                                                            "</dev/null")])
def test_streams_that_are_closed_or_full(tmp_path: Path, before: str) -> None:
    if "full" in before and not Path("/dev/full").exists():
        pytest.skip("there is no full device here")
    (tmp_path / "a.yaml").write_text(CASE)
    for words in VERBS:
        status, said = run(tmp_path, *words, typed=CASE, before=before)
        if before == ">/dev/full":
            assert status == 2, words
            assert "cannot go on" in said or words[0] == "record", words
    assert (tmp_path / "a.yaml").read_text() == CASE


def test_no_file_of_ours_takes_the_place_of_a_closed_stream(tmp_path: Path) -> None:
    """A file that is opened where standard error was would take what is printed there."""
    (tmp_path / "a.yaml").write_text(CASE)
    with open_record(tmp_path / "r.sqlite3") as record:
        add_unit(record, Unit("Mill Lane"))
    assert run(tmp_path, "record", "keep", "a.yaml", "--unit", "Mill", before="<&- >&- 2>&-")[0] == 0
    assert "1 visit" in run(tmp_path, "record", "check")[1]


@pytest.mark.parametrize("home", ["a.yaml", "/no/such/home"])
def test_a_home_that_is_none(tmp_path: Path, home: str) -> None:
    (tmp_path / "a.yaml").write_text(CASE)
    home = str(tmp_path / home) if home == "a.yaml" else home
    for words in (["record", "where"], ["record", "units"], ["diagnose", "--learned", "a.yaml"], ["--version"]):
        run(tmp_path, *words, HOME=home, BURNER_ADVISOR_RECORD="", XDG_DATA_HOME="")
    status, said = run(tmp_path, "call", "c.yaml", typed="smoke 3\nunit Mill\nsave ~/x\nsave ~nobody-here/x\n",
                       HOME=home, BURNER_ADVISOR_RECORD="", XDG_DATA_HOME="")
    assert (status, "the record:" in said) == (0, True)
    assert read_case(tmp_path / "c.yaml", load()).latest["smoke"].value == 3.0


def test_a_user_without_a_home(tmp_path: Path) -> None:
    script = ("import os, pwd, sys\ndef unknown(uid): raise KeyError(uid)\npwd.getpwuid = unknown\n"
              "from advisor.cli import main\nsys.exit(main())")
    there = {name: value for name, value in os.environ.items()
             if name not in ("HOME", "BURNER_ADVISOR_RECORD", "XDG_DATA_HOME")}
    for words in (["record", "where"], ["record", "units"], ["diagnose", "-", "--learned"]):
        done = subprocess.run([sys.executable, "-c", script, *words], input=CASE, capture_output=True, cwd=tmp_path,
                              env={**there, "PYTHONPATH": str(ROOT)}, timeout=120, check=False, text=True)
        assert done.returncode == 2
        assert done.stderr == ("the record: this user has no home folder to keep it in; name a file with --file or "
                               "BURNER_ADVISOR_RECORD\n")


def test_a_device_without_end_is_no_import(tmp_path: Path) -> None:
    if not Path("/dev/zero").is_char_device():
        pytest.skip("there is no such device here")
    (tmp_path / "csv").mkdir()
    (tmp_path / "csv" / "units.csv").symlink_to("/dev/zero")
    for source in ("/dev/zero", "csv"):
        status, said = run(tmp_path, "record", "import", source)
        assert (status, "cannot be read (a device, no file)" in said) == (2, True)


def test_a_kept_visit_with_answers_of_another_version_is_shown_and_reckoned_without_them(tmp_path: Path) -> None:
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("Mill Lane", equipment=(Entry("appliance", "stove", "stove"),)))
        save_visit(record, unit, Case((Entry("smoke", "4", 4.0), Entry("spot_look", "mauve", "mauve"),
                                       Entry("co2", "lots", "lots"), Entry("flame_look", "7", 7.0))))
    for words in (["show", "1"], ["visits", "Mill"], ["trend", "Mill"], ["learned"]):
        assert run(tmp_path, "record", *words)[0] == 0
    assert "mauve" in run(tmp_path, "record", "show", "1")[1]
    assert run(tmp_path, "call", "c.yaml", typed="unit Mill\nsmoke 3\n")[0] == 0


@pytest.mark.parametrize("there", [{"LC_ALL": "POSIX", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, *longer(
    {"LC_ALL": "C"}, {"PYTHONIOENCODING": "latin-1"}, {"PYTHONIOENCODING": "ascii"})])
def test_letters_that_the_locale_lacks_are_shown_and_kept(tmp_path: Path, there: dict[str, str]) -> None:
    (tmp_path / "a.yaml").write_text("title: Größe\n" + CASE, encoding="utf-8")
    for words in (["diagnose", "a.yaml"], ["report", "a.yaml"], ["report", "a.yaml", "--html", "a.html"],
                  ["call", "a.yaml"]):
        run(tmp_path, *words, typed="\xff\nGröße\n", **there)
    run(tmp_path, "call", "a.yaml", typed="unit new Größe\nsmoke 3\nquit\n", **there)
    with open_record(tmp_path / "r.sqlite3") as record:
        meant = "GrÃ¶Ã\x9fe".replace("\x9f", " ") if there.get("PYTHONIOENCODING") == "latin-1" else "Größe"
        assert find_unit(record, meant)


@pytest.mark.parametrize("at", ["0001-01-01", "0000-01-01", "9999-12-31T23:59:59", "9999-12-31T23:59:59-23:59",
                                "0001-01-01T00:00+23:59", "2026-13-01", "2026-01-05T25:00", "1899-12-31"])
def test_times_that_nobody_can_mean_are_refused_in_words(tmp_path: Path, at: str) -> None:
    (tmp_path / "a.yaml").write_text(f"entries: {{smoke: {{value: 3, at: '{at}'}}}}\n")
    (tmp_path / "b.yaml").write_text(CASE)
    (tmp_path / "b.work.yaml").write_text(f"closed: '{at}'\n")
    with open_record(tmp_path / "r.sqlite3") as record:
        add_unit(record, Unit("Mill Lane"))
    for words in (["diagnose", "a.yaml"], ["record", "keep", "b.yaml", "--unit", "Mill", "--at", at],
                  ["call", "b.yaml"]):
        status, said = run(tmp_path, *words)
        assert (status, f"'{at}' is not a time such as 2026-11-25T10:30" in said) == (2, True), said


@pytest.mark.parametrize("zone", ["XXX-23:59", *longer("Nonsense/Nowhere", "XXX+23:59", ":", "\u00fc")])
def test_times_on_the_edge_with_and_without_a_zone_in_any_zone(tmp_path: Path, zone: str) -> None:
    (tmp_path / "a.yaml").write_text(
        "entries:\n- {oil_leak: dripping, at: '1900-01-01T00:00:00+23:59'}\n- {smoke: 3, at: '2026-01-05T10:00'}\n"
        "- {cured: {oil-leak: flare}, at: '2199-12-31T23:59:59-23:59'}\n- {oil_leak: none, at: '2026-01-05T10:00Z'}\n"
        "- {stack: 480 F, at: '2026-01-05T10:00'}\n- {stack: 480 F, at: '2026-01-05T10:01Z'}\n")
    with open_record(tmp_path / "r.sqlite3") as record:
        unit = add_unit(record, Unit("Mill Lane"))
        save_visit(record, unit, Case((Entry("smoke", "4", 4.0),)))
        record.connection.execute("UPDATE visits SET at = '9999-12-31T23:59:59+00:00'")  # as an earlier version took it
    for words in (["diagnose", "a.yaml"], ["report", "a.yaml"], ["record", "keep", "a.yaml", "--unit", "Mill"],
                  ["record", "visits", "Mill"], ["record", "show", "1"], ["record", "trend", "Mill", "--svg", "a.svg"],
                  ["record", "units"], ["record", "export", "all.jsonl"]):
        assert run(tmp_path, *words, TZ=zone)[0] in (0, 1), words
    run(tmp_path, "call", "a.yaml", typed="unit Mill\nremedy soot\nretest\nkeep\nsmoke 2\n", TZ=zone)
    run(tmp_path, "test", "a.yaml", typed="cannot\n" * 12 + "stack 480\n5 481\n", TZ=zone)


def test_a_folder_for_a_case_and_a_name_that_is_no_text(tmp_path: Path) -> None:
    for verb in ("call",):
        for folder in ("/", ".", "..", str(tmp_path)):
            status, said = run(tmp_path, verb, folder)
            assert (status, said) == (2, f"{Path(folder)}:1: is a folder; name a case file in it, such as case.yaml\n")
    odd = os.fsdecode(b"odd\xff.yaml")
    (tmp_path / odd).write_text(CASE)
    assert run(tmp_path, "report", odd, "--html", "a.html")[0] == 0
    assert "odd?" in (tmp_path / "a.html").read_text()
    assert run(tmp_path, "report", odd, "--coming", os.fsdecode(b"\xff"))[0] == 2


def test_what_a_kill_left_beside_a_case_goes_at_the_next_start(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    save_case(Case((Entry("smoke", "4", 4.0),)), path, load())
    save_case(Case((Entry("smoke", "2", 2.0),)), beside(path, "after"), load())
    beside(path, "work").write_text(write_work(Work((Job("sooted-gas-passages"),))))
    mine = [tmp_path / f".{name}.x1.new" for name in ("case.yaml", "case.work.yaml", "case.after.yaml")]
    others = [tmp_path / ".case.other.yaml.x1.new", tmp_path / ".other.yaml.x1.new"]
    for left in (*mine, *others):
        left.write_text("part of a ca")
    assert run(tmp_path, "call", "case.yaml", typed="quit\n")[0] == 0
    assert [left for left in (*mine, *others) if left.exists()] == others


def test_what_a_kill_left_of_a_report_goes_with_the_next_but_not_what_is_being_written(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(CASE)
    old, new = tmp_path / ".a.html.x1.new", tmp_path / ".a.html.x2.new"
    for left in (old, new):
        left.write_text("part of a re")
    os.utime(old, (0, 0))
    assert run(tmp_path, "report", "a.yaml", "--html", "a.html")[0] == 0
    assert (old.exists(), new.exists()) == (False, True)


def test_what_a_kill_left_of_the_record_is_put_back_and_goes(tmp_path: Path) -> None:
    place = tmp_path / "r.sqlite3"
    script = ("import os, signal, sys; from pathlib import Path; from advisor.visit.record import *; "
              "record = open_record(Path(sys.argv[1])); add_unit(record, Unit('Mill Lane')); "
              "os.kill(os.getpid(), signal.SIGKILL)")
    done = subprocess.run([sys.executable, "-c", script, str(place)], cwd=ROOT, check=False)
    assert done.returncode == -signal.SIGKILL
    assert (tmp_path / "r.sqlite3-wal").exists()
    assert "Mill Lane" in run(tmp_path, "record", "units")[1]
    assert [path.name for path in tmp_path.iterdir()] == ["r.sqlite3"]


def test_every_file_made_is_for_its_owner_alone(tmp_path: Path) -> None:
    """Whatever the umask: they tell of customers."""
    before = os.umask(0)
    try:
        run(tmp_path, "call", typed="smoke 4\nunit new Mill Lane\nremedy sooted-gas-passages\ndone all\nretest\n"
                                       "smoke 1\nkeep\nsave copy\ntest\nquit\nquit\n")
        (case,) = tmp_path.glob("burner-case-????????-????.yaml")
        run(tmp_path, "test", typed="yes\n")
        run(tmp_path, "test", "air.yaml", "--air", "--svg", "air.svg", typed="5\n1\n10\n")
        run(tmp_path, "report", case.name, "--html", "a.html")
        run(tmp_path, "record", "trend", "Mill", "--svg", "trend.svg")
        run(tmp_path, "record", "export", "all.jsonl")
        run(tmp_path, "record", "export", "csv", "--csv")
        run(tmp_path, "record", "back-up", "copy.sqlite3")
        run(tmp_path, "record", "add-unit", "B", "--file", "new/folder/r.sqlite3")
    finally:
        os.umask(before)
    made = list(tmp_path.rglob("*"))
    assert {"copy.yaml", "a.html", "trend.svg", "all.jsonl", "csv", "copy.sqlite3", "r.sqlite3", "folder",
            f"{case.stem}.work.yaml", f"{case.stem}.after.yaml"} <= {path.name for path in made}
    assert {path.name: oct(path.stat().st_mode & 0o777) for path in made} == {
        path.name: "0o700" if path.is_dir() else "0o600" for path in made}
    with open_record(tmp_path / "r.sqlite3") as record:
        assert len(visits(record)) == 1
