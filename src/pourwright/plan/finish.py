"""The finish of a job: its score, checked against the shades that are mixed."""

from __future__ import annotations

import math

from pourwright.errors import InputError
from pourwright.pattern import Score, read_score, score_from_intent
from pourwright.plan.context import Context
from pourwright.words import say

APART = 0.02
"""Shares of score and job that differ by more than this are told [-]."""


def score_of(ctx: Context) -> Score:
    """The score of a job.

    Parameters
    ----------
    ctx : Context [-]
        The job.

    Returns
    -------
    Score [-]
        From the file it names, or written from the finish's few words.

    Raises
    ------
    InputError
        A score that cannot be read, or that uses a shade the job does not mix.
    """
    finish = ctx.job.finish
    if finish.score is not None:
        score = read_score(ctx.folder / finish.score)
        mixed = {s.shade for s in ctx.job.colour.shades}
        for name in score.cups:
            if name not in mixed:
                raise InputError(
                    f"score.cups.{name}",
                    name,
                    say("the job mixes {names}", names=", ".join(sorted(mixed)) or "no shade"),
                    "Add the shade to colour.shades, or change the score.",
                )
        return score
    fields = {s.shade: s.share for s in ctx.job.colour.shades if s.part == "field"}
    if not fields:
        raise InputError(
            "colour.shades", "none", "a picture needs at least one shade", "Add the shades."
        )
    vein = next((s for s in ctx.job.colour.shades if s.part != "field"), None)
    return score_from_intent(
        fields,
        mood=finish.mood,
        scale=min(max(finish.scale * 1e3, 60.0), 3000.0),
        direction_deg=math.degrees(finish.direction),
        separate=finish.separation,
        vein=vein.shade if vein else None,
        vein_share=min(vein.share, 0.1) if vein else 0.006,
        clear="clear" if "clear" in fields else None,
        name=finish.name or ctx.job.name,
        seed=ctx.job.seed,
    )


def score_notes(ctx: Context) -> list[str]:
    """Where score and mix of job `ctx` disagree, in words [-]; raises `InputError` as `score_of`."""
    if ctx.job.finish.score is None:
        return []
    cups = score_of(ctx).cups
    whole = sum(cups.values())
    out = []
    for s in ctx.job.colour.shades:
        asked = cups.get(s.shade, 0.0) / whole
        if abs(asked - s.share) > APART:
            out.append(
                say(
                    "The score asks for {asked:.0f} % of {shade}, the job mixes {mixed:.0f} %: the "
                    "picture will not be what is poured.",
                    asked=100 * asked,
                    shade=s.shade,
                    mixed=100 * s.share,
                )
            )
    return out
