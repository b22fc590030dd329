"""The score: ordered, timed moves that make a pattern, as pydantic models and TOML.

Lengths in a score are of two kinds. *Tool lengths* (strand, vein, blade contact) stay true at any
size: a stick is a stick. *Composition lengths* (ribbon width, wander, the scale of the large
forms) stay true too, unless the score says ``lengths = "with the surface"``; then they grow with
the square root of the poured area, measured against ``written_for_m2``. Heights of ribbons stay
true, unless the score says ``written_for_film_mm``; then they go with the mean film.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from pourwright.calc.registry import validate
from pourwright.errors import InputError
from pourwright.words import Own, say

Share = Annotated[float, Field(gt=0, le=1)]
Uses = Annotated[dict[str, Share], Field(min_length=1)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, frozen=True)


class _Move(_Strict):
    """What every move may say: when it happens, by mix age or by flow left."""

    at_min: float | None = Field(None, ge=0, description="mix age when the move starts [min]")
    at_flow_left: float | None = Field(None, gt=0, description="flow left at its start [1/Pa]")
    takes_s: float = Field(20.0, ge=0, le=3600, description="how long the move takes [s]")

    @model_validator(mode="after")
    def _one_time(self) -> _Move:
        if self.at_min is not None and self.at_flow_left is not None:
            raise InputError(
                "at_flow_left",
                self.at_flow_left,
                "a move starts at a mix age or at a flow left, not at both",
                "Take out at_min or at_flow_left.",
            )
        return self


class Coat(_Move):
    """An even coat over the whole surface, its shades folded together in the pail."""

    do: Literal["coat"]
    uses: Uses
    folds: float = Field(0.5, ge=0, le=1, description="0 one even colour, 1 shades in clear bands")
    band_mm: float = Field(45.0, ge=2, le=600, description="breadth of the bands [mm]")


class Ribbons(_Move):
    """Ribbons of several shades poured together, laid along wandering lines."""

    do: Literal["ribbons"]
    uses: Uses
    width_mm: float = Field(42.0, ge=6, le=300, description="breadth of a ribbon as it lands [mm]")
    height_mm: float = Field(6.0, ge=0.5, le=25, description="height of a ribbon as it lands [mm]")
    strand_mm: float = Field(2.2, ge=0.4, le=30, description="breadth of one strand [mm]")
    separate: float = Field(0.3, ge=0, le=1, description="0 every ribbon alike, 1 one shade each")
    pulse: float = Field(0.25, ge=0, le=0.8, description="swing of the pouring rate [-]")
    wobble: float = Field(0.35, ge=0, le=1, description="unsteadiness of the hand [-]")
    length_mm: float = Field(900.0, ge=30, le=6000, description="mean length of a ribbon [mm]")
    turn_deg: float = Field(0.0, ge=-180, le=180, description="turned off the main direction [deg]")
    gather: float = Field(0.4, ge=0, le=1, description="0 spread evenly, 1 gathered in drifts")


class Spread(_Move):
    """Strokes of a blade held on the wet film; it drags the upper layers furthest."""

    do: Literal["spread"]
    strokes: int = Field(6, ge=1, le=200)
    blade_mm: float = Field(120.0, ge=10, le=800, description="breadth of the blade [mm]")
    contact_mm: float = Field(14.0, ge=1, le=80, description="wetted length under the blade [mm]")
    grip: float = Field(0.5, gt=0, le=0.92, description="share of the blade's speed passed on [-]")
    notch_mm: float = Field(0.0, ge=0, le=100, description="pitch of the notches, 0 plain [mm]")
    length_mm: float = Field(500.0, ge=20, le=4000, description="mean length of a stroke [mm]")
    turn_deg: float = Field(0.0, ge=-180, le=180, description="turned off the main direction [deg]")
    arc: float = Field(0.4, ge=0, le=1, description="0 straight strokes, 1 sweeping arcs")


class Tilt(_Move):
    """The whole piece tilted for a while, or lifted on one side, then set level again."""

    do: Literal["tilt"]
    slope_deg: float = Field(1.0, gt=0, le=15, description="slope of the surface [deg]")
    towards_deg: float = Field(0.0, ge=-360, le=360, description="downhill direction [deg]")


class Rest(_Move):
    """Leave it alone for `takes_s`."""

    do: Literal["rest"]


class Torch(_Move):
    """A pass of open flame: where it goes the film runs more freely for a while, bubbles break."""

    do: Literal["torch"]
    extra_flow: float = Field(
        8.0, gt=0, le=200, description="flow the warmth adds on the flame's track [1/Pa]"
    )
    flame_mm: float = Field(90.0, ge=10, le=600, description="breadth of the warmed track [mm]")
    cover: float = Field(0.9, gt=0, le=1, description="share of the surface the flame goes over")


class Veins(_Move):
    """Fine forked veins drizzled from a stick."""

    do: Literal["veins"]
    uses: Uses
    thread_mm: float = Field(2.5, ge=0.4, le=30, description="breadth as it lands [mm]")
    height_mm: float = Field(0.7, ge=0.05, le=6, description="height as it lands [mm]")
    forks: float = Field(0.5, ge=0, le=1, description="0 none, 1 many")
    jagged: float = Field(0.5, ge=0, le=1, description="0 flowing, 1 broken like cracked stone")
    gaps: float = Field(0.12, ge=0, le=0.8, description="share of the line left out [-]")
    length_mm: float = Field(1100.0, ge=30, le=6000, description="mean length of a vein [mm]")
    turn_deg: float = Field(
        18.0, ge=-180, le=180, description="turned off the main direction [deg]"
    )


class Push(_Move):
    """The film pushed over the free edges by hand or blade."""

    do: Literal["push"]
    reach_mm: float = Field(60.0, ge=5, le=300, description="how far in from the edge [mm]")
    carry_mm: float = Field(15.0, ge=1, le=100, description="how far the surface is carried [mm]")


Move = Annotated[
    Coat | Ribbons | Spread | Tilt | Rest | Torch | Veins | Push, Field(discriminator="do")
]
LAYING = (Coat, Ribbons, Veins)


class Composition(_Strict):
    """The large forms: main direction, their scale, and how much lines wander."""

    direction_deg: float = Field(20.0, ge=-360, le=360, description="main direction [deg]")
    scale_mm: float = Field(450.0, ge=40, le=5000, description="size of the large forms [mm]")
    lively: float = Field(0.5, ge=0, le=1, description="0 straight and calm, 1 eddying")


class Score(_Strict):
    """A score: shades and their share of the mixed resin, the composition, the moves."""

    schema_version: Literal[1] = 1
    name: str = Field(min_length=1, max_length=80)
    note: str = Field("", max_length=2000)
    seed: int = Field(1, ge=0, le=2**31 - 1)
    lengths: Literal["stay true", "with the surface"] = "stay true"
    written_for_m2: float = Field(1.0, gt=0, le=1000, description="area it was written for [m2]")
    written_for_film_mm: float | None = Field(
        None,
        ge=0.3,
        le=20,
        description="mean film it was written for; heights then go with it [mm]",
    )
    cups: dict[str, Share] = Field(
        min_length=1, max_length=12, description="share of the mixed resin per shade [-]"
    )
    composition: Composition = Composition()
    moves: list[Move] = Field(min_length=1, max_length=60)

    def length_factor(self, area_m2: float) -> float:
        """Factor on composition lengths [-] on a surface of `area_m2` [m2]."""
        if self.lengths == "stay true":
            return 1.0
        return float((area_m2 / self.written_for_m2) ** 0.5)

    def height_factor(self, film: float) -> float:
        """Factor on the heights of ribbons [-] for a mean film of `film` [m].

        Thinner ribbons for a thinner film keep their number, and so the pattern, alike.
        """
        return film * 1e3 / self.written_for_film_mm if self.written_for_film_mm else 1.0

    def stroke_count(self, strokes: int, area_m2: float) -> int:
        """Strokes to make on a surface of `area_m2` [m2] where the score says `strokes` [-].

        As many per area as on the area it was written for, at least one; as many in all where
        lengths grow with the surface.
        """
        share = area_m2 / self.written_for_m2 / self.length_factor(area_m2) ** 2
        return max(1, round(strokes * share))

    def with_seed(self, seed: int) -> Score:
        """The same score with another seed [-]."""
        return validate(Score, {**self.model_dump(), "seed": seed}, "score")


def read_score(source: str | Path | dict[str, Any]) -> Score:
    """A checked `Score` from a TOML file, TOML text or plain data.

    Parameters
    ----------
    source : str, Path or dict [-]
        A path, the TOML text itself (anything with a line break), or its data.

    Returns
    -------
    Score [-]
        The score; its shares are checked against its cups.

    Raises
    ------
    InputError
        Naming the field that cannot be used, its value, the limit and the remedy.
    """
    where = "score"
    if isinstance(source, dict):
        data: Any = source
    else:
        text = str(source)
        if isinstance(source, Path) or "\n" not in text:
            where = Path(text).name
            try:
                text = Path(text).read_text(encoding="utf-8")
            except (OSError, UnicodeDecodeError):
                raise InputError(
                    where, text, "it must be a readable text file", "Check the path of the score."
                ) from None
        try:
            data = tomllib.loads(text)
        except tomllib.TOMLDecodeError as err:
            raise InputError(
                where, str(err), "it must be TOML", "Correct the line that is named."
            ) from None
    score = validate(Score, data, "score")
    check_cups(score)
    return score


def check_cups(score: Score) -> None:
    """Refuse unknown shades, and moves that use more of a shade than was mixed.

    Parameters
    ----------
    score : Score [-]
        The score; cups add up to at most 1, and so do the uses of each.

    Raises `InputError` naming the move and the shade.
    """
    total = sum(score.cups.values())
    if total > 1 + 1e-9:
        raise InputError(
            "score.cups",
            round(total, 6),
            "the shares of all cups add up to at most 1",
            "Lower some shares.",
        )
    used = dict.fromkeys(score.cups, 0.0)
    for i, move in enumerate(score.moves):
        if not isinstance(move, LAYING):
            continue
        for shade, share in move.uses.items():
            field = f"score.moves[{i}].uses.{shade}"
            if shade not in used:
                raise InputError(
                    field,
                    shade,
                    say(
                        "only the shades of its cups are known: {names}",
                        names=Own(", ".join(score.cups)),
                    ),
                    "Add a cup of this shade or use one of these.",
                )
            used[shade] += share
            if used[shade] > score.cups[shade] + 1e-9:
                raise InputError(
                    field,
                    round(used[shade], 6),
                    say(
                        "the moves up to here use more than the mixed share {share:g}",
                        share=score.cups[shade],
                    ),
                    "Mix more of this shade or use less of it.",
                )
    if not any(isinstance(m, LAYING) for m in score.moves):
        raise InputError(
            "score.moves",
            len(score.moves),
            "at least one move must lay resin (coat, ribbons or veins)",
            "Add a coat or ribbons.",
        )


def write_score(score: Score) -> str:
    """A score as TOML.

    Parameters
    ----------
    score : Score [-]
        The score.

    Returns
    -------
    str [-]
        Text that `read_score` reads back to an equal score.
    """
    import tomlkit

    doc = tomlkit.document()
    data = score.model_dump(exclude_none=True)
    moves = data.pop("moves")
    for key, value in data.items():
        doc[key] = value
    rows = tomlkit.aot()
    for move in moves:
        row = tomlkit.table()
        for key in ["do", *[k for k in move if k != "do"]]:
            value = move[key]
            if isinstance(value, dict):
                inline = tomlkit.inline_table()
                inline.update(value)
                value = inline
            row[key] = value
        rows.append(row)
    doc["moves"] = rows
    return tomlkit.dumps(doc)
