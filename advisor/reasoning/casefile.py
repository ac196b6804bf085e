"""Case files: our own YAML, read strictly, written so that a kill at any moment loses nothing that was there."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from functools import partial
from glob import escape
from itertools import count
from pathlib import Path
from typing import Final

import yaml

from advisor.library.base import Base
from advisor.library.yamlfiles import Fields, LibraryError, Node, Problem, parse_yaml, read_text, shorten
from advisor.physics import units
from advisor.reasoning.case import CORRECTED, CURED, RECHECKED, REMARK, Case, Entry, read_time, remark
from advisor.reasoning.entries import EntryError, may_be, not_a_name, read_entry

STALE: Final = 3600.0
"""Seconds after which what was begun beside a file that anybody may write is no longer being written."""

OLDER_KEY: Final = "maker"
"""What `manufacturer:` was called in case files and exports that somebody may have kept."""


def read_case(path: Path, base: Base) -> Case:
    """The case in a file; errors: `LibraryError` with every problem of the file, one line each."""
    return parse_case(read_text(path, str(path)), str(path), base)


def parse_case(text: str, file: str, base: Base) -> Case:
    """The case in a text.

    Parameters
    ----------
    text : str
        YAML with `equipment:` and `entries:` (name: value with unit), and optional `title:`, `manufacturer:` (the
        manufacturer's own figures, limit: value) and `instruments:` (those at hand). `entries` may be a list of
        mappings too, which keeps earlier readings and their times. `cured: {hazard: what was done}` among them says
        that its source was put right; `how: corrected` beside a value, that the one before it was mistyped;
        `said: words`, that somebody told it so; `remark: words` keeps what is no reading.
        `earlier:` holds the entries of the unit as it was found, where this is the case as it was left; `rules:`, by
        which rules it was advised when it was written.
    file : str
        What the text is called in messages.

    Raises
    ------
    LibraryError
        With every problem of the text, one line each.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> parse_case("entries: {smoke: trace, stack: 520 F}", "a.yaml", load()).latest["stack_temperature"].value
    520.0
    >>> parse_case("entries: {smoke: black}", "a.yaml", load())
    Traceback (most recent call last):
    advisor.library.yamlfiles.LibraryError: a.yaml:1: smoke spot number: 'black': does not begin with a number; \
write one number, such as 1
    """
    root = parse_yaml(text, file)
    problems: list[Problem] = []
    if root.value == []:
        raise LibraryError([Problem(file, 1, "is empty; a case has `entries:` with one `name: value` a line")])
    fields = Fields(root, problems, "case")
    title = fields.text("title", "")
    entries = [
        *_entries(fields.take("equipment"), "equipment", base, problems),
        *_entries(fields.take("entries"), "entries", base, problems),
    ]
    earlier = tuple(_entries(fields.take("earlier"), "earlier", base, problems))
    manufacturer = {}
    for name, node in [*fields.mapping(OLDER_KEY).items(), *fields.mapping("manufacturer").items()]:
        figure = _manufacturer_figure(name, node, base, problems)
        if figure is not None:
            manufacturer[name] = figure
    instruments: tuple[str, ...] | None = None
    if isinstance(root.value, dict) and "instruments" in root.value:
        instruments = fields.texts("instruments")
        for name in instruments:
            if name not in base.instruments:
                known = ", ".join(base.instruments)
                fields.wrong(f"{name!r} is not an instrument known here; known are {known}")
    else:
        fields.take("instruments")
    rules = fields.text("rules", "")
    fields.done()
    if problems:
        raise LibraryError(problems)
    return Case(tuple(entries), manufacturer, instruments, title, earlier, rules=rules)


def manufacturer_figure(base: Base, limit: str, typed: str) -> float:
    """A manufacturer's figure for a limit, in the unit of its quantity; errors: `EntryError`.

    >>> from advisor.library.base import load
    >>> manufacturer_figure(load(), "co2-high", "12.5 %")
    12.5
    """
    if limit not in base.limits:
        raise EntryError(f"{limit!r} is not a limit; `explain` a quantity to see its limits")
    if base.limits[limit].fixed:
        raise EntryError(f"the limit {base.limits[limit].title} protects people; "
                         "no manufacturer's figure takes its place")
    try:
        return units.parse(typed, base.quantities[base.limits[limit].of].kind).value
    except units.PhysicsError as error:
        raise EntryError(f"manufacturer's {base.limits[limit].title}: {error}") from error


def _manufacturer_figure(name: str, node: Node, base: Base, problems: list[Problem]) -> float | None:
    try:
        if isinstance(node.value, str):
            return manufacturer_figure(base, name, node.value)
        raise EntryError(f"manufacturer: {name} must be one value, not {node.kind}")
    except EntryError as error:
        problems.append(Problem(node.file, node.line, str(error)))
        return None


def _entries(node: Node | None, part: str, base: Base, problems: list[Problem]) -> Iterable[Entry]:
    if node is None or node.value == "":
        return
    mappings = node.value if isinstance(node.value, list) else [node]
    for mapping in mappings:
        if not isinstance(mapping.value, dict):
            problems.append(Problem(mapping.file, mapping.line, f"{part}: must be `name: value`, not {mapping.kind}"))
            continue
        listed = isinstance(node.value, list)  # then what else is kept of it stands beside the name
        times = {word: value.value for word, value in mapping.value.items()
                 if listed and word in ("at", "how", "said") and isinstance(value.value, str)}
        for word, value in mapping.value.items():
            if word in times:
                continue
            if word == CURED:
                for cure in _cures(value, part, base, problems):
                    yield _stamped(cure, times, value, problems)
                continue
            if word == REMARK:
                if isinstance(value.value, str) and value.value.strip():
                    yield _stamped(remark(" ".join(value.value.split())), times, value, problems)
                else:
                    what = f"{part}: {REMARK} must be a text, not {value.kind}"
                    problems.append(Problem(value.file, value.line, what))
                continue
            entry = _entry(word, value, part, base, problems)
            if entry is not None:
                yield _stamped(entry, {**times, **_details(value)}, value, problems)


def _cures(node: Node, part: str, base: Base, problems: list[Problem]) -> Iterable[Entry]:
    """Hazards that were put right: `cured: {hazard: what was done}`."""
    if not isinstance(node.value, dict):
        what = f"{part}: {CURED} must be a mapping (hazard: what was done), not {node.kind}"
        problems.append(Problem(node.file, node.line, what))
        return
    for hazard, done in node.value.items():
        if hazard not in base.hazards:
            known = ", ".join(base.hazards)
            problems.append(Problem(done.file, done.line, f"{part}: {CURED}: {shorten(hazard)!r} is no hazard known "
                                                          f"here; known are {known}"))
        elif not isinstance(done.value, str) or not done.value.strip():
            problems.append(Problem(done.file, done.line, f"{part}: {CURED}: {hazard} must say in words what was done"))
        else:
            yield Entry(hazard, " ".join(done.value.split()), None, CURED)


def _details(node: Node) -> dict[str, str]:
    if not isinstance(node.value, dict):
        return {}
    return {key: inner.value for key, inner in node.value.items() if key != "value" and isinstance(inner.value, str)}


def _entry(word: str, node: Node, part: str, base: Base, problems: list[Problem]) -> Entry | None:
    typed = node
    if isinstance(node.value, dict):
        inner = Fields(node, problems, f"{part}: {word}")
        typed = inner.take("value", required=True) or Node("", node.line, node.file)
        inner.take("at")
        inner.take("how")
        inner.take("said")
        inner.done()
    name = base.words.get(word) or base.words.get(word.replace("_", " "))
    told = typed.value if isinstance(typed.value, str) else ""
    if name is None and told and (entry := as_told(base, word, told, "")):
        return entry
    if name is None:
        problems.append(Problem(node.file, node.line, not_a_name(word), partial(may_be, base, word)))
        return None
    try:
        if not isinstance(typed.value, str):
            raise EntryError(f"{word} must be one value, not {typed.kind}")
        return read_entry(base, name, typed.value)
    except EntryError as error:
        if told and (entry := as_told(base, word, told, name)):
            return entry
        problems.append(Problem(node.file, node.line, str(error)))
        return None


def as_told(base: Base, word: str, value: str, name: str) -> Entry | None:
    """The one entry that a name and its value mean in people's own words, as at the prompt; None where they do not."""
    from advisor.understanding.understand import understand  # only for words that are none of the base's own

    said = understand(base, f"{word} {value}", name)
    whole = len(said.heard) == 1 and not (said.questions or said.left or said.remarks)
    return said.entries[0] if whole and said.entries[0].name == (name or said.entries[0].name) else None


def _stamped(entry: Entry, details: dict[str, str], node: Node, problems: list[Problem]) -> Entry:
    how, at = details.get("how", ""), details.get("at", "")
    if how not in ("", RECHECKED, CORRECTED):
        what = f"{entry.name}: how: {how!r} is neither {RECHECKED!r} nor {CORRECTED!r}; drop it"
        problems.append(Problem(node.file, node.line, what))
    try:
        return replace(entry, how=how, at=read_time(at) if at else None,
                       said=" ".join(details.get("said", "").split()))
    except ValueError as error:
        problems.append(Problem(node.file, node.line, f"{entry.name}: at: {error}"))
        return entry


def written_with_others(base: Base, case: Case) -> str:
    """A line where a case was written with other rules than those of now; else empty.

    >>> from advisor.library.base import load
    >>> written_with_others(load(), Case())
    ''
    """
    if not case.rules or case.rules == base.rules_used:
        return ""
    return f"It was written with other rules ({case.rules}) and is read with {base.rules_used}."


def write_case(case: Case, base: Base) -> str:
    """The text of a case file; `parse_case` reads it back to the same case.

    >>> from advisor.library.base import load
    >>> print(write_case(Case((Entry("smoke", "4", 4.0),)), load()).partition("rules:")[0], end="")
    entries:
    - smoke: '4'
    """
    def plain(entry: Entry) -> dict[str, object]:
        out: dict[str, object] = {entry.name: entry.typed if entry.value is not None else entry.status}
        if entry.is_cure:
            out = {CURED: {entry.name: entry.typed}}
        if entry.is_remark:
            out = {REMARK: entry.typed}
        if entry.at:
            out["at"] = entry.at.isoformat(timespec="seconds")
        if entry.how:
            out["how"] = entry.how
        if entry.said:
            out["said"] = entry.said
        return out

    whole: dict[str, object] = {"title": case.title} if case.title else {}
    equipment = [entry for entry in case.entries if entry.name in base.equipment]
    others = [entry for entry in case.entries if entry.name not in base.equipment]
    if equipment:
        whole["equipment"] = [plain(entry) for entry in equipment]
    if case.manufacturer:
        whole["manufacturer"] = {
            name: units.format_value(value, base.quantities[base.limits[name].of].kind, 4)
            for name, value in case.manufacturer.items()
        }
    if case.instruments is not None:
        whole["instruments"] = list(case.instruments)
    whole["entries"] = [plain(entry) for entry in others]
    if case.earlier:
        whole["earlier"] = [plain(entry) for entry in case.earlier]
    whole["rules"] = base.rules_used
    return str(yaml.safe_dump(whole, sort_keys=False, allow_unicode=True, width=110))


def save_case(case: Case, path: Path, base: Base) -> None:
    """Put a case on disk: the file holds either what it held before or the whole new case, never a part.

    Errors: `OSError`, for example with the disk full or no permission; the file is then as it was.
    """
    write_whole(path, write_case(case, base))


def write_whole(path: Path, text: str | bytes) -> None:
    """Replace a file by a text, or by bytes, in one step, on the disk when this returns; errors: `OSError`.

    It is for its owner alone, since it tells of customers; one that others may read already stays so.
    """
    there = Path(os.path.realpath(path))  # not `resolve`, which refuses a link to itself
    folder = there.parent
    sweep(folder / path.name, STALE)
    handle, made = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".new", dir=folder)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(text.encode("utf-8") if isinstance(text, str) else text)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            os.chmod(made, path.stat().st_mode & 0o777)
        os.replace(made, there)
    except BaseException:
        Path(made).unlink(missing_ok=True)
        raise
    folder_handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(folder_handle)
    finally:
        os.close(folder_handle)


