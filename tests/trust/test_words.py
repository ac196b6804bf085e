"""All that users read is in the words of the US oil-heat trade; words.yaml says which words are not, and what is.

Looked at are the texts of rules/ and knowledge/, the string literals of advisor/ and the templates of the report.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
UNDERSTOOD = frozenset({"said", "aliases", "urgent", "words", "examples", "source"})
"""What people may say and how a source is named: any word may stand there."""
NO_FACE = ("advisor/understanding/", "advisor/making/", "advisor/plant/", "advisor/call/phrases.py",
           "advisor/physics/units.py")
"""What is only understood there, or read by nobody who uses the advisor."""

AUTHORS = ("advisor/library/", "advisor/reasoning/engine.py", "advisor/reasoning/durablerules.py",
           "advisor/reasoning/rulecheck.py")
"""What speaks to those who write rules, of the keys in them."""


def of_yaml(path: Path) -> Iterator[tuple[int, str]]:
    """The texts of a file of items with their lines; names of items, which hold no blank, are none."""
    def texts(node: yaml.Node) -> Iterator[tuple[int, str]]:
        if isinstance(node, yaml.ScalarNode):
            if " " in node.value.strip():
                yield node.start_mark.line + 1, " ".join(node.value.split())
        elif isinstance(node, yaml.SequenceNode):
            for item in node.value:
                yield from texts(item)
        elif isinstance(node, yaml.MappingNode):
            for key, value in node.value:
                if key.value not in UNDERSTOOD:
                    yield from texts(value)

    whole = yaml.compose(path.read_text(encoding="utf-8"), Loader=yaml.SafeLoader)
    return texts(whole) if whole is not None else iter(())


def of_python(path: Path) -> Iterator[tuple[int, str]]:
    """The string literals of a module that hold a blank, but for docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            yield from [(node.lineno, " ".join(node.value.split()))] if " " in node.value else ()


def of_template(path: Path) -> Iterator[tuple[int, str]]:
    """The lines of a template without what is put in."""
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        yield number, re.sub(r"\{[{%#].*?[}%#]\}|<[^>]*>", " ", line)


def visible() -> Iterator[tuple[str, int, str]]:
    """All that users read: file, line, text."""
    for folder, pattern, texts in (("rules", "*.yaml", of_yaml), ("knowledge", "**/*.yaml", of_yaml),
                                   ("advisor", "**/*.py", of_python), ("advisor", "**/*.txt.j2", of_template),
                                   ("advisor", "**/*.html.j2", of_template)):
        for path in sorted((ROOT / folder).glob(pattern)):
            name = path.relative_to(ROOT).as_posix()
            if not name.startswith(NO_FACE) and path.name != "signatures.yaml":
                yield from ((name, line, text) for line, text in texts(path))


ALL = tuple(visible())
WORDS = yaml.safe_load((HERE / "words.yaml").read_text(encoding="utf-8"))


def problems(word: dict[str, object], texts: tuple[tuple[str, int, str], ...]) -> list[str]:
    """Where a word stands that is to be avoided, with what to say instead."""
    pattern = re.compile(str(word["avoid"]), re.IGNORECASE)
    found = []
    for file, line, text in texts:
        if "authors" in word and file.startswith(AUTHORS):
            continue
        for match in pattern.finditer(text):
            near = text[max(0, match.start() - 30):match.end() + 30]
            found.append(f"{file}:{line}: say {word['say']!r}, not {match.group()!r}: ...{near}...")
    return found


@pytest.mark.parametrize("word", WORDS, ids=[str(word["say"]) for word in WORDS])
def test_users_read_the_words_of_the_trade(word: dict[str, object]) -> None:
    found = problems(word, ALL)
    assert not found, "\n" + "\n".join(found)


def test_a_word_to_avoid_is_found_wherever_users_read_it(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("- check: x\n  said: [fan wheel is dirty]\n  how: [Clean the fan wheel.]\n")
    (tmp_path / "a.py").write_text('"""Of a fan wheel."""\nA = "look at"\nB = f"the fan wheel of {A}"\n')
    (tmp_path / "a.j2").write_text("{{ fan wheel }}\n<b>the fan wheel</b>\n")
    texts = tuple((kind.__name__, line, text) for kind, name in ((of_yaml, "a.yaml"), (of_python, "a.py"),
                                                                (of_template, "a.j2"))
                  for line, text in kind(tmp_path / name))
    found = problems({"avoid": "fan wheel", "say": "blower wheel"}, texts)
    assert [where.split(": ")[0] for where in found] == ["of_yaml:3", "of_python:3", "of_template:2"]


def test_much_is_looked_at() -> None:
    assert len(ALL) > 5000
    assert {file.split("/")[0] for file, _, _ in ALL} == {"rules", "knowledge", "advisor"}
