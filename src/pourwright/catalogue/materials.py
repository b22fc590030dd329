"""The catalogue: generic materials from the package, a user's own products over them."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from pourwright.catalogue import parse, tables
from pourwright.catalogue.model import Material
from pourwright.errors import InputError
from pourwright.words import say

DATA = Path(__file__).parent / "data"
KINDS = (
    "resin", "primer", "topcoat", "core", "shade", "colorant", "sheet", "set", "consumable",
)  # fmt: skip
OPTIONAL = {"colorant": ("load_limit_share",)}
"""What a product of a kind may state though no generic material does [-]: its own data sheet's."""
LISTED = ("rule", "criterion")
"""Kinds whose entries are asked for by name [-]: a user changes their figures and adds none."""


@cache
def _files_by_kind() -> dict[str, tuple[Path, ...]]:
    """Data files by kind, small ones first; a file is named for its kind (``cores.toml``)."""
    found: dict[str, list[Path]] = {}
    for path in sorted(DATA.glob("*.toml")):
        stem = path.stem.replace("-", "_").partition("_")[0]
        found.setdefault(stem.removesuffix("s"), []).append(path)
    size = {kind: sum(p.stat().st_size for p in paths) for kind, paths in found.items()}
    return {kind: tuple(found[kind]) for kind in sorted(found, key=size.__getitem__)}


@cache
def _shipped(kind: str) -> dict[str, Material]:
    """The materials of one kind that come with the package, by id."""
    out: dict[str, Material] = {}
    for path in _files_by_kind().get(kind, ()):
        for index, table in enumerate(tables.read_tables(path)):
            material = parse.material_of(table, path.name, index)
            if material.kind != kind:
                raise InputError(
                    f"{path.name}: {material.id}.kind",
                    material.kind,
                    say("this file holds the kind '{kind}'", kind=kind),
                    "Move it to the file of its kind.",
                )
            if material.id in out:
                raise InputError(
                    f"{path.name}: {material.id}", None, "its id is there twice", "Rename one."
                )
            out[material.id] = material
    return out


