"""A line from a terminal: completion with meanings, the problem of the line as it is typed, the state of the case.

The only module that imports prompt_toolkit, so that nothing else waits for it.
"""

from __future__ import annotations

import contextlib
import os
import textwrap
from collections.abc import Callable, Iterable, Iterator

import platformdirs
from prompt_toolkit import PromptSession
from prompt_toolkit.application import get_app
from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document
from prompt_toolkit.filters import Condition
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.history import DummyHistory, FileHistory, History
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.keys import Keys

from advisor.call.completion import candidates, problem, state
from advisor.call.phrases import LONGEST
from advisor.call.turn import Turn
from advisor.library.plaintext import plain_text
from advisor.pages.wording import columns


class Words(Completer):
    """Names, answers and commands with their meanings."""

    def __init__(self, turn: Callable[[], Turn | None]) -> None:
        self.turn = turn

    def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterator[Completion]:
        turn = self.turn()
        for one in candidates(turn, document.text_before_cursor) if turn is not None else ():
            yield Completion(one.text, -one.back, display_meta=one.meaning)


class Terminal:
    """Reads lines for the turn that it was last asked about."""

    def __init__(self) -> None:
        self.turn: Turn | None = None
        self.session: PromptSession[str] = PromptSession(
            history=_history(), completer=Words(lambda: self.turn), complete_while_typing=True, key_bindings=_keys(),
            bottom_toolbar=self._toolbar, reserve_space_for_menu=3, enable_open_in_editor=False, enable_suspend=True,
        )

    def read(self, turn: Turn | None, before: str = "") -> str:
        """One line; errors: `EOFError` for Ctrl-D, `KeyboardInterrupt` for Ctrl-C."""
        self.turn = turn
        return self.session.prompt(before or (label(turn) if turn is not None else "> "))

    def _toolbar(self) -> StyleAndTextTuples:
        width = self.session.app.output.get_size().columns - 1
        if self.turn is None:
            return []
        wrong = problem(self.turn, self.session.default_buffer.text)
        shown = [state(self.turn)]
        if wrong:
            shown = textwrap.wrap(wrong, width, initial_indent="? ", subsequent_indent="  ", max_lines=2)
        return [("", "\n".join(plain_text(line)[:width].ljust(width) for line in shown))]


class _Lines(FileHistory):
    """Lines typed, across calls; where the disk refuses, this call goes on without."""

    def store_string(self, string: str) -> None:
        with contextlib.suppress(OSError):
            super().store_string(string)

    def load_history_strings(self) -> Iterable[str]:
        try:
            return list(super().load_history_strings())
        except (OSError, UnicodeDecodeError):
            return []


def _history() -> History:
    """What this user typed before, in a file that nobody else reads."""
    try:
        path = platformdirs.user_state_path("burner-advisor") / "lines"
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
        path.chmod(0o600)
    except (OSError, RuntimeError):  # or a user without a home
        return DummyHistory()
    return _Lines(path)


def label(turn: Turn) -> str:
    """What stands before the line: the name that is asked for."""
    if turn.choosing:
        return "which? "
    name = turn.question.name
    title = turn.base.title(name) if name in turn.base.named else name
    return f"{title[:min(40, columns() // 2)]}> "


def _keys() -> KeyBindings:
    keys = KeyBindings()

    @keys.add(Keys.BracketedPaste)
    def _(event: KeyPressEvent) -> None:
        pasted = event.data.replace("\r\n", "\n").replace("\r", "\n")
        buffer = event.current_buffer
        if "\n" in pasted.strip("\n") or len(pasted) > LONGEST:  # lines, or far too much: hand over as it is
            text = buffer.text[: buffer.cursor_position] + pasted + buffer.text[buffer.cursor_position:]
            buffer.reset()
            event.app.exit(result=text)
        else:
            buffer.insert_text(pasted.strip("\n"))

    @keys.add(Keys.Any, filter=Condition(lambda: len(get_app().current_buffer.text) > LONGEST))
    def _(event: KeyPressEvent) -> None:
        """A terminal that does not mark a paste types it key by key; the line is refused as it is: drop the rest."""

    return keys
