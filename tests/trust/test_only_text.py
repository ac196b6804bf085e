"""What is printed and written is only text, whatever a file, a line, a word of the command line or the record holds."""

from __future__ import annotations

import contextlib
import json
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.library.plaintext import json_text, plain_text
from advisor.visit.record import open_record, save_visit, units, visits

ROOT = Path(__file__).parents[2]
FOUL = "\x1b[31m\x07\x9b31m\b\x00\x7f\u202e\u2066\u200b\u2028\ufeff\ufffe"
"""ESC [, bell, the C1 form of ESC [, backspace, NUL, DEL, marks of direction, blanks without width, a noncharacter."""
NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b\u202a-\u202e\u2028\u2066-\u2069\ufeff\ufffe]|\r(?!\n)")


def run(folder: Path, *words: str, typed: str = "") -> str:
    """Output and errors together, of a process of its own; its newlines are as they were written."""
    there = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", "COLUMNS": "80",
             "BURNER_ADVISOR_RECORD": str(folder / "record.sqlite3")}
    done = subprocess.run([sys.executable, "-m", "advisor.cli", *words], input=typed.encode(), capture_output=True,
                          cwd=folder, env=there, timeout=120, check=False)
    said = (done.stdout + done.stderr).decode()
    assert done.returncode in (0, 1, 2), said
    assert "should not happen" not in said
    assert not NO_TEXT.search(said), ascii(NO_TEXT.findall(said)) + said
    return said


def case_file(folder: Path, name: str = "a.yaml") -> Path:
    """A case with foul characters wherever words may stand: YAML has escapes for them."""
    path = folder / name
    foul = json.dumps(FOUL)[1:-1]
    path.write_text(f'title: "Mill{foul} Lane"\nentries:\n- {{smoke: "\\e\\a4\\u202e"}}\n- {{stack: 500 F}}\n'
                    f'- {{co2: 10}}\n- {{oil_leak: dripping}}\n- {{cured: {{oil-leak: "new{foul} flare"}}}}\n')
    return path


def test_a_foul_case_is_shown_as_text_by_every_verb(tmp_path: Path) -> None:
    case = case_file(tmp_path)
    assert run(tmp_path, "diagnose", case.name).startswith("Mill [31m 31m")
    document = json.loads(run(tmp_path, "diagnose", "--json", case.name))
    assert not NO_TEXT.search(document["title"])
    assert "Mill [31m 31m" in run(tmp_path, "report", case.name, "--note", f"a{FOUL.replace(chr(0), '')}b")
    run(tmp_path, "test", case.name, typed=f"stack {FOUL}\nquit\n")
    typed = ("room co ", " 3\n", "\nentries\nwhy ", "\nunit new B", "\nkeep note ", "\nquit\n")
    run(tmp_path, "call", case.name, typed=FOUL.join(typed))
    assert not NO_TEXT.search(case.read_text())


def test_foul_words_of_the_command_line_are_echoed_as_text(tmp_path: Path) -> None:
    foul = FOUL.replace("\x00", "")  # no word of a command line can hold it
    for words in (["diagnose", f"no{foul}.yaml"], ["explain", foul], ["rules", "--cause", foul], [foul],
                  ["record", "find", foul], ["record", "units", "--file", f"no{foul}/a"], ["check-rules", foul],
                  ["report", f"no{foul}.yaml"], ["test", "--kit", foul], ["diagnose", "--rules", foul, "-"]):
        assert run(tmp_path, *words).strip(), words
    case_file(tmp_path, f"odd{foul}.yaml")  # a file of such a name is still found
    assert run(tmp_path, "diagnose", f"odd{foul}.yaml").startswith("Mill [31m 31m")


def test_page_and_picture_of_a_foul_case_are_well_formed(tmp_path: Path) -> None:
    case = case_file(tmp_path)
    foul = FOUL.replace("\x00", "")
    run(tmp_path, "report", case.name, case.name, "--html", "page.html", "--technician", f"<T{foul}>",
        "--unit", f"U{foul}", "--note", f"n{foul}", "--coming", f"c{foul}", "--remedy", "clean-gas-passages")
    run(tmp_path, "record", "add-unit", f"Mill{foul} <Lane>", "--customer", f"c{foul}", "--address", f"a{foul}")
    run(tmp_path, "record", "keep", case.name, "--unit", "mill", "--note", f"n{foul}")
    run(tmp_path, "record", "trend", "mill", "--svg", "trend.svg")
    for name in ("page.html", "trend.svg"):
        text = (tmp_path / name).read_text()
        ElementTree.fromstring(text)
        assert not NO_TEXT.search(text)
        assert "Lane" in text or "U" in text


