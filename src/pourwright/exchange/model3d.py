"""The finished pieces as a 3-D model: glTF 2.0, one file with the picture of the finish inside.

Each surface is its outline with its cut-outs as the top, the turned-down strips of its free and
waterfall edges as faces, and a plain underside. Units are metres, y up, as glTF has it (Khronos
Group, glTF 2.0 specification, ISO/IEC 12113:2022). Written by a small writer of our own.
"""

from __future__ import annotations

import base64
import io
import json
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.plan import Working
    from pourwright.survey.surface import Surface

_Array = NDArray[np.float64]
GAP_M = 0.15  # between pieces that have no place of their own [m]
LARGEST_IMAGE = 40_000_000  # bytes
CHORD_M = 2e-4


@dataclass(frozen=True)
class Mesh:
    """Triangles of one piece: corners [m] (n, 3), normals [-] (n, 3), texture places [-] (n, 2),
    triangles (m, 3). x right, y up, z towards the viewer; texture from its top left."""

    name: str
    corners: _Array
    normals: _Array
    places: _Array
    triangles: NDArray[np.uint32]


def piece_mesh(surface: Surface, thickness: float, shift: tuple[float, float] = (0, 0)) -> Mesh:
    """The mesh of one surface.

    Parameters
    ----------
    surface : Surface [m]
        From the survey.
    thickness : float [m]
        Of the core, for edges without a drop.
    shift : tuple of float [m]
        Where its origin lies in the model.

    Returns
    -------
    Mesh [m]
        The top spans the texture (its bounding box); side faces carry the texture's rim on.
    """
    from shapely import constrained_delaunay_triangles
    from shapely.geometry.polygon import orient

    poly = orient(surface.polygon, 1.0)
    x0, y0, x1, y1 = poly.bounds
    drop = max(
        [thickness, *(e.profile.drop for e in surface.edges if e.kind in ("free", "waterfall"))]
    )
    corners: list[tuple[float, float, float]] = []
    normals: list[tuple[float, float, float]] = []
    places: list[tuple[float, float]] = []
    triangles: list[tuple[int, int, int]] = []

    def put(x: float, y: float, down: float, normal: tuple[float, float, float]) -> int:
        corners.append((x + shift[0], -down, -(y + shift[1])))
        normals.append(normal)
        places.append(((x - x0) / (x1 - x0), (y1 - y) / (y1 - y0)))
        return len(corners) - 1

    for part in constrained_delaunay_triangles(poly).geoms:
        ring = list(orient(part, 1.0).exterior.coords)[:3]
        triangles.append(tuple(put(x, y, 0.0, (0, 1, 0)) for x, y in ring))  # type: ignore[arg-type]
        under = tuple(put(x, y, drop, (0, -1, 0)) for x, y in reversed(ring))
        triangles.append(under)  # type: ignore[arg-type]
    for ring in (poly.exterior, *poly.interiors):
        points = list(ring.coords)
        for (ax, ay), (bx, by) in pairwise(points):
            length = float(np.hypot(bx - ax, by - ay))
            if length < 1e-9:
                continue
            # outside is to the right of a ring that keeps the piece on its left
            n = ((by - ay) / length, 0.0, (bx - ax) / length)
            a, b = put(ax, ay, 0.0, n), put(bx, by, 0.0, n)
            c, d = put(bx, by, drop, n), put(ax, ay, drop, n)
            triangles += [(a, d, c), (a, c, b)]
    return Mesh(
        surface.name,
        np.array(corners),
        np.array(normals, dtype=float),
        np.array(places),
        np.array(triangles, dtype=np.uint32),
    )


def job_meshes(work: Working) -> list[Mesh]:
    """Meshes [m] of all pieces of a planned job, boards left out; side by side unless placed."""
    out, at = [], 0.0
    thickness = work.ctx.job.core.thickness
    for s in work.ctx.survey.surfaces:
        if s.purpose == "board":
            continue
        for k in range(s.count):
            mesh = piece_mesh(s, thickness)
            wide = float(np.ptp(mesh.corners[:, 0]))
            low = float(mesh.corners[:, 0].min())
            moved = mesh.corners + np.array([at - low, 0.0, 0.0])
            name = s.name if s.count == 1 else f"{s.name} {k + 1}"
            out.append(Mesh(name, moved, mesh.normals, mesh.places, mesh.triangles))
            at += wide + GAP_M
    return out


