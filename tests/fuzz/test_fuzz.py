"""A longer run, left out of the usual one (`pytest -m fuzz`): spoiled files, folders, lines and imports.

Whatever comes, a verb ends with 0, 1 or 2, in words that are text, and nothing that was there or was typed is lost.
"""

from __future__ import annotations

import io
import re
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import chdir, closing, contextmanager
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor import cli
from advisor.library.base import load
from advisor.reasoning.case import CORRECTED, Case, Entry
from advisor.reasoning.casefile import read_case
from advisor.visit.kept import Change
from advisor.visit.mend import change_unit, merge_units, void_visit
from advisor.visit.record import Unit, add_unit, open_record, save_visit, units
from advisor.visit.tables import export_csv
from advisor.visit.transfer import export_jsonl

pytestmark = pytest.mark.fuzz

NO_TEXT = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
DEMO = Path(__file__).parents[2] / "demo"
RULES = b"""- rule: shop-smoke
  when: {smoke: [heavy]}
  supports: {sooted-gas-passages: strong}
  advises: Look at the shop's own list.
  because: A rule to try it.
  source: common practice
  examples:
    - fires: {smoke: 5}
    - stays: {smoke: 0}
"""
PIECES = (
    b"\n", b"- ", b": ", b"{", b"}", b"[", b"]", b"'", b'"', b",", b"\x00", b"\xff", b"\x1b[31m",
    b"\xc2\x9b", b"&a ", b"*a", b"!!x ", b"---\n", b"|\n", b"\xe2\x80\xae", b"\xed\xa0\x80", b"\\u0000",
    b"1e999", b"-1", b"NaN", b"null", b"true", b"0001-01-01", b"9999-12-31T23:59:59-23:59", b"\t", b"\r",
    b"?", b"cured", b"how", b"at", b"value", b"smoke", b"black", b"4", b"500 F", b"=cmd", b"[" * 40,
    b"x" * 600,
)


@st.composite
def spoiled(draw: st.DrawFn, seed: bytes) -> bytes:
    """The seed with some of it cut out, doubled, or replaced by what may matter to a reader."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(seed)))
        end = min(len(seed), start + draw(st.integers(0, 12)))
        put = draw(st.sampled_from(PIECES) | st.binary(max_size=4) | st.just(seed[start:end] * 2))
        seed = seed[:start] + put + seed[end:]
    return seed


@contextmanager
def folder() -> Iterator[Path]:
    """A folder to work in, which is the home too: what is typed may save files anywhere."""
    with tempfile.TemporaryDirectory() as made, chdir(made), patch.dict(
            "os.environ", {"BURNER_ADVISOR_RECORD": str(Path(made) / "record.sqlite3"), "HOME": made}):
        yield Path(made)


def run(*words: object, typed: bytes = b"") -> tuple[int, str]:
    """Exit status, and output and errors together, of a verb run here."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    there = io.TextIOWrapper(io.BytesIO(typed), encoding="utf-8")
    with patch.object(sys, "stdin", there), patch.object(sys, "stdout", out), patch.object(sys, "stderr", out):
        status = cli.main([str(word) for word in words])
        out.flush()
    said = out.buffer.getvalue().decode() if isinstance(out.buffer, io.BytesIO) else ""
    assert status in (0, 1, 2), said
    for never in ("Traceback", "should not happen"):
        assert never not in said, said
    assert not NO_TEXT.search(said), ascii(NO_TEXT.findall(said))
    return status, said


@settings(max_examples=50, suppress_health_check=list(HealthCheck))
@given(spoiled((DEMO / "sooting-boiler.yaml").read_bytes()), st.sampled_from(
    [["diagnose"], ["diagnose", "--json"], ["report"], ["call"], ["test"]]))
def test_spoiled_case_files(text: bytes, verb: list[str]) -> None:
    with folder() as place:
        path = place / "a.yaml"
        path.write_bytes(text)
        status, said = run(*verb, path)
        assert status in (0, 1) or said.strip()
        if status == 2 or verb[0] in ("diagnose", "report"):
            assert path.read_bytes() == text
        else:
            read_case(path, load())


@settings(max_examples=20, suppress_health_check=list(HealthCheck))
@given(spoiled(b"remedies:\n- cause: sooted-gas-passages\n  chosen: 2026-01-05T10:00\n  done:\n  - {step: 1, at: "
               b"2026-01-05T10:30}\nunit: Mill Lane\nclosed: 2026-01-05T11:00\nkept: 3\n"))
def test_spoiled_work_files(text: bytes) -> None:
    with folder() as place:
        (place / "a.yaml").write_text("entries: {smoke: 4}\n")
        (place / "a.work.yaml").write_bytes(text)
        status, _ = run("call", place / "a.yaml")
        if status == 2:
            assert (place / "a.work.yaml").read_bytes() == text
        assert read_case(place / "a.yaml", load()).latest["smoke"].value == 4.0


@settings(max_examples=8, suppress_health_check=list(HealthCheck))
@given(spoiled(RULES))
def test_spoiled_rules(text: bytes) -> None:
    with folder() as place:
        (place / "own.yaml").write_bytes(text)
        status, said = run("check-rules", place)
        assert status == 0 or said.strip()
        assert (place / "own.yaml").read_bytes() == text
        run("diagnose", "-", "--rules", place, typed=b"entries: {smoke: 5}\n")


