"""``pourwright papers JOB -o DIR``: write the papers of a job as PDF files."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.cli import files, show

if TYPE_CHECKING:
    from pourwright.plan import Job, Working

LARGEST_PICTURE = 40_000_000  # bytes


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML)")
    p.add_argument("-o", "--out", required=True, help="folder to write the PDF files to")
    p.add_argument(
        "--only",
        metavar="NAME,...",
        help="only these: quote, board, shopping, cuts, cups, labels, runsheet, checks, safety, "
        "care, record, costs, pack",
    )
    p.add_argument("--picture", metavar="FILE",
                   help="PNG or JPEG of the finish to print instead of the computed one")  # fmt: skip
    p.add_argument("--photo", metavar="FILE", action="append", default=[],
                   help="PNG or JPEG of the place for the job record; may be given six times")  # fmt: skip
    p.add_argument("--no-picture", action="store_true", help="print no picture of the finish")
    p.add_argument("--paper", choices=("a4", "letter"), help="paper size, whatever the job says")
    p.add_argument(
        "--no-options", action="store_true", help="leave the job's options out of the quote"
    )


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.exchange import paper_pictures
    from pourwright.papers.costing import cost_job
    from pourwright.papers.options import price_options
    from pourwright.papers.pack import papers_of
    from pourwright.plan import load_job, work_out

    job = with_paper(load_job(args.job), args.paper)
    only = None
    if args.only is not None:
        only = [name.strip() for name in args.only.split(",") if name.strip()]
        check_names(only)
    picture, board = read_picture(args.picture) if args.picture else None, None
    photos = [(Path(f).stem.replace("-", " ").replace("_", " "), read_picture(f, "--photo"))
              for f in args.photo]  # fmt: skip
    out = files.folder(args.out)
    with show.progress("papers", args.json) as tell:
        work = work_out(job, Path(args.job).parent, tell=lambda x, w: tell(0.3 * x, w))
        costing = cost_job(work)
        options = []
        if not args.no_options and (only is None or {"quote", "pack"} & set(only)):
            options = price_options(work, costing, lambda x, w: tell(0.3 + 0.3 * x, w))
        if not args.no_picture and (only is None or {"quote", "board", "pack"} & set(only)):
            drawn = paper_pictures(work, lambda x, w: tell(0.6 + 0.3 * x, w), picture is None)
            picture, board = picture or drawn[0], drawn[1]
        tell(0.9, "setting the pages")
        papers = papers_of(work, only, picture=picture, board=board, options=options,
                           costing=costing, photos=photos)  # fmt: skip
        for name, data in papers.items():
            files.write_whole(out / f"{name}.pdf", data)
        tell(1.0, "done")
    written = [out / f"{name}.pdf" for name in papers]
    if args.json:
        show.print_json({"written": [str(p) for p in written], "warnings": costing.warnings})
    else:
        report(work, written, costing.warnings)
    return 0


def check_names(only: list[str]) -> None:
    """Refuse names [-] that are no papers before anything is planned."""
    from pourwright.errors import InputError
    from pourwright.papers.pack import PAPERS

    if not only:
        raise InputError("--only", "", "at least one paper", "Name one, or leave it out.")
    for name in only:
        if name not in PAPERS and name != "pack":
            raise InputError("--only", name, f"one of {', '.join(PAPERS)}, pack", "Choose one.")


def with_paper(job: Job, paper: str | None) -> Job:
    """The `job` [-] on the `paper` size asked for; the job itself says it when None."""
    if paper is None:
        return job
    return job.model_copy(update={"show": job.show.model_copy(update={"paper": paper})})


def read_picture(path: str, field: str = "--picture") -> bytes:
    """The picture file `path` [-] given as `field`; refuses what is not there or over 40 MB."""
    from pourwright.errors import InputError

    p = Path(path)
    try:
        if p.stat().st_size > LARGEST_PICTURE:
            raise InputError(field, path, "at most 40 MB", "Make it smaller.")
        return p.read_bytes()
    except FileNotFoundError:
        raise InputError(field, path, "there is no such file", "Check the path.") from None
    except OSError as err:
        raise InputError(field, path, err.strerror or "unreadable", "Check it.") from None


def report(work: Working, written: list[Path], warnings: list[str]) -> None:
    """Print what was written [-] for a planned job `work` [-], and the `warnings` [-]."""
    from pourwright.papers.pack import PAPERS

    print(f"{work.plan.name}: papers")
    print()
    rows = []
    for path in written:
        title, use = PAPERS.get(path.stem, ("All papers", "one file, without the cost sheet"))
        rows.append([title, use, str(path)])
    show.table("Written", ["paper", "for", "file"], rows)
    for w in warnings:
        print(f"\nMind: {w}")
