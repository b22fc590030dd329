"""Planning the galley warm, and the time of ``--help``, each against a peer in the same run.

Run on a quiet machine: ``python benchmarks/bench_plan.py``. One thread.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


def best(f: Callable[[], object], times: int) -> float:
    """Best wall time of `times` calls [s]."""
    out = []
    for _ in range(times):
        start = time.perf_counter()
        f()
        out.append(time.perf_counter() - start)
    return min(out)


def python(code: str) -> Callable[[], object]:
    return lambda: subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


def main() -> None:
    from pourwright.plan import load_job, plan_job

    bare = best(python("pass"), 5)
    helped = best(
        python("import sys; sys.argv = ['pourwright', '--help']\n"
               "from pourwright.cli.main import run\ntry:\n    run()\nexcept SystemExit:\n    pass"),
        5,
    )  # fmt: skip
    job = load_job(EXAMPLES / "galley.toml")
    plan_job(job, EXAMPLES)
    warm = best(lambda: plan_job(job, EXAMPLES), 3)
    numpy_start = best(python("import numpy, scipy.optimize, shapely"), 3)
    print(f"{'what':34}{'seconds':>9}{'ratio':>9}  peer")
    print(f"{'python -c pass':34}{bare:9.3f}{1.0:9.2f}")
    print(f"{'pourwright --help':34}{helped:9.3f}{helped / bare:9.2f}  an empty interpreter")
    print(f"{'plan the galley, warm':34}{warm:9.3f}{warm / numpy_start:9.2f}  "
          "importing numpy, scipy.optimize, shapely")  # fmt: skip
    print(f"targets: --help under 0.3 s: {'met' if helped < 0.3 else 'missed'}; "
          f"galley under 3 s: {'met' if warm < 3 else 'missed'}")  # fmt: skip


if __name__ == "__main__":
    main()
