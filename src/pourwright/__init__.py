"""Pourwright: plans, times, pictures and documents poured self-levelling resin surfaces.

``from pourwright import load_job, plan_job`` is the whole of the facade; the house's floors are
described in each package's own docstring and in docs/house.md.
"""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"
__all__ = ["__version__", "load_job", "plan_job"]


def __getattr__(name: str) -> Any:
    if name in ("load_job", "plan_job"):
        from pourwright import plan

        return getattr(plan, name)
    raise AttributeError(f"module 'pourwright' has no attribute {name!r}")
