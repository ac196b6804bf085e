"""How `check-rules` grows with the rules, against `diagnose` with the same rules. Run by hand:

    python tests/benchmarks/rules_growth.py [RULES ...]

Each command is a whole process on a folder of generated rules beside ours; printed are the ratios within this run.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from advisor.library.base import load

DEMO = Path(__file__).parents[2] / "demo" / "sooting-boiler.yaml"


def rules(number: int, seed: int = 1) -> str:
    """YAML of so many rules, each on two observations, each with an example that fires and one that does not."""
    base, rng = load(), Random(seed)
    names = [one.name for one in base.observations.values() if one.part == "reading" and not one.only]
    pairs = [(one, other) for one in names for other in names if one < other]
    out = []
    for at, (one, other) in enumerate(rng.sample(pairs, number)):
        first, second = (rng.choice(base.observations[name].symbols) for name in (one, other))
        others = [symbol for symbol in base.observations[one].symbols if symbol != first]
        out.append(f"""\
- rule: made-{at}
  when: {{{one}: ["{first}"], {other}: ["{second}"]}}
  supports: {{{rng.choice(list(base.causes))}: slight}}
  because: made to measure with
  source: common practice
  examples:
    - fires: {{{one}: "{first}", {other}: "{second}"}}
    - stays: {{{one}: "{others[0]}", {other}: "{second}"}}
""")
    return "".join(out)


def seconds(*words: str) -> float:
    begin = time.perf_counter()
    done = subprocess.run([sys.executable, "-m", "advisor.cli", *words], capture_output=True, text=True, check=False,
                          cwd=Path(__file__).parents[2])
    if "Traceback" in done.stderr or done.returncode not in (0, 1, 2) or not done.stdout:
        raise SystemExit(done.stderr[-2000:])
    return time.perf_counter() - begin


def main() -> None:
    for number in [int(word) for word in sys.argv[1:]] or [250, 500, 1000, 2000]:
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "made.yaml").write_text(rules(number))
            diagnose = min(seconds("diagnose", str(DEMO), "--rules", folder) for _ in range(2))
            check = seconds("check-rules", folder)
        print(f"{number:5} rules beside ours: check-rules takes {check / diagnose:.2f} of diagnose ({diagnose:.2f} s)",
              flush=True)


if __name__ == "__main__":
    main()
