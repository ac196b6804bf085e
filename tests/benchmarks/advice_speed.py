"""How long an answer takes, against CLIPS, and how long a start takes. Run by hand:

    python tests/benchmarks/advice_speed.py

All figures come from one run; compare the ratios, for the machine may be busy.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from advisor.library.base import Base, load
from advisor.library.items import Quantity
from advisor.reasoning.assess import assess, engine_of
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.derive import derive
from tests.reasoning.clips_engine import ClipsEngine

CASES = 120


def random_case(base: Base, rng: Random) -> Case:
    """A case of 3 to 40 entries, every value plausible, every answer as usual as it is."""
    names = [item.name for item in base.entered if not (isinstance(item, Quantity) and item.derived)]
    entries = []
    for name in rng.sample(names, rng.randint(3, 40)):
        item = base.named[name]
        if isinstance(item, Quantity):
            low, high = item.plausible
            value = rng.uniform(low, low + 0.3 * (high - low))
            entries.append(Entry(name, str(value), value))
        else:
            answer = rng.choices(list(base.usual[name]), list(base.usual[name].values()))[0]
            entries.append(Entry(name, answer, answer))
    return Case(tuple(entries))


def percentile(times: list[float], share: float) -> float:
    return sorted(times)[min(len(times) - 1, int(share * len(times)))]


def answers() -> None:
    """One answer (ranking and next check), and the same chaining and look-aheads by CLIPS."""
    base, rng = load(), Random(7)
    engine = engine_of(base)
    clips = ClipsEngine(engine.rules)
    assess(random_case(base, rng), base)  # compiles the rules and the tables
    ours, chaining, theirs = [], [], []
    names = [item.name for item in base.entered if item.symbols]
    for _ in range(CASES):
        case = random_case(base, rng)
        start = time.perf_counter()
        assess(case, base)
        ours.append(time.perf_counter() - start)
        facts = list(derive(case, base).symbols.items())
        known = {name for name, _ in facts}
        further = [[(name, symbol)] for name in names if name not in known for symbol in base.named[name].symbols]
        start = time.perf_counter()
        with engine.session(facts) as session:
            for more in further:
                session.ahead(more)
        chaining.append(time.perf_counter() - start)
        start = time.perf_counter()
        clips.run(facts)
        for more in further:
            clips.ahead(more)
        theirs.append(time.perf_counter() - start)
    print(f"one answer, {CASES} cases: median {1000 * statistics.median(ours):.1f} ms, "
          f"95th percentile {1000 * percentile(ours, 0.95):.1f} ms")
    ratios = [one / other for one, other in zip(chaining, theirs, strict=True)]
    print(f"forward chaining and all look-aheads, ours over CLIPS: median {statistics.median(ratios):.2f}, "
          f"95th percentile {percentile(ratios, 0.95):.2f}")


def starts() -> None:
    """Command start to first prompt, at a terminal, against the bare import of prompt_toolkit."""
    import pexpect

    ratios = []
    for _ in range(7):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import prompt_toolkit"], check=True)
        bare = time.perf_counter() - start
        with tempfile.TemporaryDirectory() as folder:
            start = time.perf_counter()
            words = ["-m", "advisor.cli", "consult", str(Path(folder) / "case.yaml")]
            child = pexpect.spawn(sys.executable, words, cwd=str(Path(__file__).parents[2]), timeout=60)
            child.expect("complaint>")
            ratios.append((time.perf_counter() - start) / bare)
            child.close(force=True)
    print(f"start to first prompt over `import prompt_toolkit`: median {statistics.median(ratios):.2f}")


def memory() -> None:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of this process (with CLIPS): {peak:.0f} MB")
    code = ("import resource, sys; from advisor.cli import main; main(['diagnose', 'demo/sooting-boiler.yaml']); "
            "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024, file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                          cwd=Path(__file__).parents[2])
    print(f"peak memory of `diagnose`: {done.stderr.strip()} MB")


if __name__ == "__main__":
    answers()
    starts()
    memory()
