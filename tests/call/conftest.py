"""What every test of the consultation starts from: a record of its own, and a case file that is not there yet."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.call.autosave import CaseFile
from advisor.library.base import load


@pytest.fixture(autouse=True)
def record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BURNER_ADVISOR_RECORD", str(tmp_path / "record.sqlite3"))
    return tmp_path / "record.sqlite3"


@pytest.fixture
def file(tmp_path: Path) -> CaseFile:
    return CaseFile(tmp_path / "case.yaml", load())
