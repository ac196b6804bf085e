"""The whole of what is known, read from knowledge/ and rules/ and checked against itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Final

import advisor
from advisor.library import compiled
from advisor.library.items import (
    ACTS_OF_STATE,
    COMMON,
    Access,
    Act,
    Cause,
    Check,
    Condition,
    Family,
    Hazard,
    Instrument,
    Limit,
    Observation,
    Panel,
    Quantity,
    Remedy,
    Rule,
    Signature,
    Source,
    Term,
    fits,
)
from advisor.library.knowledge import ITEMS, Shelves, read_knowledge
from advisor.library.plaintext import plain_text
from advisor.library.rulebase import read_rules
from advisor.library.yamlfiles import (
    MOST_BYTES,
    LibraryError,
    Node,
    Problem,
    is_ours,
    may_be_ours,
    parse_yaml,
    read_text,
    yaml_files,
)
from advisor.physics.combustion import Fuel

Named = Quantity | Observation | Condition
NO_RULES: Final = "holds no rules"


@dataclass(frozen=True, eq=False)  # compared and cached by identity: there is one a folder
class Base:
    """Everything known, by kind and name. Get it from `load`."""

    quantities: Mapping[str, Quantity]
    observations: Mapping[str, Observation]
    conditions: Mapping[str, Condition]
    limits: Mapping[str, Limit]
    causes: Mapping[str, Cause]
    panels: Mapping[str, Panel]
    signatures: Mapping[str, Signature]
    families: Mapping[str, Family]
    remedies: Mapping[str, Remedy]
    checks: Mapping[str, Check]
    instruments: Mapping[str, Instrument]
    accesses: Mapping[str, Access]
    acts: Mapping[str, Act]
    hazards: Mapping[str, Hazard]
    sources: Mapping[str, Source]
    terms: Mapping[str, Term]
    fuels: Mapping[str, Fuel]
    rules: Mapping[str, Rule]
    common: Mapping[str, float]
    """How common each cause is: its share of service calls."""
    own_rules: Path | None = None
    """The folder of rules of the user's own that were read beside ours."""
    passed_over: Mapping[str, str] = field(default_factory=dict)
    """What of that folder was not read, each with the reason: files of some other program, links to folders."""

    mark: str = ""
    """Of the texts of all files of rules and knowledge that were read."""

    @cached_property
    def rules_used(self) -> str:
        """By which rules and knowledge a case is advised: the version, and the mark of all their files.

        >>> load().rules_used.startswith("burner-advisor ")
        True
        """
        from importlib.metadata import version

        beside = f" with those in {plain_text(self.own_rules.name)}" if self.own_rules else ""
        return f"burner-advisor {version('burner-advisor')}, rules {self.mark[:12]}{beside}"

    @cached_property
    def named(self) -> Mapping[str, Named]:
        """Everything that a rule can test, by name."""
        return {**self.quantities, **self.observations, **self.conditions}

    @cached_property
    def entered(self) -> tuple[Quantity | Observation, ...]:
        """Everything that an entry can be made for, or that is computed from entries."""
        return (*self.quantities.values(), *self.observations.values())

    @cached_property
    def equipment(self) -> frozenset[str]:
        """What is installed, as plates, tags and papers tell it: given on a call, and no finding.

        >>> "burner_type" in load().equipment, "smoke" in load().equipment
        (True, False)
        """
        return frozenset(item.name for item in self.entered if item.part == "equipment")

    @cached_property
    def safety_looks(self) -> frozenset[str]:
        """What is looked at for somebody's safety, on the first round or by a safety check.

        >>> "oil_leak" in load().safety_looks, "spot_look" in load().safety_looks
        (True, False)
        """
        return frozenset(name for check in self.checks.values() if check.safety or check.round for name in check.gives)

    @cached_property
    def gating(self) -> frozenset[str]:
        """Looks on which it hangs whether something may be done, or that show a hazard: never passed over by a slip.

        >>> "resets_pressed" in load().gating, "flame_rollout" in load().gating, "house_changed" in load().gating
        (True, True, False)
        """
        looks = [look for act in self.acts.values() for look in act.looks]
        show = {name for rule in self.rules.values() if rule.hazard for name in rule.when if name in self.observations}
        return self.safety_looks.union(show, *((look.name, *look.when) for look in looks))

    @cached_property
    def asked_of(self) -> Mapping[str, Mapping[str, tuple[str, ...]]]:
        """Everything that is asked for, not computed, each with where alone it is asked."""
        return {item.name: item.only for item in self.entered if not (isinstance(item, Quantity) and item.derived)}

    def asked_by(self, check: Check, known: Mapping[str, object]) -> tuple[str, ...]:
        """What a check asks for on this unit, as far as it is known."""
        return tuple([name for name in check.gives if name in self.asked_of and fits(self.asked_of[name], known)])

    @cached_property
    def usual(self) -> Mapping[str, Mapping[str, float]]:
        """How usual each band and answer is on service calls."""
        return {item.name: item.usual for item in self.entered}

    @cached_property
    def words(self) -> Mapping[str, str]:
        """Every word that means a quantity or an observation - name, title, alias - and the name it means."""
        out: dict[str, str] = {}
        for item in self.entered:
            for word in (item.name, item.name.replace("_", " "), item.title, *item.aliases):
                out.setdefault(word.lower(), item.name)
        return out

    @cached_property
    def limits_of(self) -> Mapping[str, tuple[Limit, ...]]:
        """The limits of each quantity, from its lowest band to its highest."""
        out: dict[str, tuple[Limit, ...]] = {}
        for name, quantity in self.quantities.items():
            order = list(quantity.bands)
            own = [limit for limit in self.limits.values() if limit.of == name and limit.below in order]
            out[name] = tuple(sorted(own, key=lambda limit: order.index(limit.below)))
        return out

    @cached_property
    def checks_giving(self) -> Mapping[str, tuple[Check, ...]]:
        """The checks that answer each quantity and observation, first those made for it before all else."""
        out: dict[str, list[Check]] = {}
        for check in self.checks.values():
            for name in check.gives:
                out.setdefault(name, []).append(check)
        return {name: tuple(sorted(checks, key=lambda check: check.gives.index(name)))
                for name, checks in out.items()}

    @cached_property
    def rules_concluding(self) -> Mapping[str, tuple[Rule, ...]]:
        """The rules that conclude each condition."""
        out: dict[str, tuple[Rule, ...]] = dict.fromkeys(self.conditions, ())
        for rule in self.rules.values():
            for name in rule.concludes:
                out[name] = (*out.get(name, ()), rule)
        return out

    @cached_property
    def rules_about(self) -> Mapping[str, tuple[Rule, ...]]:
        """The rules that speak for or against each cause."""
        out: dict[str, tuple[Rule, ...]] = dict.fromkeys(self.causes, ())
        for rule in self.rules.values():
            for cause in rule.causes:
                out[cause] = (*out.get(cause, ()), rule)
        return out

    @cached_property
    def whole_acts(self) -> Mapping[str, frozenset[str]]:
        """Each act with all that doing it does too."""
        def whole(name: str, seen: frozenset[str]) -> frozenset[str]:
            act = self.acts.get(name)
            return seen if act is None or name in seen else frozenset().union(
                seen | {name}, *(whole(one, seen | {name}) for one in act.includes))

        return {name: whole(name, frozenset()) for name in self.acts}

    def acts_of(self, acts: Iterable[str]) -> frozenset[str]:
        """Acts, with all that doing them does too.

        >>> sorted(load().acts_of(["start"]))
        ['inside', 'oil-open', 'power', 'start', 'switch']
        """
        return frozenset().union(*(self.whole_acts[name] for name in acts))

    def forbids(self, hazard: Hazard, acts: Iterable[str]) -> bool:
        """Whether an open hazard forbids one of these acts, or what it includes, to anybody."""
        return any(hazard.may.get(act) == "no" for act in self.acts_of(acts))

    def acts_of_check(self, check: Check) -> frozenset[str]:
        """All that making a check does: by the state of the burner, by what it opens, and by its steps.

        An act that readings may bar, such as giving less air, is held back step by step, and stops no check as a whole;
        nor does what may wait at its end, such as opening the oil valve again.

        >>> base = load()
        >>> "run" in base.acts_of_check(base.checks["measure-smoke"])
        True
        """
        steps = list(check.how)
        while steps and steps[-1].acts and all(self.acts[act].waits for act in steps[-1].acts):
            steps.pop()
        own = [act for step in steps for act in step.acts if not self.acts[act].bars or act == "start"]
        own += [] if check.outdoors else ["inside"]
        own += ["open"] if check.opens else []
        return self.acts_of([*own, *ACTS_OF_STATE[check.state]])

    def title(self, name: str) -> str:
        """The title of anything that has a name; the name itself where nothing has it.

        >>> load().title("draft_over_fire")
        'draft over the fire'
        """
        for shelf in (self.named, self.causes, self.families, self.checks, self.remedies, self.hazards, self.acts,
                      self.instruments, self.fuels, self.sources, self.rules, self.limits, self.terms):
            if name in shelf:
                return str(shelf[name].title)
        return name