def mean_colour(work: Working) -> tuple[float, float, float]:
    """The shades of the job by their shares as one colour, linear light [-]."""
    rgb = np.zeros(3)
    total = 0.0
    for s in work.plan.shades:
        swatch = next(iter(s.swatches.values()), "#8a8a8a")
        code = np.array([int(swatch[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
        linear = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
        rgb += s.share_percent * linear
        total += s.share_percent
    if total <= 0:
        return (0.5, 0.5, 0.5)
    r, g, b = (float(v) for v in rgb / total)
    return (r, g, b)


def checked_image(raw: bytes, name: str = "texture") -> tuple[bytes, str]:
    """A PNG or JPEG for a model, and its media type [-]; raises `InputError`."""
    from PIL import Image

    if len(raw) > LARGEST_IMAGE:
        raise InputError(name, f"{len(raw) / 1e6:.0f} MB", "at most 40 MB", "Make it smaller.")
    try:
        with Image.open(io.BytesIO(raw), formats=("PNG", "JPEG")) as im:
            if max(im.size) > 16_384:
                raise InputError(name, f"{im.size}", "at most 16384 pixels", "Make it smaller.")
            im.load()
            kind = "image/png" if im.format == "PNG" else "image/jpeg"
    except InputError:
        raise
    except Exception as err:
        words = " ".join(str(err).split())[:80]
        raise InputError(
            name,
            f"{len(raw)} bytes",
            say("no PNG or JPEG ({words})", words=words),
            "Save it as PNG.",
        ) from None
    return raw, kind


def gltf(
    meshes: list[Mesh],
    colour: tuple[float, float, float] = (0.5, 0.5, 0.5),
    textures: Mapping[str, bytes] | None = None,
    roughness: float = 0.05,
    about: str = "",
    binary: bool = False,
) -> bytes:
    """A glTF 2.0 file.

    Parameters
    ----------
    meshes : list of Mesh [m]
        The pieces.
    colour : tuple of float [-]
        Linear base colour of pieces without a picture.
    textures : mapping of str to bytes or None [-]
        PNG or JPEG by piece; the piece ``""`` stands for all that have none of their own.
    roughness : float [-]
        0.05 for gloss, 0.5 for matte.
    about : str [-]
        Kept under ``asset.extras``.
    binary : bool [-]
        True gives the binary form (.glb), False JSON with everything embedded (.gltf).

    Returns
    -------
    bytes [-]

    Raises
    ------
    InputError
        No piece, or a picture that is none.
    """
    if not meshes:
        raise InputError("gltf", None, "the job has no surface", "Add one.")
    blob = bytearray()
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []

    def view(data: bytes, target: int | None) -> int:
        blob.extend(b"\0" * (-len(blob) % 4))
        entry = {"buffer": 0, "byteOffset": len(blob), "byteLength": len(data)}
        if target:
            entry["target"] = target
        blob.extend(data)
        views.append(entry)
        return len(views) - 1

    def accessor(a: NDArray[Any], kind: str, target: int, bounds: bool = False) -> int:
        code = 5125 if a.dtype == np.uint32 else 5126
        entry: dict[str, Any] = {
            "bufferView": view(a.tobytes(), target), "componentType": code,
            "count": len(a) if kind != "SCALAR" else a.size, "type": kind,
        }  # fmt: skip
        if bounds:
            entry["min"] = [float(v) for v in a.min(axis=0)]
            entry["max"] = [float(v) for v in a.max(axis=0)]
        accessors.append(entry)
        return len(accessors) - 1

    images: list[dict[str, Any]] = []
    materials: list[dict[str, Any]] = []
    known: dict[str, int] = {}
    given = dict(textures or {})

    def material(name: str) -> int:
        key = name if name in given else ("" if "" in given else "*")
        if key in known:
            return known[key]
        pbr: dict[str, Any] = {"metallicFactor": 0.0, "roughnessFactor": roughness}
        if key == "*":
            pbr["baseColorFactor"] = [*colour, 1.0]
        else:
            raw, media = checked_image(given[key], f"texture of {key or 'all'}")
            images.append({"bufferView": view(raw, None), "mimeType": media})
            pbr["baseColorTexture"] = {"index": len(images) - 1}
        materials.append({"name": key.strip("*") or "resin", "pbrMetallicRoughness": pbr})
        known[key] = len(materials) - 1
        return known[key]

    nodes, shapes = [], []
    for k, m in enumerate(meshes):
        places = accessor(m.corners.astype(np.float32), "VEC3", 34962, bounds=True)
        normal = accessor(m.normals.astype(np.float32), "VEC3", 34962)
        uv = accessor(m.places.astype(np.float32), "VEC2", 34962)
        index = accessor(m.triangles.reshape(-1).astype(np.uint32), "SCALAR", 34963)
        shapes.append(
            {
                "name": m.name,
                "primitives": [
                    {
                        "attributes": {"POSITION": places, "NORMAL": normal, "TEXCOORD_0": uv},
                        "indices": index,
                        "material": material(m.name),
                    }
                ],
            }
        )
        nodes.append({"name": m.name, "mesh": k})
    blob.extend(b"\0" * (-len(blob) % 4))
    document: dict[str, Any] = {
        "asset": {"version": "2.0", "generator": "Pourwright", "extras": {"about": about}},
        "scene": 0,
        "scenes": [{"nodes": list(range(len(nodes)))}],
        "nodes": nodes,
        "meshes": shapes,
        "materials": materials,
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(blob)}],
    }
    if images:
        document["images"] = images
        document["samplers"] = [{"wrapS": 33071, "wrapT": 33071}]
        document["textures"] = [{"source": i, "sampler": 0} for i in range(len(images))]
    if not binary:
        data = base64.b64encode(bytes(blob)).decode("ascii")
        document["buffers"][0]["uri"] = f"data:application/octet-stream;base64,{data}"
        return (json.dumps(document, ensure_ascii=False) + "\n").encode("utf-8")
    text = json.dumps(document, ensure_ascii=False).encode("utf-8")
    text += b" " * (-len(text) % 4)
    whole = 12 + 8 + len(text) + 8 + len(blob)
    return b"".join(
        [
            struct.pack("<4sII", b"glTF", 2, whole),
            struct.pack("<I4s", len(text), b"JSON"), text,
            struct.pack("<I4s", len(blob), b"BIN\0"), bytes(blob),
        ]
    )  # fmt: skip


def read_image(path: str | Path) -> bytes:
    """The bytes of the picture file `path` [-]; raises `InputError`."""
    p = Path(path)
    try:
        if p.stat().st_size > LARGEST_IMAGE:
            raise InputError("--texture", str(p), "at most 40 MB", "Make it smaller.")
        return p.read_bytes()
    except OSError as err:
        raise InputError(
            "--texture", str(p), err.strerror or "it cannot be read", "Check the path."
        ) from None
