"""How fast the quantity reader is, against the pint parser, and what hostile text costs.

Run as a script; one thread; best of seven rounds. Pint is the peer where it reads the same text
correctly; for hostile text the limit is 10 ms, as the project asks.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from pourwright.errors import InputError
from pourwright.quantities import exact, read, write
from pourwright.quantities.dimensions import dimensions

ROUNDS = 7
TEXTS = [
    ("610 mm", "length", "610 mm", "m"),
    ("0.9 Pa s", "viscosity", "0.9 Pa * s", "Pa * s"),
    ("3 fl oz/ft2", "coverage", "3 fluid_ounce / ft**2", "m"),
    ("1.1 kg/L", "density", "1.1 kg / L", "kg / m**3"),
]
HOSTILE = {
    "9**9**9": "9**9**9",
    "1e400 mm": "1e400 mm",
    "nan mm": "nan mm",
    "10 kB of digits": "9" * 10_000,
    "10 kB of units": "1 " + "mm " * 3_333,
    "1 MB of digits": "9" * 1_000_000,
    "80 brackets": "(" * 80,
    "80 marks": "'" * 80,
    "unknown unit": "1 " + "abcdefgh " * 8,
}


def best(f: Callable[[], object], repeat: int) -> float:
    """Shortest time of one call [s] over the rounds."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        for _ in range(repeat):
            f()
        times.append((time.perf_counter() - start) / repeat)
    return min(times)


def _refused(text: str) -> None:
    for name in ("length", "coverage"):
        try:
            read(text, name)
        except InputError:
            continue
        raise AssertionError(f"{text[:20]!r} was read as a {name}")


def main() -> None:
    """Print the table: read and write against pint, hostile text against 10 ms."""
    import pint

    registry = pint.UnitRegistry()
    print("one thread, best of", ROUNDS, "rounds")
    print(f"{'text':22}{'read':>12}{'pint':>12}{'pint/read':>12}")
    for text, name, theirs, unit in TEXTS:
        assert abs(read(text, name) / registry(theirs).to(unit).magnitude - 1) < 1e-12
        ours = best(lambda t=text, n=name: read(t, n), 200)  # type: ignore[misc]
        peer = best(lambda t=theirs, u=unit: registry(t).to(u), 50)  # type: ignore[misc]
        print(f"{text:22}{ours * 1e6:9.1f} us{peer * 1e6:9.1f} us{peer / ours:12.1f}")
    for label, f in (
        ("2' 3 1/2\" (pint: none)", lambda: read("2' 3 1/2\"", "length")),
        ("exact(0.612775 m)", lambda: exact(0.612775, "length")),
        ("exact(1/3 m)", lambda: exact(1 / 3, "length")),
        ("write(2.1 m, us)", lambda: write(2.1, "length", "us")),
    ):
        print(f"{label:22}{best(f, 200) * 1e6:9.1f} us")
    print(f"\n{'hostile text':22}{'refused in':>14}{'share of 10 ms':>16}")
    for label, text in HOSTILE.items():
        took = best(lambda t=text: _refused(t), 5) / 2  # type: ignore[misc]
        print(f"{label:22}{took * 1e3:11.3f} ms{took / 10e-3:15.1%}")
    print(f"\n{len(dimensions())} dimensions")


if __name__ == "__main__":
    main()