def home(folder: str) -> Path:
    """Where our own knowledge/ or rules/ stands: inside the installed package, or beside it in a checkout."""
    package = Path(advisor.__file__).parent
    inside = package / folder
    return inside if inside.is_dir() else package.parent / folder


def with_common(base: Base, shares: Mapping[str, float]) -> Base:
    """The base with other shares of how common causes are, such as a shop's own record tells.

    >>> with_common(load(), {"weak-cut-off": 0.2}).common["weak-cut-off"]
    0.2
    """
    return replace(base, common={**base.common, **shares})


def load(rules_folder: str | Path | None = None) -> Base:
    """Read and check everything, once a process for each folder.

    Parameters
    ----------
    rules_folder : path, optional
        A folder with further rule files of the user's own, read beside ours. Its rules may use every name of
        our knowledge, and it may bring knowledge of its own in a folder `knowledge` inside of it.

    Raises
    ------
    LibraryError
        All problems of all files, one line each: `file:line: what is wrong, and what would be right`.

    Examples
    --------
    >>> base = load()
    >>> base.quantities["draft_drop"].title
    'draft drop from breech to fire'
    """
    return _load(Path(rules_folder) if rules_folder is not None else None)


@lru_cache(maxsize=4)
def _load(rules_folder: Path | None) -> Base:
    folders = [home("knowledge"), home("rules"), *([rules_folder] if rules_folder is not None else [])]
    mark = compiled.stamp(folders)
    found = compiled.read(folders, mark) if mark else None
    if found is None:
        found = _read(rules_folder)
        if mark:
            compiled.write(folders, mark, found)
    return found


