"""The work of a visit on disk, beside the case file: `NAME.work.yaml`, and the case as left in `NAME.after.yaml`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import yaml

from advisor.library.base import Base
from advisor.library.yamlfiles import Fields, LibraryError, Node, Problem, parse_yaml, read_text, shorten
from advisor.reasoning.case import Case, read_time
from advisor.reasoning.casefile import beside, read_case
from advisor.visit.remedy import NOTHING_DONE, Job, Work, remedy_of


def read_work(path: Path, base: Base) -> Work:
    """The work that belongs to a case file; nothing done where there is none. Errors: `LibraryError`."""
    after, work = beside(path, "after"), beside(path, "work")
    left = read_case(after, base) if _holds_something(after) else Case()
    kept = parse_work(read_text(work, str(work)), str(work), base) if _holds_something(work) else NOTHING_DONE
    return Work(kept.jobs, left, kept.unit, kept.closed, kept.kept)


def _holds_something(path: Path) -> bool:
    return path.exists() and not (path.is_file() and path.stat().st_size == 0)


def parse_work(text: str, file: str, base: Base) -> Work:
    """The work in a text, without the case as left.

    Parameters
    ----------
    text : str
        YAML with `remedies:` (a list of `cause`, `chosen`, `retest-from` and `done`, a list of `step` and `at`),
        `unit:`, `closed:` and `kept:`, all optional.
    file : str
        What the text is called in messages.

    Raises
    ------
    LibraryError
        With every problem of the text, one line each.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> parse_work("remedies: [{cause: sooted-gas-passages, done: [{step: 9}]}]", "a.work.yaml", load())
    Traceback (most recent call last):
    advisor.library.yamlfiles.LibraryError: a.work.yaml:1: step: 9 is not a step; clean-gas-passages has 1 to 8
    """
    root = parse_yaml(text, file)
    problems: list[Problem] = []
    fields = Fields(root, problems, "work")
    jobs = [job for node in fields.list("remedies") for job in _job(node, base, problems)]
    unit = fields.text("unit", "")
    closed, kept = _time(fields, "closed"), _whole(fields, "kept")
    fields.done()
    if problems:
        raise LibraryError(problems)
    return Work(tuple(jobs), Case(), unit, closed, kept)


def _job(node: Node, base: Base, problems: list[Problem]) -> list[Job]:
    fields = Fields(node, problems, "remedies")
    cause, chosen, since = fields.text("cause"), _time(fields, "chosen"), _whole(fields, "retest-from")
    if cause and cause not in base.causes:
        fields.wrong(f"cause: {shorten(cause)!r} is not a cause known here; start with the rules that know it")
    steps, times = [], []
    for step in fields.list("done"):
        inner = Fields(step, problems, "done")
        number, at = _whole(inner, "step"), _time(inner, "at")
        inner.done()
        if cause in base.causes:
            remedy = remedy_of(base, Job(cause))
            if not 1 <= number <= len(remedy.steps):
                inner.wrong(f"step: {number} is not a step; {remedy.name} has 1 to {len(remedy.steps)}")
        steps.append(number)
        times.append(at)
    fields.done()
    return [Job(cause, chosen, tuple(steps), tuple(times), since)]


def _whole(fields: Fields, key: str) -> int:
    number = fields.number(key, 0.0)
    if number != int(number) or number < 0:
        fields.wrong(f"{key}: {number:g} must be a whole number")
        return 0
    return int(number)


def _time(fields: Fields, key: str) -> datetime | None:
    text = fields.text(key, "")
    try:
        return read_time(text) if text else None
    except ValueError as error:
        fields.wrong(f"{key}: {error}")
        return None


def write_work(work: Work) -> str:
    """The text that `parse_work` reads back to the same work.

    >>> print(write_work(Work((Job("sooted-gas-passages", done=(1,), times=(None,)),))), end="")
    remedies:
    - cause: sooted-gas-passages
      done:
      - step: 1
    """
    def job(one: Job) -> dict[str, object]:
        out: dict[str, object] = {"cause": one.cause}
        if one.chosen:
            out["chosen"] = _text(one.chosen)
        if one.since:
            out["retest-from"] = one.since
        done = [{"step": number, **({"at": _text(at)} if at else {})}
                for number, at in zip(one.done, one.times, strict=True)]
        return {**out, "done": done} if done else out

    whole: dict[str, object] = {"remedies": [job(one) for one in work.jobs]} if work.jobs else {}
    whole |= {"unit": work.unit} if work.unit else {}
    whole |= {"closed": _text(work.closed)} if work.closed else {}
    whole |= {"kept": work.kept} if work.kept else {}
    return str(yaml.safe_dump(whole, sort_keys=False, allow_unicode=True, width=110))


def _text(at: datetime) -> str:
    return at.isoformat(timespec="seconds")
