"""``pourwright export JOB --as FORM -o FILE``: a job handed to other programs."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.cli import files, show
from pourwright.errors import InputError

if TYPE_CHECKING:
    from pourwright.plan import Working

FORMS = {
    "bundle": (".json",),
    "csv": (".csv", ".zip"),
    "xlsx": (".xlsx",),
    "ics": (".ics",),
    "gltf": (".gltf", ".glb"),
    "obj": (".zip", ".obj"),
    "png": (".png", ".zip"),
    "dxf": (".dxf",),
    "svg": (".svg",),
}


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML)")
    p.add_argument("--as", dest="form", required=True, choices=tuple(FORMS),
                   help="bundle: everything as one JSON; csv: one table, or all in a .zip; dxf and "
                   "svg: the core's cut plan; gltf, obj: the pieces in 3-D with the finish on "
                   "them; png: the finish of a piece from above, or of all in a .zip")  # fmt: skip
    p.add_argument("-o", "--out", required=True, help="file to write")
    p.add_argument("--record", help="record file, if not NAME.record.json beside the job")
    p.add_argument("--table", help="csv: which table (cups, steps, surfaces, ...)")
    p.add_argument("--texture", action="append", default=[], metavar="[PIECE=]FILE",
                   help="gltf, obj: this picture instead of the computed finish, for all pieces "
                   "or for one")  # fmt: skip
    p.add_argument("--plain", action="store_true",
                   help="gltf, obj: the mean colour, no picture of the finish")  # fmt: skip
    p.add_argument("--piece", help="png: which piece; the first of the largest scene if not said")
    p.add_argument("--pixel", default="1 mm", help="gltf, obj, png: pixel of the finish")
    p.add_argument("--no-photos", action="store_true", help="bundle: leave the photos out")
    p.add_argument("--happened", action="store_true",
                   help="plan from the record: what was measured and done stays")  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    out = Path(args.out)
    if out.suffix.lower() not in FORMS[args.form]:
        raise InputError(
            "-o", str(out), f"--as {args.form} writes {' or '.join(FORMS[args.form])}",
            "Name the file so.",
        )  # fmt: skip
    if out.is_dir() or not out.parent.is_dir():
        raise InputError("-o", str(out), "its folder is not there", "Name a file in a folder.")
    if out.resolve() == Path(args.job).resolve():
        raise InputError("-o", str(out), "it is the job itself", "Name another file.")
    with show.progress("planning", args.json) as tell:
        work, record = _plan(args, tell)
        data, about = _made(args, work, record, out, tell)
    if isinstance(data, dict):  # files beside each other; the model itself last
        for name, part in sorted(data.items(), key=lambda x: x[0] == out.name):
            files.write_whole(out.parent / name, part)
    else:
        files.write_whole(out, data)
    if args.json:
        show.print_json({"file": str(out), "form": args.form, "bytes": out.stat().st_size, **about})
    else:
        words = ", ".join(f"{v} {k.replace('_', ' ')}" for k, v in about.items())
        print(f"Written: {out} ({words})" if words else f"Written: {out}")
    return 0


def _plan(args: argparse.Namespace, tell: Any) -> tuple[Working, Any]:
    from pourwright.plan import load_job, work_out
    from pourwright.record import as_happened, read_record, record_path

    job = load_job(args.job)
    where = Path(args.record) if args.record else record_path(args.job)
    record = read_record(where) if args.record or where.exists() else None
    done = None
    if args.happened:
        if record is None:
            raise InputError("--happened", str(where), "there is no record", "Name it: --record.")
        job, done = as_happened(job, record)
    return work_out(job, Path(args.job).parent, done, tell), record


def _made(
    args: argparse.Namespace, work: Working, record: Any, out: Path, tell: Any
) -> tuple[str | bytes | dict[str, bytes], dict[str, int]]:
    if args.form == "bundle":
        from pourwright.exchange import bundle_text, pack

        bundle = pack(args.job, work.plan, args.record, photos=not args.no_photos)
        return bundle_text(bundle), {"files": len(bundle.files), "photos": len(bundle.photos)}
    if args.form in ("csv", "xlsx"):
        from pourwright.exchange import named, plan_tables, table_csv, tables_xlsx, tables_zip

        found = plan_tables(work.plan, record)
        if args.form == "xlsx":
            return tables_xlsx(found), {"sheets": len(found)}
        if out.suffix.lower() == ".zip":
            return tables_zip(found), {"tables": len(found)}
        if not args.table:
            raise InputError(
                "--table", None, "a .csv file holds one table",
                f"Name one of {', '.join(t.name for t in found)}, or write a .zip of all.",
            )  # fmt: skip
        one = named(found, args.table)
        return table_csv(one), {"rows": len(one.rows)}
    if args.form == "ics":
        from pourwright.exchange import plan_ics

        text = plan_ics(work.plan)
        return text, {"events": text.count("BEGIN:VEVENT")}
    if args.form in ("gltf", "obj"):
        return _model(args, work, out, tell)
    if args.form == "png":
        return _finish(args, work, out, tell)
    from pourwright.panel.dxf_out import plan_dxf, plan_svg

    made = plan_dxf(work.core.layout) if args.form == "dxf" else plan_svg(work.core.layout)
    return made, {"sheets": len(work.core.layout.sheets)}


def _model(
    args: argparse.Namespace, work: Working, out: Path, tell: Any
) -> tuple[bytes | dict[str, bytes], dict[str, int]]:
    from pourwright.exchange import (
        gltf,
        job_meshes,
        mean_colour,
        model_textures,
        obj_files,
        zipped,
    )

    meshes = job_meshes(work)
    names = [m.name for m in meshes]
    textures = _textures(args.texture, names)
    if not args.plain and not ("" in textures or set(names) <= set(textures)):
        textures = {**model_textures(work, _pixel(args), tell), **textures}
    about = f"{work.plan.name}, revision {work.plan.provenance.job_revision}"
    said = {"pieces": len(meshes), "textures": len(textures)}
    if args.form == "obj":
        found = obj_files(meshes, mean_colour(work), textures, out.stem, about)
        if out.suffix.lower() == ".obj":
            return {out.name if n == f"{out.stem}.obj" else n: d for n, d in found.items()}, said
        return zipped(found), said
    matte = work.ctx.job.topcoat is not None
    binary = out.suffix.lower() == ".glb"
    rough = 0.5 if matte else 0.05
    return gltf(meshes, mean_colour(work), textures, rough, about, binary), said


def _finish(
    args: argparse.Namespace, work: Working, out: Path, tell: Any
) -> tuple[bytes, dict[str, int]]:
    from pourwright.exchange import has_finish, zipped
    from pourwright.plan.picture import finish_texture, finish_textures

    if not has_finish(work):
        raise InputError(
            "colour.shades", None, "clear resin alone has no picture", "Add shades to the job."
        )
    if out.suffix.lower() == ".png":
        one = finish_texture(work, _pixel(args), piece=args.piece, tell=tell)
        wide, high = one.size_px
        return one.png(), {"wide_px": wide, "high_px": high}
    found = finish_textures(work, _pixel(args), only=args.piece, tell=tell)
    named = {f"{n.replace(' ', '-').replace('/', '-')}.png": t.png() for n, t in found.items()}
    return zipped(named), {"pieces": len(named)}


def _pixel(args: argparse.Namespace) -> float:
    from pourwright.quantities import read

    return 1e3 * read(args.pixel, "length", field="--pixel")


def _textures(given: list[str], names: list[str]) -> dict[str, bytes]:
    from pourwright.exchange.model3d import read_image

    out: dict[str, bytes] = {}
    for text in given:
        name, sign, path = text.partition("=")
        if not sign:
            name, path = "", text
        if name and name not in names:
            raise InputError("--texture", name, f"the pieces are {', '.join(names)}", "Name one.")
        out[name] = read_image(path)
    return out
