"""The finished pieces as OBJ with its material file and pictures: old, plain, read everywhere.

Corners, texture places and normals are written once for each corner of the mesh; lengths are
metres, y up, as in the glTF model. Texture places count from the lower left here.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

import numpy as np

from pourwright.errors import InputError
from pourwright.exchange.model3d import Mesh, checked_image

EPOCH = (2020, 1, 1, 0, 0, 0)
SUFFIX = {"image/png": ".png", "image/jpeg": ".jpg"}


def obj_files(
    meshes: list[Mesh],
    colour: tuple[float, float, float],
    textures: Mapping[str, bytes] | None = None,
    stem: str = "finish",
    about: str = "",
) -> dict[str, bytes]:
    """The files of an OBJ model.

    Parameters
    ----------
    meshes : list of Mesh [m]
        The pieces.
    colour : tuple of float [-]
        Linear colour of pieces without a picture.
    textures : mapping of str to bytes or None [-]
        PNG or JPEG by piece; the piece ``""`` stands for all that have none of their own.
    stem : str [-]
        Name of the files without suffix.
    about : str [-]
        A line at the head.

    Returns
    -------
    dict of str to bytes [-]
        ``stem.obj``, ``stem.mtl`` and a picture for each texture, by file name.

    Raises
    ------
    InputError
        No piece, or a picture that is none.
    """
    if not meshes:
        raise InputError("obj", None, "the job has no surface", "Add one.")
    given = dict(textures or {})
    out: dict[str, bytes] = {}
    head = f"# {' '.join(about.split())}\n# lengths in metres, y up\n"
    obj, mtl = [f"{head}mtllib {stem}.mtl\n"], [head]
    made: dict[str, str] = {}
    at = 1
    for k, m in enumerate(meshes):
        key = m.name if m.name in given else ("" if "" in given else "*")
        if key not in made:
            made[key] = f"finish-{len(made) + 1}"
            mtl.append(_material(made[key], key, colour, given, stem, out))
        obj.append(f"o piece-{k + 1}\n# {' '.join(m.name.split())}\nusemtl {made[key]}\n")
        obj += [f"v {x:.6g} {y:.6g} {z:.6g}\n" for x, y, z in m.corners]
        obj += [f"vt {u:.6g} {1.0 - v:.6g}\n" for u, v in m.places]
        obj += [f"vn {x:.6g} {y:.6g} {z:.6g}\n" for x, y, z in m.normals]
        for a, b, c in np.asarray(m.triangles, dtype=int) + at:
            obj.append(f"f {a}/{a}/{a} {b}/{b}/{b} {c}/{c}/{c}\n")
        at += len(m.corners)
    out[f"{stem}.obj"] = "".join(obj).encode("utf-8")
    out[f"{stem}.mtl"] = "".join(mtl).encode("utf-8")
    return out


def _material(
    name: str,
    key: str,
    colour: tuple[float, float, float],
    given: dict[str, bytes],
    stem: str,
    out: dict[str, bytes],
) -> str:
    lines = [f"newmtl {name}", "Ns 400", "Ks 0.04 0.04 0.04", "illum 2"]
    if key == "*":
        lines.append("Kd {:.4f} {:.4f} {:.4f}".format(*colour))
    else:
        raw, media = checked_image(given[key], f"texture of {key or 'all'}")
        file = f"{stem}-{name}{SUFFIX[media]}"
        out[file] = raw
        lines += ["Kd 1 1 1", f"map_Kd {file}"]
    return "\n".join(lines) + "\n\n"


def zipped(files: Mapping[str, bytes]) -> bytes:
    """`files` [-] as one ZIP archive, the same bytes each time."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        for name, data in files.items():
            z.writestr(zipfile.ZipInfo(name, EPOCH), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()
