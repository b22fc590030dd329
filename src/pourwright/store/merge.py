"""Two changes of one job put together: table by table, key by key, named pieces by their name."""

from __future__ import annotations

from typing import Any

GONE = object()
"""Stands where a key is missing."""


class Contradiction(Exception):
    """Both changed the same thing, to different values; `path` [-] says where."""

    def __init__(self, path: str) -> None:
        super().__init__(path)
        self.path = path


def merged(base: dict[str, Any], mine: dict[str, Any], theirs: dict[str, Any]) -> dict[str, Any]:
    """`mine` and `theirs`, both grown from `base`, as one document.

    Tables are put together key by key. Lists whose members have names of their own (surfaces,
    cut-outs) are put together by name, in the order of `theirs`, what only `mine` has behind its
    neighbour there; other lists count as one value. The revision number is theirs.

    Parameters
    ----------
    base, mine, theirs : dict [-]
        Plain data.

    Returns
    -------
    dict [-]

    Raises
    ------
    Contradiction
        Both changed the same thing to different values.
    """
    bare = [{k: v for k, v in d.items() if k != "revision"} for d in (base, mine, theirs)]
    found = _tables(bare[0], bare[1], bare[2], "")
    return found if "revision" not in theirs else {**found, "revision": theirs["revision"]}


def _pick(base: Any, mine: Any, theirs: Any, path: str) -> Any:
    if mine == theirs or theirs == base:
        return mine
    if mine == base:
        return theirs
    if isinstance(mine, dict) and isinstance(theirs, dict):
        return _tables(base if isinstance(base, dict) else {}, mine, theirs, path)
    old, one, other = _by_name([] if base is GONE else base), _by_name(mine), _by_name(theirs)
    if old is None or one is None or other is None:
        raise Contradiction(path)
    return list(_tables(old, one, other, path).values())


def _tables(
    base: dict[str, Any], mine: dict[str, Any], theirs: dict[str, Any], path: str
) -> dict[str, Any]:
    out = {}
    for key in _order(list(mine), list(theirs)):
        at = f"{path}.{key}" if path else key
        chosen = _pick(base.get(key, GONE), mine.get(key, GONE), theirs.get(key, GONE), at)
        if chosen is not GONE:
            out[key] = chosen
    return out


def _order(mine: list[str], theirs: list[str]) -> list[str]:
    """The keys of `theirs` [-] in their order; each that only `mine` has behind its neighbour."""
    out, before = list(theirs), -1
    for key in mine:
        if key not in theirs:
            out.insert(before + 1, key)
        before = out.index(key)
    return out


def _by_name(value: Any) -> dict[str, Any] | None:
    if not isinstance(value, list):
        return None
    out: dict[str, Any] = {}
    for item in value:
        name = item.get("name") if isinstance(item, dict) else None
        if not isinstance(name, str) or name in out:
            return None
        out[name] = item
    return out


__all__ = ["Contradiction", "merged"]
