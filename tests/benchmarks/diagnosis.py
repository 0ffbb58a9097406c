"""How often the right fault is named: ``python tests/benchmarks/diagnosis.py [histories per fault] [seed]``.

Per fault: histories where the foretold changes are 20 to 160 degrees apart (modulo 180) and above five times the noise:
how often the diagnosis is that fault and nothing else; and the rest: how often the list of what fits contains it.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from histories import FAULTS, History, histories


def right(history: History) -> tuple[bool, bool, str]:
    """Return whether the diagnosis is the fault alone, whether the list contains it, and what was said."""
    kinds = tuple(each.kind for each in history.diagnosis().explanations)
    return set(kinds) == {history.fault}, history.fault in kinds, ", ".join(dict.fromkeys(kinds)) or "nothing"


def main() -> None:
    """Print one line per fault."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    start = time.perf_counter()
    print(
        f"{'fault':<20}{'told apart':>11}{'right':>9}{'in list':>9}{'rest':>7}{'in list':>9}  otherwise said"
    )
    for fault in FAULTS:
        told, rest = [], []
        for history in histories(fault, seed=seed):
            (told if history.is_told_apart else rest).append(history)
            if len(told) >= count and len(rest) >= count // 2:
                break
        results = [right(each) for each in islice(told, count)]
        others = [right(each) for each in rest]
        wrong = Counter(said for alone, _, said in results if not alone)
        print(
            f"{fault:<20}{len(results):>11}{sum(r[0] for r in results) / len(results):>9.1%}"
            f"{sum(r[1] for r in results) / len(results):>9.1%}{len(others):>7}"
            f"{sum(r[1] for r in others) / len(others):>9.1%}  {dict(wrong.most_common(4))}"
        )
    print(f"{time.perf_counter() - start:.1f} s")


if __name__ == "__main__":
    main()
