"""Killed at any statement, the record loses nothing that was committed, and opens.

Run as a program, this file is what is killed: it forks a writer for every kill, so that a round takes milliseconds.
SIGKILL takes the process away, not the power; what was synced to the disk is the operating system's to keep.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

ROOT: Final = Path(__file__).parents[2]
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))

from advisor.reasoning.case import Case, Entry  # noqa: E402  (run as a program, it must find the package first)
from advisor.visit import record as records  # noqa: E402

ROUNDS: Final = 360
A_FILE: Final = 6
"""Rounds in which one file is used before the next begins, so that making a file is killed as well."""

BEFORE: Final = Case((Entry("smoke", "4", 4.0), Entry("flame_look", "?", None, "could not check"),
                      Entry("stack_temperature", "610 F", 610.0)), {"co2-high": 12.5}, ("smoke-pump",))
AFTER: Final = Case((Entry("smoke", "0", 0.0),))
CAUSES: Final = ("sooted-gas-passages", "dirty-fan-wheel")


def write_for_ever(path: Path, done: int) -> None:
    """Keep visits and tell each uid after it was kept, until killed."""
    with records.open_record(path) as record:
        known = records.units(record)
        unit = known[0] if known else records.add_unit(record, records.Unit("Mill Lane boiler"))
        while True:
            visit = records.save_visit(record, unit, BEFORE, AFTER, confirmed=CAUSES, note="kept")
            os.write(done, visit.uid.encode() + b"\n")


def kill_myself() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def kill_at(statement: int, step: int) -> None:
    """Have this process killed before a statement of SQL, or within one, counted over all its connections."""
    connect: Callable[..., sqlite3.Connection] = sqlite3.connect
    left = Counter(statement=statement, step=step)

    def count(what: str) -> None:
        left[what] -= 1
        if left[what] == 0:
            kill_myself()

    def counted(*words: Any, **more: Any) -> sqlite3.Connection:
        connection = connect(*words, **more)
        if statement:
            connection.set_trace_callback(lambda _: count("statement"))
        else:
            connection.set_progress_handler(lambda: count("step"), 3)
        return connection

    sqlite3.connect = counted  # type: ignore[assignment]


def one_kill(path: Path, turn: int, chance: random.Random) -> tuple[str, list[str]]:
    """Fork a writer, kill it, and return how it was killed and the uids that it had told."""
    way = ("statement", "step", "moment")[turn % 3]
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reading)
            if way != "moment":
                # every statement of making a file, of opening one and of keeping a visit has its turn
                kill_at(1 + turn // A_FILE if way == "statement" else 0,
                        chance.randrange(1, 1500) if way == "step" else 0)
            write_for_ever(path, writing)
        finally:
            os._exit(7)
    os.close(writing)
    if way == "moment":
        time.sleep(chance.random() * 0.03)
        os.kill(child, signal.SIGKILL)
    with os.fdopen(reading) as told:
        uids = told.read().split()
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status) or os.WTERMSIG(status) != signal.SIGKILL:
        raise SystemExit(f"turn {turn}: the writer ended by itself (status {status})")
    return way, uids


def loop(folder: Path) -> dict[str, int]:
    """Kill a writer again and again; after every kill the record opens, is sound, and holds all that was told."""
    seen: Counter[str] = Counter()
    chance, told, path = random.Random(5), set[str](), folder
    for turn in range(ROUNDS):
        if turn % A_FILE == 0:
            told, path = set(), folder / f"{turn}.sqlite3"
        way, uids = one_kill(path, turn, chance)
        told |= set(uids)
        seen[way] += 1
        seen["before any visit"] += not uids
        with records.open_record(path) as record:
            kept = records.visits(record)
            problems = records.verify(record)
        missing = told - {visit.uid for visit in kept}
        parts = [visit for visit in kept if (visit.before, visit.after, visit.confirmed) != (BEFORE, AFTER, CAUSES)]
        # at most one visit a kill was kept without there being time to tell of it
        if missing or parts or problems or len(kept) - len(told) > turn % A_FILE + 1:
            raise SystemExit(f"turn {turn}: missing {missing}, in parts {parts}, {problems}, kept {len(kept)}")
        seen[f"kept before a kill at a {way}"] += len(uids)
    return dict(seen)


def write_some(path: Path, label: str, count: int) -> None:
    with records.open_record(path) as record:
        unit = records.add_unit(record, records.Unit(label))
        for _ in range(count):
            records.save_visit(record, unit, BEFORE, AFTER)


def race(folder: Path, files: int = 40, writers: int = 4) -> None:
    """Have writers make the same file at the same moment, again and again."""
    for turn in range(files):
        path, children = folder / f"{turn}.sqlite3", []
        waiting, starting = os.pipe()
        for writer in range(writers):
            child = os.fork()
            if child == 0:
                status = 1
                try:
                    os.close(starting)
                    os.read(waiting, 1)  # returns when the other end is closed
                    write_some(path, str(writer), 1)
                    status = 0
                except records.RecordError as error:
                    print(error, file=sys.stderr, flush=True)
                finally:
                    os._exit(status)
            children.append(child)
        os.close(waiting)
        os.close(starting)
        for child in children:
            if os.waitpid(child, 0)[1]:
                raise SystemExit(f"file {turn}: a writer failed")
        with records.open_record(path) as record:
            if len(records.visits(record)) != writers or records.verify(record):
                raise SystemExit(f"file {turn}: {len(records.visits(record))} visits")


def run(*words: str) -> subprocess.Popen[str]:
    return subprocess.Popen([sys.executable, __file__, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            text=True)


def test_nothing_is_lost_by_two_hundred_kills(tmp_path: Path) -> None:
    process = run("loop", str(tmp_path))
    out, errors = process.communicate(timeout=240)
    assert process.returncode == 0, errors
    seen = json.loads(out)
    assert seen["statement"] + seen["step"] + seen["moment"] >= 200
    assert min(seen["statement"], seen["step"], seen["moment"]) >= 60
    assert seen["before any visit"] >= 20  # kills while the file was made or opened, and
    assert seen["kept before a kill at a statement"] >= 20  # kills with visits at stake: it was no empty exercise
    assert seen["kept before a kill at a step"] >= 100


def test_processes_at_once_are_safe_from_the_making_of_the_file_on(tmp_path: Path) -> None:
    path, count = tmp_path / "record.sqlite3", 20
    writers = [run("some", str(path), label, str(count)) for label in ("one", "two", "three")]
    looked = 0
    while any(writer.poll() is None for writer in writers):
        if path.exists():
            with records.open_record(path, make=False) as record:
                assert all(visit.before == BEFORE and visit.after == AFTER for visit in records.visits(record))
                looked += 1
        time.sleep(0.01)
    for writer in writers:
        _, errors = writer.communicate()
        assert writer.returncode == 0, errors
    with records.open_record(path) as record:
        kept = {unit.label: len(records.visits(record, unit)) for unit in records.units(record)}
        assert kept == {"one": count, "two": count, "three": count}
        assert records.verify(record) == ()
    assert looked


def test_a_file_made_by_several_processes_at_once_is_whole(tmp_path: Path) -> None:
    process = run("race", str(tmp_path))
    _, errors = process.communicate(timeout=240)
    assert process.returncode == 0, errors


if __name__ == "__main__":
    if sys.argv[1] == "loop":
        print(json.dumps(loop(Path(sys.argv[2]))))
    elif sys.argv[1] == "race":
        race(Path(sys.argv[2]))
    else:
        write_some(Path(sys.argv[2]), sys.argv[3], int(sys.argv[4]))