def _read(rules_folder: Path | None) -> Base:
    """A base from its files, checked against itself."""
    from advisor.library.crosscheck import cross_check  # it needs Base, as we need it

    shelves = Shelves()
    rules: dict[str, Rule] = {}
    passed_over: dict[str, str] = {}
    mark = sha256()
    folders = [(home("knowledge"), home("rules"), False)]
    if rules_folder is not None:
        if not rules_folder.is_dir():
            raise LibraryError([Problem(str(rules_folder), 1, "is not a folder; name a folder of rule files")])
        folders.append((rules_folder / "knowledge", rules_folder, True))
    for knowledge_home, rules_home, own in folders:
        foreign = passed_over if own else None
        kinds = ("rule", *ITEMS)
        for _, root in _roots(knowledge_home, shelves.problems, kinds, foreign, mark.update, first="quantities.yaml"):
            read_knowledge(root, shelves)
        for subject, root in _roots(rules_home, shelves.problems, kinds, foreign, mark.update, leave="knowledge"):
            for rule in read_rules(root, subject, own, shelves.problems):
                if rule.name in rules:
                    what = f"rule {rule.name} stands twice; the other is at {rules[rule.name].place}"
                    shelves.problems.append(Problem(rule.place.file, rule.place.line, what))
                else:
                    rules[rule.name] = rule
    base = Base(
        shelves.quantities, shelves.observations, shelves.conditions, shelves.limits, shelves.causes,
        shelves.panels, shelves.signatures, shelves.families, shelves.remedies, shelves.checks, shelves.instruments,
        shelves.accesses, shelves.acts, shelves.hazards, shelves.sources, shelves.terms, shelves.fuels, rules,
        {name: COMMON[cause.common] for name, cause in shelves.causes.items()}, rules_folder, passed_over,
        mark.hexdigest(),
    )
    problems = [*shelves.problems, *cross_check(base)]
    if problems:
        raise LibraryError(problems)
    return base


def _roots(
    folder: Path, problems: list[Problem], kinds: Iterable[str], passed_over: dict[str, str] | None,
    mark: Callable[[bytes], object], first: str = "", leave: str = "",
) -> Iterator[tuple[str, Node]]:
    """The name (without ending) and the tree of each file of a folder; the file `first` comes first, and what is in
    the folder `leave` inside of it is left out.

    `passed_over` takes what is not meant to hold items of these kinds, with the reason; where it is None, all is.
    `mark` takes the names and texts of what is.
    """
    if not folder.is_dir() or (passed_over is not None and first and folder.is_symlink()):
        return
    links: list[Path] = []
    try:
        paths = [path for path in yaml_files(folder, links) if path.relative_to(folder).parts[0] != leave]
    except LibraryError as error:
        problems.extend(error.problems)
        return
    if passed_over is not None:
        passed_over.update({str(path.relative_to(folder.parent)): "is a link to a folder" for path in links})
    for path in sorted(paths, key=lambda path: path.name != first):
        shown = str(path.relative_to(folder.parent))
        try:
            text = read_text(path, shown)
            root = parse_yaml(text, shown)
        except LibraryError as error:
            if passed_over is None or not path.is_file() or may_be_ours(_beginning(path), kinds):
                problems.extend(error.problems)
            else:
                passed_over[shown] = NO_RULES
            continue
        if passed_over is None or is_ours(root, kinds):
            mark(f"{path.relative_to(folder)}\0{text}".encode("utf-8", "replace"))
            yield path.stem, root
        else:
            passed_over[shown] = NO_RULES


def _beginning(path: Path) -> str:
    """What can be seen of a file that is too large or no text."""
    with path.open("rb") as stream:
        return stream.read(MOST_BYTES).decode("latin-1")
