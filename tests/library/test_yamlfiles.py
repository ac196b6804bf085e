"""Reading YAML strictly: what is refused, quickly, and with which place."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.yamlfiles import MOST_BYTES, Fields, LibraryError, Problem, parse_yaml, read_text


def problems_of(text: str) -> str:
    with pytest.raises(LibraryError) as caught:
        parse_yaml(text, "a.yaml")
    return str(caught.value)


def test_all_scalars_stay_text_with_their_lines() -> None:
    root = parse_yaml("a: yes\nb: [1e3, ~]\n", "a.yaml")
    assert isinstance(root.value, dict)
    assert (root.value["a"].value, root.value["b"].line) == ("yes", 2)
    assert [node.value for node in root.value["b"].value] == ["1e3", "~"]  # type: ignore[union-attr]


@pytest.mark.parametrize(("text", "place", "words"), [
    ("a: 1\nb: &x [1]\n", "a.yaml:2:", "anchor"),
    ("a: &x 1\n", "a.yaml:1:", "anchor"),
    ("- *gone\n", "a.yaml:1:", "alias"),
    ("a: !!python/object/apply:os.system [ls]\n", "a.yaml:1:", "tag"),
    ("a: 1\na: 2\n", "a.yaml:2:", "'a' stands twice"),
    ("[1, 2]: 3\n", "a.yaml:1:", "a key must be text"),
    ("a: 1\n---\nb: 2\n", "a.yaml:2:", "second document"),
    ("a: [1\n", "a.yaml:2:", "is not YAML"),
    ("a: 'x\n", "a.yaml:2:", "is not YAML"),
    ("a: \x00\n", "a.yaml:1:", "is not YAML"),
    ("[" * 30 + "]" * 30, "a.yaml:1:", "nested more than"),
])
def test_what_is_refused(text: str, place: str, words: str) -> None:
    said = problems_of(text)
    assert said.startswith(place)
    assert words in said


def test_an_exploding_file_is_refused_at_its_first_anchor() -> None:
    bomb = "a0: &a0 [x,x,x,x,x,x,x,x,x]\n" + "".join(
        f"a{i}: &a{i} [{','.join([f'*a{i - 1}'] * 9)}]\n" for i in range(1, 12)
    )
    assert "a.yaml:1: an anchor" in problems_of(bomb)


def test_fifty_thousand_levels_are_refused_and_do_not_crash() -> None:
    assert "nest" in problems_of("[" * 50_000)


def test_many_values_are_refused() -> None:
    assert "more than 200,000 values" in problems_of("[" + "x," * 200_001 + "]")


def test_a_large_file_is_not_read_to_its_end(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    with path.open("wb") as stream:
        stream.truncate(50 * MOST_BYTES)
    with pytest.raises(LibraryError, match=r"large.yaml:1: larger than 1,000,000 bytes"):
        read_text(path)


def test_not_utf_8_tells_the_line(tmp_path: Path) -> None:
    path = tmp_path / "latin.yaml"
    path.write_bytes(b"a: 1\nb: caf\xe9\n")
    with pytest.raises(LibraryError, match=r"latin.yaml:2: is not UTF-8"):
        read_text(path)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(LibraryError, match=r"gone.yaml:1: cannot be read: no such file"):
        read_text(tmp_path / "gone.yaml")


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    try:
        lines = [parse_yaml(text, "a.yaml").line]
    except LibraryError as error:
        lines = [problem.line for problem in error.problems]
    assert min(lines) >= 1


def test_fields_collect_every_problem() -> None:
    problems: list[Problem] = []
    node = parse_yaml("name: [1]\nsize: big\nshape: round\nwhat: 1\nempty: ''\n", "a.yaml")
    fields = Fields(node, problems, "thing")
    assert fields.text("name") == ""
    assert fields.number("size") == 0.0
    assert fields.choice("shape", ("square", "flat")) == "square"
    assert fields.text("missing") == ""
    assert fields.text("empty") == ""
    fields.done()
    assert [str(problem) for problem in problems] == [
        "a.yaml:1: thing: `name` must be text, not a list",
        "a.yaml:2: thing: `size` must be a number, not the text 'big'",
        "a.yaml:3: thing: `shape: round` is not one of square, flat",
        "a.yaml:1: thing has no `missing`; add it",
        "a.yaml:5: thing: `empty` is empty",
        "a.yaml:4: thing: unknown key `what`; known are name, size, shape, missing, empty",
    ]
