"""The model units of the bench: what they are called, and the plant of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from advisor.bench.benchfiles import DATA, called, items
from advisor.library.yamlfiles import Fields, LibraryError, Node, Problem, as_number, near, shorten
from advisor.plant import KINDS, Plant, healthy


@dataclass(frozen=True, slots=True)
class ModelUnit:
    """A unit of the bench; `changes` are fields of the plant, set before it is tuned, `plates` what is installed that
    the plant has no word for.
    """

    name: str
    title: str
    aliases: tuple[str, ...]
    kind: str
    changes: tuple[tuple[str, float | str], ...]
    plates: tuple[tuple[str, str], ...] = ()

    def plant(self, **more: float | str) -> Plant:
        """The unit sound and tuned; `more` are further fields of the plant, such as the weather.

        >>> unit_called("boiler").plant().appliance
        'boiler'
        """
        return _plant(self.kind, tuple(sorted({**dict(self.changes), **more}.items())))


@lru_cache(maxsize=256)
def _plant(kind: str, changes: tuple[tuple[str, float | str], ...]) -> Plant:
    return healthy(kind, **dict(changes))


def plant_fields(fields: Fields, key: str) -> dict[str, float | str]:
    """Fields of the plant with their values, as an item gives them; a field that no plant has is a problem."""
    out: dict[str, float | str] = {}
    known = Plant.__dataclass_fields__
    for name, node in fields.mapping(key).items():
        if name not in known:
            meant = near(name, known)
            fields.wrong(f"{fields.what}: {key}: a unit has no {shorten(name)!r}"
                         + (f"; did you mean {meant[0]}?" if meant else ""), node)
            continue
        value = _value(node, isinstance(getattr(Plant(), name), str))
        if value is None:
            fields.wrong(f"{fields.what}: {key}: {name} must be a "
                         f"{'word' if isinstance(getattr(Plant(), name), str) else 'number'}, not {node.kind}", node)
            continue
        out[name] = value
    return out


def _value(node: Node, word: bool) -> float | str | None:
    if word:
        return node.value if isinstance(node.value, str) and node.value else None
    return as_number(node)


@lru_cache(maxsize=1)
def units() -> Mapping[str, ModelUnit]:
    """All units of the bench, by name.

    Raises
    ------
    LibraryError
        All that is wrong with their file.

    Examples
    --------
    >>> "old-boiler" in units()
    True
    """
    problems: list[Problem] = []
    out: dict[str, ModelUnit] = {}
    for _, name, fields in items(DATA / "units.yaml", ("unit",), problems):
        unit = ModelUnit(name, fields.text("title"), fields.texts("aliases"), fields.choice("kind", KINDS),
                         tuple(plant_fields(fields, "with").items()),
                         tuple((key, str(node.value)) for key, node in fields.mapping("plates").items()))
        out[name] = unit
    if problems:
        raise LibraryError(problems)
    return out


def unit_called(words: str) -> ModelUnit:
    """The unit that a name, a title or an alias means.

    Raises
    ------
    BenchError
        No unit is called so; the units are named.

    Examples
    --------
    >>> unit_called("direct vent").name
    'sealed'
    >>> unit_called("rocket")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    advisor.bench.benchfiles.BenchError: no unit of the bench is called 'rocket'; the units are boiler, ...
    """
    return called(words, units(), "unit of the bench", "the units are")