def beside(path: Path, what: str) -> Path:
    """The file of this name that belongs to a case file.

    >>> beside(Path("mill/case.yaml"), "after").name
    'case.after.yaml'
    """
    return path.with_name(f"{path.stem}.{what}.yaml")


def sweep(path: Path, age: float = 0.0) -> None:
    """Take away what kills in the middle of writing a file, or a folder of them, have left of it, where it is older
    than so many seconds.
    """
    with suppress(OSError):
        for left in path.parent.glob(f".{escape(path.name)}.*.new"):
            if time.time() - left.stat().st_mtime < age:
                continue
            if left.is_dir() and not left.is_symlink():
                shutil.rmtree(left, ignore_errors=True)
            else:
                left.unlink(missing_ok=True)


class BusyError(ValueError):
    """A case that somebody else has open."""


@contextmanager
def alone_on(path: Path) -> Iterator[None]:
    """Hold a case file as the only one who writes it; errors: `BusyError` where another does.

    What a kill has left of it, or of what belongs to it, is taken away. Errors: `LibraryError` for a folder.

    Where the folder takes no lock file, or its file system no locks, nothing is held: `mark_of` tells changes then.
    """
    if path.is_dir():
        raise LibraryError([Problem(str(path), 1, "is a folder; name a case file in it, such as case.yaml")])
    if not path.parent.is_dir():  # filelock would make it
        yield
        return
    from filelock import FileLock, Timeout

    lock = FileLock(path.with_name(f".{path.name}.lock"), timeout=0, mode=0o600)
    try:
        lock.acquire()
    except Timeout:
        raise BusyError(f"{path} is open at another prompt; close it there first. `burner-advisor diagnose {path}` "
                        "reads it meanwhile") from None
    except (OSError, NotImplementedError):
        yield
        return
    try:
        for one in (path, beside(path, "work"), beside(path, "after")):
            sweep(one)
        yield
    finally:
        with suppress(OSError):
            os.unlink(lock.lock_file)
        lock.release()


def mark_of(path: Path) -> tuple[int, int, int] | None:
    """What tells one state of a file from the next; None where it is not there."""
    try:
        there = path.stat()
    except OSError:
        return None
    return there.st_ino, there.st_size, there.st_mtime_ns


def moved_beside(path: Path) -> tuple[Path, str]:
    """Where a case goes on whose file somebody else has changed, and that in words.

    >>> moved_beside(Path("nowhere/case.yaml"))[0].name
    'case-2.yaml'
    """
    free = next(other for number in count(2)
                if not os.path.lexists(other := path.with_name(f"{path.stem}-{number}{path.suffix}")))
    return free, (f"{path} was changed by somebody else, so nothing of it was written over: all that you entered goes "
                  f"on in {free}. Compare the two.")
