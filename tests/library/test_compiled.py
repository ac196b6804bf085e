"""What was read once is kept compiled, for the user alone, and remade wherever it does not fit."""

from __future__ import annotations

import os
import pickle
import stat
from hashlib import blake2b
from pathlib import Path

import pytest

from advisor.library import base as library
from advisor.library import compiled

POSIX = pytest.mark.skipif(os.name != "posix", reason="owners and modes as POSIX has them")
RULE = """\
- rule: our-own-look
  when: {head_look: [carboned]}
  supports: {dirty-retention-head: slight}
  because: Lint on the head swirls the air wrong.
  source: common practice
  examples: [{fires: {head_look: carboned}}, {stays: {head_look: clean}}]
"""


class _Evil:
    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.system, ("true",)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty cache folder."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache"


def folders() -> list[Path]:
    return [library.home("knowledge"), library.home("rules")]


def kept(cache: Path) -> list[Path]:
    return sorted(cache.glob("*/*.compiled"))


def test_what_is_kept_is_what_was_read(cache: Path) -> None:
    mark = compiled.stamp(folders())
    assert mark
    assert compiled.read(folders(), mark) is None
    read = library.load()
    compiled.write(folders(), mark, read)
    again = compiled.read(folders(), mark)
    assert again is not None
    shelves = ("quantities", "observations", "conditions", "limits", "causes", "signatures", "remedies", "checks",
               "instruments", "acts", "hazards", "rules", "common", "mark", "own_rules", "passed_over")
    for shelf in shelves:
        assert getattr(again, shelf) == getattr(read, shelf), shelf
    assert list(again.rules) == list(read.rules)


@POSIX
def test_it_is_private_and_replaced_in_one_step(cache: Path) -> None:
    mark = compiled.stamp(folders())
    for _ in range(2):
        compiled.write(folders(), mark, library.load())
    (place,) = kept(cache)
    assert stat.S_IMODE(place.stat().st_mode) == 0o600
    assert stat.S_IMODE(place.parent.stat().st_mode) == 0o700
    assert list(place.parent.iterdir()) == [place]


def test_another_content_of_any_file_is_another_stamp(tmp_path: Path) -> None:
    rules = tmp_path / "ours.yaml"
    rules.write_text(RULE, encoding="utf-8")
    mark = compiled.stamp([*folders(), tmp_path])
    assert mark == compiled.stamp([*folders(), tmp_path])
    rules.write_text(RULE.replace("slight", "strong"), encoding="utf-8")
    assert mark != compiled.stamp([*folders(), tmp_path])
    assert mark != compiled.stamp(folders())


def test_a_rule_that_was_changed_is_read_anew(cache: Path, tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    for weight, decibans in (("slight", 2.0), ("strong", 10.0)):
        (own / "ours.yaml").write_text(RULE.replace("slight", weight), encoding="utf-8")
        for _ in range(2):  # read, and then from what is kept
            library._load.cache_clear()
            assert library.load(own).rules["our-own-look"].weighs == {"dirty-retention-head": decibans}
    library._load.cache_clear()


@POSIX
def test_nothing_is_trusted_that_others_may_write_or_that_somebody_else_made(cache: Path) -> None:
    mark = compiled.stamp(folders())
    compiled.write(folders(), mark, library.load())
    (place,) = kept(cache)
    assert compiled.read(folders(), mark) is not None
    for path, mode, usual in ((place, 0o622, 0o600), (place.parent, 0o777, 0o700)):
        path.chmod(mode)
        assert compiled.read(folders(), mark) is None
        path.chmod(usual)
    elsewhere = cache / "elsewhere"
    place.rename(elsewhere)
    place.symlink_to(elsewhere)
    assert compiled.read(folders(), mark) is None
    place.unlink()
    elsewhere.rename(place)
    if os.geteuid() == 0:
        os.chown(place, 65534, 65534)
        assert compiled.read(folders(), mark) is None


def test_what_is_spoiled_or_names_anything_else_is_passed_over(cache: Path) -> None:
    mark = compiled.stamp(folders())
    compiled.write(folders(), mark, library.load())
    (place,) = kept(cache)
    whole = place.read_bytes()
    rest = mark + pickle.dumps(_Evil())
    for spoiled in (b"", whole[:1000], whole[:-1] + b"x", blake2b(rest, digest_size=32).digest() + rest):
        place.write_bytes(spoiled)
        assert compiled.read(folders(), mark) is None
    place.write_bytes(whole)
    assert compiled.read(folders(), mark) is not None
    assert compiled.read(folders(), bytes(32)) is None  # made of other contents


def test_where_it_cannot_be_written_nothing_is_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a-file").write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "a-file"))
    library._load.cache_clear()
    assert library.load().rules
    library._load.cache_clear()