def foul_record(path: Path) -> None:
    """A record as an earlier version wrote it, which took words as they came."""
    with open_record(path) as record:
        from advisor.reasoning.case import CURED, Case, Entry
        from advisor.visit.record import Unit, add_unit

        unit = add_unit(record, Unit("Mill Lane", equipment=(Entry("nozzle_age", "3", 3.0),)))
        save_visit(record, unit, Case((Entry("smoke", "4", 4.0), Entry("oil-leak", "taped", None, CURED)),
                                      title="t"), note="n")
        for table, column in (("units", "label"), ("units", "customer"), ("units", "address"), ("visits", "note"),
                              ("cases", "title"), ("entries", "typed"), ("entries", "note"), ("equipment", "typed")):
            record.connection.execute(f"UPDATE {table} SET {column} = {column} || ?", (f"x{FOUL}y",))


def test_a_foul_record_is_read_shown_and_exported_as_text(tmp_path: Path) -> None:
    foul_record(tmp_path / "record.sqlite3")
    with open_record(tmp_path / "record.sqlite3") as record:
        (unit,) = units(record)
        (visit,) = visits(record, unit)
    for text in (unit.label, unit.customer, unit.address, visit.note, visit.before.title,
                 *(entry.typed for entry in (*visit.before.entries, *unit.equipment))):
        assert text.startswith(("Mill Lanex", "x", "n", "t", "4x", "3x"))
        assert not NO_TEXT.search(text)
    for words in (["units"], ["units", "--json"], ["visits", "mill"], ["visits", "mill", "--json"], ["show", "1"],
                  ["trend", "mill"], ["export", "out.jsonl"], ["export", "out", "--csv"], ["check"]):
        assert run(tmp_path, "record", *words).strip()
    for path in (tmp_path / "out.jsonl", *(tmp_path / "out").iterdir()):
        with path.open(encoding="utf-8") as stream:
            text = stream.read()
        assert not NO_TEXT.search(text), path
        assert "\\u202e" not in text


def test_a_foul_export_is_taken_as_text(tmp_path: Path) -> None:
    foul = json.dumps(FOUL.replace("\0", ""))[1:-1]  # a NUL is refused
    entry = f'{{"name": "oil-leak", "typed": "t{foul}", "value": null, "status": "cured", "note": "{foul}"}}'
    (tmp_path / "in.jsonl").write_text(
        '{"kind": "burner-advisor-record", "version": 1}\n'
        f'{{"kind": "unit", "uid": "u{foul}", "label": "Mill{foul}", "customer": "c{foul}", "address": "{foul}"}}\n'
        f'{{"kind": "visit", "uid": "v{foul}", "unit": "u{foul}", "at": "2026-01-05T10:00+00:00", "note": "n{foul}", '
        f'"before": {{"title": "t{foul}", "entries": [{entry}]}}}}\n')
    assert "added 1 unit and 1 visit" in run(tmp_path, "record", "import", "in.jsonl")
    with contextlib.closing(sqlite3.connect(tmp_path / "record.sqlite3")) as raw:
        kept = "\n".join(raw.iterdump())
    assert not NO_TEXT.search(kept)
    run(tmp_path, "record", "show", "1")


@given(st.text())
def test_plain_text_is_text_and_keeps_what_is(text: str) -> None:
    plain = plain_text(text)
    assert not NO_TEXT.search(plain)
    assert plain_text(plain) == plain
    if not NO_TEXT.search(text) and text.isprintable():
        assert plain == text


@given(st.text())
def test_json_text_says_the_same_and_is_text(text: str) -> None:
    written = json_text({"a": text})
    assert json.loads(written) == {"a": text}
    assert not NO_TEXT.search(written)


@pytest.mark.parametrize("kept", ["Größe", "Nu\u0308rnberg", "نمی\u200cخواهم", "a\tb\nc", "½ °F – “x”", "👩\u200d🔧"])
def test_letters_of_any_script_stay(kept: str) -> None:
    assert plain_text(kept) == kept
