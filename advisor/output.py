"""The standard streams: open in any case, in any locale, and taking nothing but text."""

from __future__ import annotations

import codecs
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO, cast

from advisor.library.plaintext import plain_text


class _PlainStream:
    """A stream that lets only text through; prompt_toolkit steers the terminal by its `buffer`, past this."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        self._stream.write(plain_text(text))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def standard_streams() -> Iterator[None]:
    """Within, the three standard streams are there; what is printed is text, in the letters that the locale has.

    >>> with standard_streams():
    ...     print("bell\\x07book")
    bell book
    """
    before = sys.stdin, sys.stdout, sys.stderr
    _fill_places()
    try:
        if sys.stdin is None:
            sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115  (a standard stream stays open)
        if isinstance(sys.stdin, io.TextIOWrapper):  # UTF-8 holds ASCII, and keeps what else was typed
            ascii_only = codecs.lookup(sys.stdin.encoding).name == "ascii"
            sys.stdin.reconfigure(encoding="utf-8" if ascii_only else None, errors="replace")
        sys.stdout, sys.stderr = (_guarded(stream, number) for number, stream in ((1, before[1]), (2, before[2])))
        yield
    finally:
        sys.stdin, sys.stdout, sys.stderr = before


def _fill_places() -> None:
    """Open the null device where a standard stream was closed, so that no file of ours comes to stand in its place."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free: this one


def _guarded(stream: TextIO | None, number: int) -> TextIO:
    stream = stream or open(number, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
    if isinstance(stream, io.TextIOWrapper):  # a locale that lacks a letter shows its code in its place
        stream.reconfigure(errors="backslashreplace")
    return cast(TextIO, _PlainStream(stream))
