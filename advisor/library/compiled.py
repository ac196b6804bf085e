"""What was read once, kept in compiled form: most of the time of a start goes into reading rules from YAML.

A compiled base lies in the user's cache folder, stamped with the contents of every file that it was read from and of
the modules that read them. Where the stamp does not fit, or the file is not the user's own, or anything is wrong with
it, it is passed over and made anew; where it cannot be written, nothing is said and nothing is lost.
"""

from __future__ import annotations

import gc
import os
import pickle
import stat
import sys
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import fields, is_dataclass
from hashlib import blake2b
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from advisor.library.yamlfiles import MOST_BYTES, LibraryError, yaml_files

if TYPE_CHECKING:
    from advisor.library.base import Base

_DIGEST: Final = 32
_MOST: Final = 100_000_000
"""Bytes of a compiled base at most: ours has a few million."""
_ROOMS: Final = ("advisor.library.", "advisor.physics.")
"""The modules whose classes a compiled base may name."""
_PLAIN: Final = frozenset({("builtins", "frozenset"), ("builtins", "set"), ("builtins", "getattr"),
                           ("pathlib", "Path"), ("pathlib", "PosixPath"), ("pathlib", "WindowsPath")})


def stamp(folders: Iterable[Path]) -> bytes:
    """A mark of the contents of all YAML files in these folders, and of what reads them; empty where one cannot be
    read, so that reading them says what is wrong.
    """
    found = blake2b(f"{sys.version}\0".encode(), digest_size=_DIGEST)
    here = Path(__file__).parent
    try:
        for module in sorted((*here.glob("*.py"), *(here.parent / "physics").glob("*.py"))):
            found.update(module.read_bytes())
        for folder in folders:
            found.update(f"\0{folder}\0{folder.is_symlink()}\0".encode("utf-8", "surrogateescape"))
            links: list[Path] = []
            for path in yaml_files(folder, links) if folder.is_dir() else ():
                with path.open("rb") as stream:
                    text = stream.read(MOST_BYTES + 1)
                found.update(f"\0{path}\0{len(text)}\0".encode("utf-8", "surrogateescape"))
                found.update(text)
            found.update("\0".join(map(str, links)).encode("utf-8", "surrogateescape"))
    except (OSError, LibraryError):
        return b""
    return found.digest()


def read(folders: Iterable[Path], mark: bytes) -> Base | None:
    """The base that was compiled of these folders as they are now; None where there is none that can be trusted."""
    try:
        with open(_place(folders), "rb", opener=_opened) as stream:
            if not _own(os.fstat(stream.fileno()), stat.S_ISREG):
                return None
            raw = stream.read(_MOST)
        whole, there, compiled = raw[:_DIGEST], raw[_DIGEST:2 * _DIGEST], raw[2 * _DIGEST:]
        if there != mark or whole != blake2b(raw[_DIGEST:], digest_size=_DIGEST).digest():
            return None
        collecting = gc.isenabled()
        gc.disable()  # all of it stays: the collector would walk through it again and again while it is made
        try:
            return _Reader(BytesIO(compiled)).load()  # type: ignore[no-any-return]
        finally:
            if collecting:
                gc.enable()
    except Exception:
        return None


def write(folders: Iterable[Path], mark: bytes, base: Base) -> None:
    """Keep a base that was just read; what cannot be written is left."""
    with suppress(OSError, pickle.PicklingError, RecursionError):
        place = _place(folders)
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _own(place.parent.lstat(), stat.S_ISDIR):
            return
        whole = BytesIO()
        _Writer(whole, protocol=5).dump(base)
        rest = mark + whole.getvalue()
        handle, name = tempfile.mkstemp(prefix=f".{place.name}-", dir=place.parent)  # nobody else may read or write it
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(blake2b(rest, digest_size=_DIGEST).digest() + rest)
            os.replace(name, place)
        except BaseException:
            with suppress(OSError):
                os.unlink(name)
            raise


def _place(folders: Iterable[Path]) -> Path:
    """Where the base of these folders is kept. Errors: `OSError` where that folder is not the user's own."""
    from platformdirs import user_cache_path

    try:
        home = user_cache_path("burner-advisor", appauthor=False)
    except RuntimeError as error:  # this user has no home
        raise FileNotFoundError(str(error)) from None
    if home.exists() and not _own(home.lstat(), stat.S_ISDIR):
        raise PermissionError("the cache folder belongs to somebody else, or others may write in it")
    named = "\0".join(str(folder.absolute()) for folder in folders).encode("utf-8", "surrogateescape")
    return home / f"knowledge-{blake2b(named, digest_size=8).hexdigest()}.compiled"


def _own(found: os.stat_result, kind: Any) -> bool:
    """Whether something is of this kind, the user's own, and nobody else may write to it."""
    if not kind(found.st_mode):
        return False
    if os.name != "posix":  # pragma: no cover - elsewhere the folder stands in the user's profile
        return True
    return found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _opened(path: str, flags: int) -> int:
    """Open a file, but no link that somebody may have put there."""
    return os.open(path, flags | getattr(os, "O_NOFOLLOW", 0))


class _Writer(pickle.Pickler):
    """Writes each item as its class and its fields: to make it is then one call, a third of the time."""

    def reducer_override(self, item: Any) -> Any:
        if is_dataclass(item) and not isinstance(item, type):
            return type(item), tuple([getattr(item, field.name) for field in fields(item)])
        return NotImplemented


class _Reader(pickle.Unpickler):
    """Makes nothing but what a base is made of."""

    def find_class(self, module: str, name: str) -> Any:
        if not module.startswith(_ROOMS) and (module, name) not in _PLAIN:
            raise pickle.UnpicklingError(f"{module}.{name} is no part of a base")
        return super().find_class(module, name)
