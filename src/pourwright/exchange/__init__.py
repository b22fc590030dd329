"""Exchange (floor 5): a job handed to other programs, and data of theirs taken in.

Map
---
- `tables`    a plan and its record as plain tables.
- `sheets`    tables as CSV, zipped CSV and XLSX; no cell can act as a formula.
- `calendar`  the plan as iCalendar (RFC 5545) with alarms and stable identifiers.
- `bundle`    a job with everything that belongs to it as one JSON file, exact there and back.
- `weather`   hourly weather, EPW or CSV, into a job's hourly air.
- `model3d`, `obj`  the finished pieces as glTF 2.0 and as OBJ.
- `finish`    the picture of the finish for models and papers.

Cut plans as DXF and SVG are written by `panel.dxf_out`.
"""

from __future__ import annotations

import importlib
from typing import Any

_WHERE = {
    "bundle": ("Bundle", "bundle_text", "pack", "read_bundle", "unpack"),
    "calendar": ("plan_ics",),
    "finish": ("has_finish", "model_textures", "paper_pictures"),
    "model3d": ("Mesh", "gltf", "job_meshes", "mean_colour"),
    "obj": ("obj_files", "zipped"),
    "sheets": ("guarded", "named", "table_csv", "tables_xlsx", "tables_zip"),
    "tables": ("Table", "plan_tables"),
    "weather": ("Hourly", "read_epw", "read_weather_csv", "with_air"),
}
_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}

__all__ = sorted(_MODULE_OF)


def __getattr__(name: str) -> Any:
    if name in _MODULE_OF:
        return getattr(importlib.import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
