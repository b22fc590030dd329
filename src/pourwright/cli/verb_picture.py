"""``pourwright picture JOB -o DIR``: what the client will see, at true scale."""

from __future__ import annotations

import argparse
from pathlib import Path

from pourwright.cli import files, show


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML)")
    p.add_argument("-o", "--out", default="out/pictures", help="folder for the PNG files")
    p.add_argument("--cell", default="4 mm", help="film cell, 1 mm to 10 mm; finer is slower")
    p.add_argument("--pixel", default="1 mm", help="picture pixel, 0.3 mm to 5 mm")
    p.add_argument("--seeds", default="1,2,3", help="seeds of the board's variants; none to skip")
    p.add_argument(
        "--as-it-leans", action="store_true", help="pour as the site leans, not wedged level"
    )
    p.add_argument("--only", help="draw only the scene with this name")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.errors import InputError
    from pourwright.plan import load_job, work_out
    from pourwright.quantities import read

    cell = read(args.cell, "length", field="--cell")
    pixel = read(args.pixel, "length", field="--pixel")
    if not 0.0009 <= cell <= 0.0101:
        raise InputError("--cell", args.cell, "it is 1 mm to 10 mm", "4 mm is usual.")
    if not 0.00029 <= pixel <= 0.0051:
        raise InputError("--pixel", args.pixel, "it is 0.3 mm to 5 mm", "1 mm is usual.")
    seeds = _seeds(args.seeds)
    job = load_job(args.job)
    _early(job, Path(args.job).parent, args.only)
    out = files.folder(args.out)
    with show.progress("planning", args.json) as tell:
        work = work_out(job, Path(args.job).parent, tell=tell)
        written, notes = draw_all(work, out, cell, pixel, seeds, args.only, tell, args.as_it_leans)
    if args.json:
        show.print_json({"written": [str(p) for p in written], "notes": notes})
    else:
        for line in notes:
            print(line)
        print("Written: " + ", ".join(str(p) for p in written))
    return 0


def _early(job, folder: Path, only: str | None) -> None:
    """What can be refused before planning is: the score and the scene's name."""
    from pourwright.errors import InputError
    from pourwright.plan import picture
    from pourwright.plan.context import Context

    ctx = Context(job, folder)
    picture.score_of(ctx)
    names = [s.name for s in picture.scenes(ctx)]
    if only is not None and only not in names:
        limit = f"the scenes are {', '.join(names)}"
        raise InputError("--only", only, limit, "Use one of these names.")


def _seeds(text: str) -> tuple[int, ...]:
    from pourwright.errors import InputError

    if text.strip().lower() in ("", "none"):
        return ()
    parts = text.split(",")
    if len(parts) > 8 or not all(p.strip().isdigit() and len(p.strip()) < 10 for p in parts):
        raise InputError("--seeds", text, "one to eight whole numbers", "Write for example 1,2,3.")
    return tuple(int(p) for p in parts)


def draw_all(work, out, cell, pixel, seeds, only, tell, leaning=False):
    """Draw every scene of `work` into the folder `out`.

    `cell` and `pixel` [m] are how fine, `seeds` [-] the board's variants, `only` [-] one scene's
    name or None, `tell` a progress function, `leaning` as the site leans. Returns the paths and notes [-].
    """
    from pourwright.pattern import separation
    from pourwright.plan import picture
    from pourwright.plan.colours import optics_of

    ctx, timed = work.ctx, work.timed
    todo = picture.scenes(ctx, leaning)
    if only is not None:
        todo = [s for s in todo if s.name == only]
    written, notes = [], []
    for k, scene in enumerate(todo):

        def part(share: float, words: str, k: int = k) -> None:
            tell((k + share) / len(todo), words)

        fine = min(pixel, 0.0006) if scene.board else pixel
        grid = min(cell, 0.001) if scene.board else cell
        done = picture.draw(ctx, timed, scene, cell=grid, pixel=fine, tell=part)
        name = scene.name.replace(" ", "-")
        written.append(picture.save(done.sheet, out / f"picture-{name}.png", fine))
        if not scene.board:
            edges = picture.edges_of(ctx, done)
            if edges is not None:
                written.append(picture.save(edges, out / f"edges-{name}.png", 0.0005))
            view = picture.lit_view(ctx, done)
            written.append(picture.save(view, out / f"view-{name}.png"))
            if k == 0:
                written.append(out / "finish.jpg")
                files.write_whole(written[-1], picture.as_jpeg(view))
        found = separation(done.played, optics_of(ctx))
        notes.append(f"{scene.name}: {found.words}")
        if scene.board and seeds:
            sheet = picture.board_variants(ctx, timed, scene, seeds)
            written.append(picture.save(sheet, out / f"variants-{name}.png"))
    return written, notes
