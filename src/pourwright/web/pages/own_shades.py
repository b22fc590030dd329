"""Shades of a job's own: a matched colour kept as a recipe in the job's products file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from pourwright.errors import InputError
from pourwright.web.pages.words import Words
from pourwright.words import say

FILE = "products/own-shades.toml"
MOST = 24


def own_shades(files: Mapping[str, str]) -> list[tuple[str, str]]:
    """Identifier and name [-] of every shade that a job's own `files` bring along."""
    out = []
    for text in files.values():
        try:
            data = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, RecursionError):
            continue
        for m in data.get("material", []) if isinstance(data.get("material"), list) else []:
            if isinstance(m, dict) and m.get("kind") == "shade":
                out.append((str(m.get("id", "")), str(m.get("name", ""))))
    return out


def with_shade(
    document: dict[str, Any],
    files: Mapping[str, str],
    name: str,
    doses: Mapping[str, float],
    film_m: float,
    about: str,
) -> tuple[dict[str, Any], dict[str, str], str]:
    """A job `document` and its `files` with one more shade of its own [-].

    `name` is what it is called, `doses` its pastes [g/kg of mixed resin], `film_m` the film it was
    matched for [m], `about` where it comes from. Returns document, files and the shade's
    identifier. Raises `InputError` for a name that cannot be.
    """
    import tomlkit

    said = " ".join(name.split())
    stem = re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")[:40]
    if not stem or not stem[0].isalpha():
        raise InputError("own.name", name, "it starts with a letter", "Call it, say, Reed green.")
    kept = tomlkit.parse(files.get(FILE, ""))
    rows = kept.get("material")
    if rows is None:
        rows = tomlkit.aot()
        kept["material"] = rows
    from pourwright import catalogue

    taken = {i for i, _ in own_shades(files)} | set(catalogue.load([]).ids("shade"))
    ident, n = stem, 2
    while ident in taken or ident == "clear":
        ident, n = f"{stem}-{n}", n + 1
    if len(rows) >= MOST:
        raise InputError(
            "own.name",
            name,
            say("{most} shades of its own are kept", most=MOST),
            "Use one of them.",
        )
    row = tomlkit.table()
    row.update({"id": ident, "kind": "shade", "name": said[:60], "summary": about[:200],
                "cautions": [], "notes": []})  # fmt: skip
    pastes = tomlkit.inline_table()
    pastes.update({k: round(float(v), 4) for k, v in doses.items() if v > 5e-5})
    row["facts"] = {"role": "colour", "paste_g_per_kg": pastes}
    film = tomlkit.inline_table()
    film.update({"value": round(film_m, 6), "low": round(film_m * 0.6, 6),
                 "high": round(film_m * 1.6, 6), "mark": "computed",
                 "source": "matched for this job's film"})  # fmt: skip
    row["properties"] = {"film_m": film}
    rows.append(row)
    products = list(document.get("products") or [])
    if FILE not in products:
        products.append(FILE)
    return {**document, "products": products}, {**files, FILE: tomlkit.dumps(kept)}, ident


def options(files: Mapping[str, str], listed: list[tuple[str, str]], words: Words) -> Any:
    """Shades to choose from [-]: those `listed` of the catalogue and the job's own, told apart."""
    own = [(i, f"{name} ({words('finish.own')})") for i, name in own_shades(files)]
    return [*own, *listed]
