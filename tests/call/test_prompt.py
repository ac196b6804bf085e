"""The consultation as a process: lines from standard input, a real terminal, a kill in the middle, the demo."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

from advisor.library.base import load
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import read_case

ROOT = Path(__file__).parents[2]
COMMAND = ["-m", "advisor.cli"]
SURROUNDINGS = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", "TERM": "xterm", "NO_COLOR": "1"}

_WHERE = "\x1b[5;1R"
"""What a terminal answers when it is asked where its cursor is; without it no toolbar is drawn."""


def talk(typed: str | bytes, *words: str, folder: Path) -> tuple[int, str]:
    """Exit status and output of a consultation without a terminal."""
    raw = typed if isinstance(typed, bytes) else typed.encode()
    done = subprocess.run([sys.executable, *COMMAND, *words], input=raw, capture_output=True, env=SURROUNDINGS,
                          cwd=folder, timeout=300, check=False)
    out = done.stdout.decode() + done.stderr.decode()
    assert "Traceback" not in out
    return done.returncode, out


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[pexpect.spawn]:
    child = pexpect.spawn(sys.executable, [*COMMAND, "call", "case.yaml"], env=SURROUNDINGS, cwd=str(tmp_path),
                          dimensions=(24, 80), encoding="utf-8", timeout=60)
    child.expect("the complaint>")
    yield child
    child.close(force=True)


def ended(child: pexpect.spawn) -> int | None:
    child.expect(pexpect.EOF)
    child.close()
    assert "Traceback" not in (child.before or "")
    return child.exitstatus  # type: ignore[no-any-return]


def kept(folder: Path) -> dict[str, float | str | None]:
    return {name: entry.value for name, entry in read_case(folder / "case.yaml", load()).latest.items()}


def test_without_an_argument_a_new_case_file_is_made_and_told(tmp_path: Path) -> None:
    status, out = talk("boiler\n", folder=tmp_path)
    assert status == 0
    (made,) = tmp_path.iterdir()
    assert made.name.startswith("burner-case-")
    assert made.name in out.replace("\n  ", "")
    assert "> boiler" in out
    assert read_case(made, load()).latest["appliance"].value == "boiler"


def test_where_nothing_is_entered_no_file_is_left(tmp_path: Path) -> None:
    status, out = talk("help\nquit\n", folder=tmp_path)
    assert (status, list(tmp_path.iterdir())) == (0, [])
    assert "Nothing was entered" in out


def test_lines_from_standard_input_never_wait_for_prompt_toolkit(tmp_path: Path) -> None:
    code = ("import sys; from advisor.cli import main; status = main(['call', 'case.yaml']); "
            "assert 'prompt_toolkit' not in sys.modules; sys.exit(status)")
    done = subprocess.run([sys.executable, "-c", code], input=b"stack 520\n", capture_output=True, env=SURROUNDINGS,
                          cwd=tmp_path, timeout=120, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert kept(tmp_path) == {"stack_temperature": 520.0}


def test_the_exit_status_tells_hazards_and_bad_files(tmp_path: Path) -> None:
    assert talk("room co 250\n", "call", "case.yaml", folder=tmp_path)[0] == 1
    (tmp_path / "bad.yaml").write_text("entries: {smoke: black}")
    status, out = talk("", "call", "bad.yaml", folder=tmp_path)
    assert (status, "bad.yaml:1" in out) == (2, True)
    assert (tmp_path / "bad.yaml").read_text() == "entries: {smoke: black}"


def test_an_empty_file_is_a_new_case_and_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    (tmp_path / "case.yaml").write_text("")
    assert talk("smoke 3\n", "call", "case.yaml", folder=tmp_path)[0] == 0
    assert kept(tmp_path) == {"smoke": 3.0}
    status, out = talk("smoke 3\n", "call", "no/such/case.yaml", folder=tmp_path)
    assert status == 0
    assert "NOT ON DISK: no such file or directory" in out


def test_junk_on_standard_input_is_refused_line_by_line(tmp_path: Path) -> None:
    junk = b"\xff\xfe\x00\n" + b"x" * 100_000 + b"\n\x1b[2J\n= = ;;; ,,,\n" + b"stack 520\n" + b"y" * 3_000_000
    status, out = talk(junk, "call", "case.yaml", folder=tmp_path)
    assert status == 0
    assert kept(tmp_path) == {"stack_temperature": 520.0}
    assert "\x1b" not in out
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize("script", sorted((ROOT / "demo" / "calls").glob("*.txt")), ids=lambda path: path.stem)
def test_every_call_of_the_demo_runs_and_fits_its_screen(tmp_path: Path, script: Path) -> None:
    status, out = talk(script.read_text(), "call", "case.yaml", folder=tmp_path)
    assert status == (1 if "HAZARD still standing" in out else 0)
    assert "Not understood" not in out
    assert max(map(len, out.splitlines())) <= 80


def test_the_demo_goes_from_the_first_word_to_the_closed_call(tmp_path: Path) -> None:
    status, out = talk((ROOT / "demo" / "calls" / "soot.txt").read_text(), "call", "case.yaml", folder=tmp_path)
    assert status == 0
    assert "confirmed soot in the flue passages" in out
    assert "psi is a pressure unit" in out
    assert out.index("NOT CLOSED") < out.index("PROVEN: soot") < out.index("Oil saved") < out.index("CLOSED: soot")
    assert (tmp_path / "case.report.html").exists()


def test_a_terminal_completes_shows_problems_and_ends_with_ctrl_d(terminal: pexpect.spawn, tmp_path: Path) -> None:
    terminal.send("soot\r")
    terminal.expect("appliance>")
    terminal.send(_WHERE + "boi")
    terminal.expect("heats water or makes steam")  # the meaning stands beside the answer
    terminal.send("\t\r")
    terminal.expect("hot water or steam>")
    terminal.send(_WHERE + "stack 500 psi")
    terminal.expect("psi is a pressure unit")  # while it is being typed
    terminal.send("\x03")
    terminal.expect("line cleared")
    terminal.expect("hot water or steam>")
    terminal.send("stack 520\r")
    terminal.expect("stack temperature 520 degF")
    terminal.expect("hot water or steam>")
    terminal.sendeof()
    assert ended(terminal) == 0
    assert kept(tmp_path) == {"complaint": "soot", "appliance": "boiler", "stack_temperature": 520.0}


def test_ctrl_c_twice_stops_with_everything_saved(terminal: pexpect.spawn, tmp_path: Path) -> None:
    terminal.send("smoke 3\r")
    terminal.expect("smoke spot number 3")
    terminal.expect("the complaint>")
    terminal.send("half a li")
    terminal.send("\x03")
    terminal.expect("line cleared")
    terminal.expect("the complaint>")
    terminal.send("\x03")
    terminal.expect("Everything is in case.yaml")
    assert ended(terminal) == 0
    assert kept(tmp_path) == {"smoke": 3.0}


def test_100_kilobytes_pasted_into_a_terminal_are_one_clear_line(terminal: pexpect.spawn, tmp_path: Path) -> None:
    terminal.send("\x1b[200~" + "x" * 100_000 + "\x1b[201~")
    terminal.expect("100,000 characters is more than a line holds")
    terminal.expect("the complaint>")
    terminal.send("\x1b[200~stack 520\nsmoke 3\n\x1b[201~")
    terminal.expect("smoke spot number 3")
    terminal.expect("the complaint>")
    terminal.sendeof()
    assert ended(terminal) == 0
    assert kept(tmp_path) == {"stack_temperature": 520.0, "smoke": 3.0}


def test_after_a_kill_every_accepted_entry_is_there(tmp_path: Path) -> None:
    child = subprocess.Popen([sys.executable, *COMMAND, "call", "case.yaml"], stdin=subprocess.PIPE,
                             stdout=subprocess.PIPE, env=SURROUNDINGS, cwd=tmp_path)
    assert child.stdin is not None
    assert child.stdout is not None
    lines = ((b"boiler\n", b"appliance: boiler"), (b"smoke 3, stack 520\n", b"stack temperature 520"))
    for line, shown in lines:
        child.stdin.write(line)
        child.stdin.flush()
        for out in child.stdout:
            if shown in out:
                break
    child.stdin.write(b"o2 5.5\no2 6.")
    child.stdin.flush()
    deadline = time.monotonic() + 60
    while read_case(tmp_path / "case.yaml", load()) == Case() or "o2" not in kept(tmp_path):
        assert time.monotonic() < deadline
        time.sleep(0.02)
    child.send_signal(signal.SIGKILL)
    child.wait()
    child.stdin.close()
    child.stdout.close()
    expected = {"appliance": "boiler", "smoke": 3.0, "stack_temperature": 520.0, "o2": 5.5}
    assert kept(tmp_path) == expected
    status, again = talk("entries\n", "call", "case.yaml", folder=tmp_path)
    assert status == 0
    assert "4 entries" in again
    assert [one.name for one in tmp_path.iterdir()] == ["case.yaml"]