class Catalogue:
    """Materials by id and kind; kinds are read when first asked for."""

    def __init__(self, own: Mapping[str, Material] | None = None) -> None:
        self._own: dict[str, Material] = dict(own or {})

    def kinds(self) -> list[str]:
        """The kinds that have a material [-], sorted."""
        return sorted(set(_files_by_kind()) | {m.kind for m in self._own.values()})

    def of_kind(self, kind: str) -> list[Material]:
        """All materials of `kind` [-], in the order of their files, a user's new ones last.

        Raises `InputError` for a kind that does not exist.
        """
        if kind not in self.kinds():
            raise InputError(
                "kind", kind, "there is no such kind of material", _suggest(kind, self.kinds())
            )
        merged = dict(_shipped(kind))
        merged.update({i: m for i, m in self._own.items() if m.kind == kind})
        return list(merged.values())

    def ids(self, kind: str | None = None) -> list[str]:
        """The ids of all materials [-], or of those of `kind`."""
        return [m.id for k in ([kind] if kind else self.kinds()) for m in self.of_kind(k)]

    def get(self, ident: str, kind: str | None = None, field: str = "material") -> Material:
        """The material called `ident` [-], which must be of `kind` if one is given.

        `field` [-] is the path named in the error. Raises `InputError` with the nearest id.
        """
        found = self._own.get(ident) if isinstance(ident, str) else None
        for each in _files_by_kind() if found is None else ():
            if (found := _shipped(each).get(ident)) is not None:
                break
        if found is None:
            raise InputError(
                field,
                ident,
                say("it is not in the catalogue of kind '{kind}'", kind=kind)
                if kind
                else "it is not in the catalogue",
                _suggest(str(ident), self.ids(kind)),
            )
        if kind is not None and found.kind != kind:
            raise InputError(
                field,
                ident,
                say(
                    "it is of kind '{kind}' and a '{kind2}' is needed", kind=found.kind, kind2=kind
                ),
                _suggest(ident, self.ids(kind)),
            )
        return found

    def __contains__(self, ident: object) -> bool:
        """Whether a material has this id [-]."""
        return ident in self._own or any(ident in _shipped(k) for k in _files_by_kind())

    def needed(self, kind: str) -> list[str]:
        """Property keys that every shipped material of `kind` has [-]: what a new one needs."""
        keys = [list(m.properties) for m in _shipped(kind).values()]
        return [k for k in keys[0] if all(k in other for other in keys)] if keys else []

    def with_files(self, files: Iterable[str | Path]) -> Catalogue:
        """A new catalogue with the products of `files` [-] over this one, which is unchanged.

        Raises `InputError` naming file, material and key; then nothing is taken over.
        """
        own = dict(self._own)
        for name in files:
            path = Path(name)
            seen: set[str] = set()
            for index, table in enumerate(tables.read_tables(path)):
                ident = tables.identity(table, path.name, index)
                if ident in seen:
                    raise InputError(
                        f"{path.name}: {ident}", None, "its id is there twice", "Rename one."
                    )
                seen.add(ident)
                own[ident] = Catalogue(own)._merged(table, ident, path.name)
        return Catalogue(own)

    def _merged(self, table: dict[str, Any], ident: str, file: str) -> Material:
        where = f"{file}: {ident}"
        tables.check_keys(table, where)
        base = self.get(ident) if ident in self else None
        if base is None and "like" in table:
            base = self.get(tables.text_of(table, "like", where), field=f"{where}.like")
        kind = tables.text_of(table, "kind", where) if base is None else base.kind
        if base is not None and table.get("kind", kind) != kind:
            raise InputError(
                f"{where}.kind",
                table["kind"],
                say("'{id}' is of kind '{kind}'", id=base.id, kind=kind),
                "Correct it.",
            )
        if kind not in self.kinds():
            raise InputError(
                f"{where}.kind", kind, "there is no such kind", _suggest(kind, self.kinds())
            )
        if kind in LISTED and ident not in self:
            raise InputError(
                where,
                ident,
                say("no {kind} of this name is asked for anywhere", kind=kind),
                _suggest(ident, self.ids(kind)),
            )
        given = parse.properties_of(table, where, "user", f"product file {file}")
        self._check_known(given, kind, base, where)
        properties = {**(base.properties if base else {}), **given}
        missing = [k for k in self.needed(kind) if k not in properties]
        if missing:
            raise InputError(
                where,
                None,
                say("a {kind} needs {names}", kind=kind, names=", ".join(missing)),
                "Add them from the data sheet, or name a generic material to start from with"
                " like = '...'.",
            )
        texts = {
            key: tables.text_of(table, key, where) if base is None or key in table else None
            for key in ("name", "summary")
        }
        notes = tables.texts_of(table, "notes", where)
        bare = [k for k, p in given.items() if p.exact]
        if bare:
            notes += (f"No range was given for {', '.join(bare)}; taken as exact.",)
        start = base or Material(ident, kind, "", "", {})
        return replace(
            start,
            id=ident,
            name=texts["name"] or start.name,
            summary=texts["summary"] or start.summary,
            properties=properties,
            facts={**start.facts, **parse.facts_of(table, where)},
            cautions=_added(start.cautions, tables.texts_of(table, "cautions", where)),
            notes=_added(start.notes, notes),
            origin="user",
            price=parse.price_of(table, where, "user", f"product file {file}") or start.price,
        )

    def _check_known(
        self, given: Mapping[str, Any], kind: str, base: Material | None, where: str
    ) -> None:
        known = set(base.properties if base else ())
        if kind not in LISTED:
            known |= {k for m in _shipped(kind).values() for k in m.properties}
            known |= set(OPTIONAL.get(kind, ()))
        for key in given:
            if key not in known and known:
                raise InputError(
                    f"{where}.{key}",
                    None,
                    say("no {kind} has a property of this name", kind=kind),
                    _suggest(key, sorted(known)),
                )


def _added(first: tuple[str, ...], more: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(first + more))


def _suggest(word: str, known: list[str]) -> str:
    near = difflib.get_close_matches(str(word)[:80], known, n=2, cutoff=0.4)
    if near:
        if len(near) > 1:
            return say("Did you mean '{near}' or '{other}'?", near=near[0], other=near[1])
        return say("Did you mean '{near}'?", near=near[0])
    listed = ", ".join(known[:12]) + (", ..." if len(known) > 12 else "")
    return say("Use one of: {listed}.", listed=listed) if listed else "The catalogue is empty."


@cache
def default() -> Catalogue:
    """The catalogue as it comes with the package [-]."""
    return Catalogue()


def load(user_files: Iterable[str | Path] = ()) -> Catalogue:
    """The catalogue, with a user's product files over it.

    Parameters
    ----------
    user_files : iterable of str or Path [-]
        TOML files with ``[[material]]`` tables; later files win.

    Returns
    -------
    Catalogue [-]
        Reads each kind when first asked for.

    Raises
    ------
    InputError
        Naming file, material and key of the first thing that cannot be used.
    """
    files = tuple(user_files)
    return default().with_files(files) if files else default()


def get(ident: str, kind: str | None = None) -> Material:
    """A shipped material by its id; see `Catalogue.get`.

    Parameters
    ----------
    ident : str [-]
        Its id.
    kind : str or None [-]
        Kind it must be of, if given.

    Returns
    -------
    Material [units by key suffix]
        The material.
    """
    return default().get(ident, kind)


def of_kind(kind: str) -> list[Material]:
    """The shipped materials of a kind; see `Catalogue.of_kind`.

    Parameters
    ----------
    kind : str [-]
        One of `Catalogue.kinds`.

    Returns
    -------
    list of Material [units by key suffix]
        In the order of their files.
    """
    return default().of_kind(kind)
