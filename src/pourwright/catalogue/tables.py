"""From a TOML file to checked plain tables: texts, ids and known keys."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pourwright.errors import InputError
from pourwright.words import Own, say

_KEYS = {
    "id", "kind", "name", "summary", "cautions", "notes", "facts", "properties", "price", "like",
}  # fmt: skip
_LARGEST_FILE = 8_000_000  # bytes [-]


def read_tables(path: Path) -> list[dict[str, Any]]:
    """The ``[[material]]`` tables of a TOML file.

    Parameters
    ----------
    path : Path [-]
        The file, at most 8 MB.

    Returns
    -------
    list of dict [-]
        Tables as written.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    where = path.name
    try:
        raw = path.read_bytes()
    except OSError as err:
        raise InputError(
            where,
            str(path),
            say("it cannot be read ({strerror})", strerror=str(err.strerror)),
            "Check its path.",
        ) from None
    if len(raw) > _LARGEST_FILE:
        raise InputError(where, str(path), "it is larger than 8 MB", "Split it.")
    try:
        data = tomllib.loads(raw.decode("utf-8"))
    except (ValueError, RecursionError) as err:
        raise InputError(
            where,
            str(path),
            say("it is not valid TOML: {err}", err=Own(str(err)[:120])),
            "Correct that line.",
        ) from None
    unknown = sorted(set(data) - {"material"})
    if unknown:
        raise InputError(
            f"{where}: {unknown[0]}",
            None,
            "a products file holds [[material]] tables only",
            "Rename it to [[material]], or take it out.",
        )
    tables = data.get("material", [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        raise InputError(where, None, "'material' is not a list of tables", "Write [[material]].")
    return tables


def text_of(table: Mapping[str, Any], key: str, where: str) -> str:
    """A non-empty text of a table.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    key : str [-]
        Key in the table.
    where : str [-]
        File and material, for the error.

    Returns
    -------
    str [-]
        The text, trimmed.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    value = table.get(key)
    if not isinstance(value, str) or not value.strip():
        raise InputError(f"{where}.{key}", value, "it is a text that is needed", "Write it.")
    return value.strip()


def texts_of(table: Mapping[str, Any], key: str, where: str) -> tuple[str, ...]:
    """A list of texts of a table.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    key : str [-]
        Key in the table.
    where : str [-]
        File and material, for the error.

    Returns
    -------
    tuple of str [-]
        The texts; empty if absent.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        raise InputError(f"{where}.{key}", value, "it is a list of texts", 'Write ["...", "..."].')
    return tuple(value)


def identity(table: Mapping[str, Any], file: str, index: int) -> str:
    """The material's id: lower-case letters, digits and hyphens.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    file : str [-]
        Name of the file.
    index : int [-]
        Place of the table in the file.

    Returns
    -------
    str [-]
        The id.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    value = table.get("id")
    ok = isinstance(value, str) and 0 < len(value) <= 60
    if not ok or not all(c in "abcdefghijklmnopqrstuvwxyz0123456789-" for c in str(value)):
        raise InputError(
            f"{file}: material[{index}].id",
            value,
            "an id has lower-case letters, digits and hyphens, 60 at most",
            "Give it one such as 'my-slow-resin'.",
        )
    return str(value)


def check_keys(table: Mapping[str, Any], where: str) -> None:
    """Refuse keys that a material table does not have.

    Parameters
    ----------
    table : mapping [-]
        One ``[[material]]`` table.
    where : str [-]
        File and material, for the error.

    Raises
    ------
    InputError
        Naming file, material and key.
    """
    for key in table:
        if key not in _KEYS:
            near = difflib.get_close_matches(key, _KEYS, n=1)
            hint = (
                say("Did you mean '{near}'?", near=near[0])
                if near
                else "Put free data under facts."
            )
            raise InputError(f"{where}.{key}", None, "this key is not known here", hint)