@lru_cache(maxsize=1)
def words_known() -> list[str]:
    base = load()
    answers = [answer for one in base.observations.values() for answer in one.answers]
    commands = ["why", "how", "what if", "skip", "cannot", "entries", "cured", "correct", "again", "remedy", "done",
                "done all", "retest", "compare", "close", "test", "air", "unit new", "unit", "keep", "save", "explain",
                "next", "all", "trust", "manufacturer", "instruments", "help", "yes", "no", "undo", "numbers", "causes"]
    return [*base.asked_of, *answers, *base.causes, *base.limits, *base.hazards, *commands]


lines = st.lists(st.one_of(
    st.lists(st.one_of(st.deferred(lambda: st.sampled_from(words_known())), st.sampled_from(
        ["4", "-0.02", "500 F", "12 %", "1e400", "nan", "=", ",", "all", "it", "\x1b[2J", "\u202e", "½"])),
        min_size=1, max_size=4).map(" ".join),
    st.text(max_size=30).map(lambda text: " ".join(text.split()))), max_size=12)


@settings(max_examples=26, suppress_health_check=list(HealthCheck))
@given(lines)
def test_whatever_is_typed_at_a_consultation(typed: list[str]) -> None:
    with folder() as place:
        path = place / "a.yaml"
        text = "\n".join(["o2 5.5", *typed, ""])
        status, said = run("call", path, typed=text.encode("utf-8", "surrogatepass"))
        assert status in (0, 1), said
        assert "NOT ON DISK" not in said
        base = load()
        taken_back = "taken back" in said.lower()
        if taken_back and not path.exists():  # all of it: no file is kept
            return
        kept = read_case(path, base)
        if not taken_back and not any(entry.how == CORRECTED for entry in kept.entries):
            assert ("o2", 5.5) in [(entry.name, entry.value) for entry in kept.entries]
        run("call", path)  # goes on with it, and changes nothing
        assert read_case(path, base) == kept


@lru_cache(maxsize=1)
def exported() -> tuple[bytes, dict[str, bytes]]:
    """A record as JSON Lines, and as the files of CSV."""
    with tempfile.TemporaryDirectory() as made, open_record(Path(made) / "r.sqlite3") as record:
        unit = add_unit(record, Unit("Mill Lane", "A, \"b\"", "1 Mill Lane", (Entry("nozzle_age", "2", 2.0),)))
        case = Case((Entry("smoke", "4", 4.0), Entry("spot_look", "oily", "oily-yellow")), {"co2-high": 12.5},
                    ("draft-gauge",), "a case")
        save_visit(record, unit, case, case, confirmed=["sooted-gas-passages"],
                   remedies=["clean-gas-passages"], note="n", technician="T. Hand", kind="callback",
                   parts={"nozzle": 1.0}, minutes={"measure-smoke": 6.5})
        change_unit(record, unit, Change(date(2020, 1, 1), "burner", "old"), replace(unit, installed=1990))
        void_visit(record, save_visit(record, unit, case, outcome="not-found"), "twice")
        merge_units(record, add_unit(record, Unit("Gone")), unit, "one")
        export_jsonl(record, Path(made) / "all.jsonl")
        export_csv(record, Path(made) / "csv")
        return (Path(made) / "all.jsonl").read_bytes(), {
            path.name: path.read_bytes() for path in (Path(made) / "csv").iterdir()}


def dumped(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as record:
        return list(record.iterdump())


@settings(max_examples=50, suppress_health_check=list(HealthCheck))
@given(st.data(), st.booleans())
def test_spoiled_imports(data: st.DataObject, as_csv: bool) -> None:
    as_lines, tables = exported()
    with folder() as place:
        record = place / "record.sqlite3"
        with open_record(record) as kept:
            add_unit(kept, Unit("Ours", "somebody"))
        before = dumped(record)
        source = place / "import"
        if as_csv:
            source.mkdir()
            name = data.draw(st.sampled_from(sorted(tables)))
            for table, text in tables.items():
                (source / table).write_bytes(data.draw(spoiled(text)) if table == name else text)
        else:
            source.write_bytes(data.draw(spoiled(as_lines)))
        status, said = run("record", "import", source)
        if status == 2:
            assert said.strip()
            assert dumped(record) == before
        with open_record(record) as kept:
            assert "Ours" in [unit.label for unit in units(kept)]
        for words in (["units"], ["visits", "Mill"], ["show", "1"], ["trend", "Mill"], ["units", "--json"], ["learned"],
                      ["traces"], ["find", "Mill"], ["export", str(place / "again.jsonl")], ["check"],
                      ["export", "--wide", str(place / "wide.csv")]):
            run("record", *words)
        run("tomorrow", place)


OWN = (b"Date,Unit,Stack Temp (F),co2 (%),Smoke,Fault,Parts,Dog\n11/05/2025,A,510,11.5,1,,nozzle,Rex\n"
       b"1/20/26,A,560,11,3,soot in the flue passages,,\n")


@settings(max_examples=50, suppress_health_check=list(HealthCheck))
@given(spoiled(OWN))
def test_spoiled_tables_of_ones_own(text: bytes) -> None:
    with folder() as place:
        source = place / "own.csv"
        source.write_bytes(text)
        run("record", "import", source)
        assert not (place / "record.sqlite3").exists()  # shown only
        status, said = run("record", "import", "--yes", source)
        assert status == 0 or said.strip()
        assert status == 0 or not (place / "record.sqlite3").exists()
