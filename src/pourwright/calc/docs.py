"""Reference pages written from the registry, one a room, so that docs and code cannot part."""

from __future__ import annotations

import json
from typing import Any

from pourwright.calc.registry import Calculation, get, names


def reference_pages() -> dict[str, str]:
    """One Markdown page per room [-]: name to text, from every registered calculation."""
    rooms: dict[str, list[Calculation]] = {}
    for name in names():
        rooms.setdefault(name.partition(".")[0], []).append(get(name))
    return {room: _page(room, calcs) for room, calcs in sorted(rooms.items())}


def _page(room: str, calcs: list[Calculation]) -> str:
    out = [
        f"# Calculations: {room}",
        "",
        "Written from the registry by `make docs-pictures`. Run one with "
        f"`pourwright calc NAME < in.json`, for example `pourwright calc {calcs[0].name} --example`.",
    ]
    for c in calcs:
        out += ["", f"## {c.name}: {c.title}", "", c.question, "", f"Holds for: {c.validity}"]
        out += _fields("Input", c.input_model.model_json_schema())
        out += _fields("Value", c.value_model.model_json_schema())
        out += ["", "Sources:", ""] + [f"- {s}" for s in c.sources]
        out += [""] + [f"> Caution: {w}" for w in c.cautions] if c.cautions else []
        out += ["", "Example input:", "", "```json"]
        out += [json.dumps(c.example, ensure_ascii=False, indent=1), "```"]
    return "\n".join(out) + "\n"


def _fields(title: str, schema: dict[str, Any]) -> list[str]:
    needed = set(schema.get("required", ()))
    rows = []
    for key, f in schema.get("properties", {}).items():
        what = " ".join(str(f.get("description", "")).split()).replace("|", "/")
        default = "" if key in needed or title == "Value" else _shown(f.get("default"))
        rows.append(
            f"| `{key}` | {what} | {default} |" if title == "Input" else f"| `{key}` | {what} |"
        )
    head = "| key | what | when left out |" if title == "Input" else "| key | what |"
    return ["", f"{title}:", "", head, "|---|---|---|" if title == "Input" else "|---|---|", *rows]


def _shown(value: Any) -> str:
    if value is None:
        return "not used"
    text = json.dumps(value, ensure_ascii=False)
    return f"`{text}`" if len(text) < 60 else "the usual set"
