"""Saying a stored plan again, against reading its JSON: one thread, best of several, CPU time.

Run ``python benchmarks/bench_words.py`` at the root of a checkout.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pourwright.plan import load_job, plan_job
from pourwright.words import Reader, phrase_book, said_again

TIMES = 7
EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


def best(call: Callable[[], Any]) -> float:
    """Least CPU time of several calls [s]."""
    found = []
    for _ in range(TIMES):
        start = time.process_time()
        call()
        found.append(time.process_time() - start)
    return min(found)


def main() -> None:
    """Print a row for each example and reader."""
    print("single thread, best of", TIMES)
    print(f"{'plan':<10}{'reader':<14}{'ms':>8}{'x json.loads':>14}")
    for name in ("galley", "cafe_bar", "wet_room"):
        plan = plan_job(load_job(EXAMPLES / f"{name}.toml"), EXAMPLES)
        text = plan.model_dump_json(by_alias=True)
        data, book = json.loads(text), json.loads(json.dumps(phrase_book(plan)))
        read = best(lambda: json.loads(text))  # noqa: B023
        for reader in (Reader("en", "metric"), Reader("de", "metric"), Reader("de", "us")):
            took = best(lambda: said_again(data, reader, book))  # noqa: B023
            label = f"{reader.language} {reader.units}"
            print(f"{name:<10}{label:<14}{1e3 * took:>8.2f}{took / read:>14.1f}")


if __name__ == "__main__":
    main()
