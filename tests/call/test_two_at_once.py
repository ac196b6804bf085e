"""Two people on one case file: nothing that either typed is lost, and nothing of the other's is written over."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.call.autosave import CaseFile
from advisor.library.base import load
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.casefile import BusyError, alone_on, read_case, save_case
from tests.call.playing import play
from tests.test_cli import run

SMOKE, STACK = (Entry("smoke", "3", 3.0),), (Entry("stack_temperature", "520", 520.0),)


def test_a_second_opening_is_refused_in_words(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    save_case(Case(SMOKE), path, load())
    with alone_on(path):
        status, _, errors = run("call", str(path), typed="stack 520\n")
        assert status == 2
        assert "is open at another prompt; close it there first" in errors
        assert run("diagnose", str(path))[0] == 0  # reading goes on
        with pytest.raises(BusyError), alone_on(path):
            pass
    assert read_case(path, load()) == Case(SMOKE)
    assert run("call", str(path), typed="stack 520\n")[0] == 0
    assert sorted(one.name for one in tmp_path.iterdir()) == ["case.yaml"]  # no lock is left behind


def test_what_somebody_else_wrote_is_not_written_over(tmp_path: Path) -> None:
    base, path = load(), tmp_path / "case.yaml"
    file = CaseFile(path, base)
    turn, _ = play(file, "skip all", "smoke 3")
    save_case(Case(STACK), path, base)  # by an editor, or on a drive that knows no locks
    turn, shown = play(file, "co2 11", turn=turn)
    assert "changed by somebody else" in shown
    assert read_case(path, base) == Case(STACK)
    assert {"smoke", "co2"} <= set(read_case(tmp_path / "case-2.yaml", base).latest)
    _, shown = play(file, "co 20", turn=turn)
    assert "somebody else" not in shown
    assert "co" in read_case(tmp_path / "case-2.yaml", base).latest


def test_leftovers_of_a_kill_are_swept_and_others_stay(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    save_case(Case(SMOKE), path, load())
    for name in (".case.yaml.abc.new", ".case.yaml.lock", ".other.yaml.abc.new"):
        (tmp_path / name).write_text("half")
    with alone_on(path):
        pass
    assert sorted(one.name for one in tmp_path.iterdir()) == [".other.yaml.abc.new", "case.yaml"]


def test_a_case_file_is_for_its_owner_alone(tmp_path: Path) -> None:
    run("call", typed="boiler\n", folder=tmp_path)
    made = list(tmp_path.iterdir())
    assert [one.stat().st_mode & 0o777 for one in made] == [0o600]
