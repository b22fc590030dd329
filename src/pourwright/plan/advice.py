"""Every endurance, weight and air answer as one question and one plain sentence, worst first."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from pourwright.calc.check import Check
from pourwright.plan.figures import figure, reading
from pourwright.plan.result import Advice
from pourwright.words import Amount, Own, say

MOST_DO = 3
"""How many changes are named for one answer [-]."""

Told = tuple[str, str]
Row = Callable[[dict[str, str]], Told]

WEIGHT: dict[str, Row] = {
    "endure.weight": lambda v: (
        say("Is it too heavy?"),
        say("All finished pieces weigh {value}; the limit is {limit}.", **v),
    ),
    "endure.lift": lambda v: (
        say("Can it be carried?"),
        say("The heaviest piece, {piece}, weighs {value}; the crew carries {limit}.", **v),
    ),
    "endure.axle": lambda v: (
        say("Is there room under the plate?"),
        say("{piece:u}: {value} after the work; the plate allows {limit}.", **v),
    ),
    "endure.nose.most": lambda v: (
        say("Does the nose press too hard on the hitch?"),
        say("It presses with {value} after the work; {limit} is allowed.", **v),
    ),
    "endure.nose.least": lambda v: (
        say("Will the trailer tow steadily?"),
        say("Its nose presses with {value} after the work; at least {limit} is wanted.", **v),
    ),
    "endure.tow": lambda v: (
        say("May the car tow it?"),
        say("The trailer weighs {value} after the work; the car may pull {limit}.", **v),
    ),
    "endure.heel.pour": lambda v: (
        say("Is the boat level enough to pour on?"),
        say("As she lies, resin ends {value} deeper on the low side; {limit} is wanted.", **v),
    ),
    "endure.heel": lambda v: (
        say("Will the boat lean?"),
        say("She leans {value} after the work; up to {limit} goes unnoticed.", **v),
    ),
    "endure.trim": lambda v: (
        say("Will the boat sit down by one end?"),
        say("Bow and stern shift by {value} after the work; up to {limit} is fine.", **v),
    ),
    "endure.stiffness": lambda v: (
        say("Will the boat stand up as firmly?"),
        say("Her metacentric height ends at {value}; at least {limit} is wanted.", **v),
    ),
}

SHAPE: dict[str, Row] = {
    "endure.bow.cure": lambda v: (
        say("Will it stay flat?"),
        say("{piece} bows {value} in the weeks after the pour; up to {limit} passes as flat.", **v),
    ),
    "endure.bow.cold": lambda v: (
        say("Will it stay flat in the cold?"),
        say("{piece} bows {value} in the cold store; up to {limit} passes as flat.", **v),
    ),
    "endure.bow.moisture": lambda v: (
        say("Will it stay flat when the air turns damp or dry?"),
        say("{piece} bows {value} when the air changes; up to {limit} passes as flat.", **v),
    ),
    "endure.film.strain": lambda v: (
        say("Will the film crack?"),
        say("On {piece} the film stays stretched by {value}; up to {limit} lasts.", **v),
    ),
    "endure.edge.energy": lambda v: (
        say("Will the film lift at an edge?"),
        say("On {piece} its pull stores {value} at the edge; the board holds {limit}.", **v),
    ),
    "endure.edge.shear": lambda v: (
        say("Will the board tear under the edge?"),
        say("On {piece} the film pulls with {value} along its edge; the board holds {limit}.", **v),
    ),
    "endure.twist.film": lambda v: (
        say("Will it crack when the hull or body twists?"),
        say("Twisting stretches the film of {piece} by {value}; up to {limit} lasts.", **v),
    ),
    "endure.shake.first": lambda v: (
        say("Will it rattle?"),
        say(
            "{piece} swings by itself at {value}; from {limit} up, road, engine and steps do not "
            "stir it.",
            **v,
        ),
    ),
}

LOAD: dict[str, Row] = {
    "endure.span.load": lambda v: (
        say("Will it sag under somebody?"),
        say("{piece} sags {value} between bearers when one kneels there; {limit} is allowed.", **v),
    ),
    "endure.span.lasting": lambda v: (
        say("Will it sag over the years?"),
        say("{piece} sags {value} between bearers after years; {limit} is allowed.", **v),
    ),
    "endure.overhang.load": lambda v: (
        say("Will the overhang hold somebody leaning on it?"),
        say("The overhang of {piece} gives {value}; {limit} is allowed.", **v),
    ),
    "endure.overhang.lasting": lambda v: (
        say("Will the overhang droop over the years?"),
        say("The overhang of {piece} droops {value} after years; {limit} is allowed.", **v),
    ),
    "endure.strength.bending": lambda v: (
        say("Is it strong enough?"),
        say("{piece} uses {value} of the strength of its weakest layer; {limit} is safe.", **v),
    ),
    "endure.strength.core_shear": lambda v: (
        say("Will the core tear inside?"),
        say("{piece} uses {value} of the strength inside its core; {limit} is safe.", **v),
    ),
    "endure.sandwich.wrinkling": lambda v: (
        say("Will the skin buckle off the foam?"),
        say("The skin of {piece} is pressed with {value}; {limit} is safe.", **v),
    ),
    "endure.sandwich.crushing": lambda v: (
        say("Will a heel dent it?"),
        say("Under a heel the core of {piece} takes {value}; {limit} is safe.", **v),
    ),
    "endure.heat.pan": lambda v: (
        say("Can a hot pan stand on it?"),
        say(
            "Under a pan of {pan:g} the film gets {value} hot; it softens at about {limit}.",
            pan=Amount(180, "degC"),
            **v,
        ),
    ),
    "endure.heat.pan_core": lambda v: (
        say("Will a hot pan harm the core?"),
        say("Under that pan the core gets {value} hot; it bears {limit}.", **v),
    ),
    "endure.heat.film": lambda v: (
        say("Will it soften in heat and sun?"),
        say("{piece} gets {value} hot at its face; the film softens at about {limit}.", **v),
    ),
    "endure.heat.core": lambda v: (
        say("Will the core stand heat and sun?"),
        say("{piece} gets {value} hot; its core bears {limit}.", **v),
    ),
}

AIR: dict[str, Row] = {
    "air.margin": lambda v: (
        say("Will dew form on the wet film?"),
        say(
            "At its worst, {moment}, the surface stays {value} above the dew point; {limit} is "
            "wanted.",
            **v,
        ),
    ),
    "air.humidity": lambda v: (
        say("Is the air too damp?"),
        say(
            "The air reaches {value} humidity while the resin is soft; up to {limit} will do.", **v
        ),
    ),
    "air.window.cold": lambda v: (
        say("Is it too cold to pour?"),
        say("The air falls to {value} while the resin is soft; {limit} is wanted.", **v),
    ),
    "air.window.hot": lambda v: (
        say("Is it too hot to pour?"),
        say("The air rises to {value} while the resin is soft; up to {limit} will do.", **v),
    ),
    "air.blush": lambda v: (
        say("Will the surface blush?"),
        say("The risk scores {value} of 1; under {limit} go on. It ranks, it is no chance.", **v),
    ),
    "air.board_moisture": lambda v: (
        say("Is the board dry enough?"),
        say("It holds {value} of water; at most {limit} before the first coat.", **v),
    ),
    "air.board_match": lambda v: (
        say("Is the board used to the air it will live in?"),
        say("It is {value} of moisture away from that air; within {limit} is fine.", **v),
    ),
    "air.vapour.fire": lambda v: (
        say("Can the vapour burn?"),
        say("Topcoat vapour peaks at {value} of what can burn; up to {limit} is the rule.", **v),
    ),
    "air.vapour.shift": lambda v: (
        say("Is the air fit to breathe for a day?"),
        say("Over eight hours it reaches {value} of the exposure limit; {limit} is full.", **v),
    ),
    "air.vapour.short": lambda v: (
        say("Is the air fit to breathe at its worst?"),
        say("In the worst fifteen minutes it reaches {value} of the limit; {limit} is full.", **v),
    ),
    "air.vapour.purge": lambda v: (
        say("When is the vapour gone?"),
        say("Airing takes {value} after the last topcoat; there are {limit} until handover.", **v),
    ),
    "survey.level": lambda v: (
        say("Does the site stand level?"),
        say("It slopes {value}; at most {limit} when poured.", **v),
    ),
    "cure.back.hard": lambda v: (
        say("Is the back hard when the pieces are turned?"),
        say("It has cured for {value} by then; it usually needs {limit}.", **v),
    ),
    "film.upright": lambda v: (
        say("Will an upright coat run?"),
        say("The coat is {value} thick; {limit} stays where it is.", **v),
    ),
}

TABLE: dict[str, Row] = {**WEIGHT, **SHAPE, **LOAD, **AIR}
RANK = {"no": 0, "unsure": 1, "yes": 2}
ORDER = {name: k for k, name in enumerate(TABLE)}


def row_of(name: str) -> str | None:
    """The key of the table for the check `name` [-], longest match first; None when it has none."""
    parts = name.split(".")
    for n in range(len(parts), 0, -1):
        key = ".".join(parts[:n])
        if key in TABLE:
            return key
    return None


def advice_of(checks: Iterable[Check]) -> list[Advice]:
    """Plain advice on checks, what fails first.

    Parameters
    ----------
    checks : iterable of Check [-]
        Endurance, weight and air; of several with one name the worst counts.

    Returns
    -------
    list of Advice [-]
        Question, answer with number, range and limit, what to change, caution.
    """
    worst: dict[str, Check] = {}
    for c in checks:
        key = c.name if row_of(c.name) in ("endure.axle", "film.upright") else row_of(c.name)
        if key is None:
            continue
        other = worst.get(key)
        if other is None or (RANK[c.passed], _room(c)) < (RANK[other.passed], _room(other)):
            worst[key] = c
    found = []
    for c in worst.values():
        key = row_of(c.name)
        assert key is not None
        asks, answer = TABLE[key](_values(c))
        found.append(
            Advice(
                key=c.name,
                asks=asks,
                answer=answer,
                passed=c.passed,
                do=list(c.remedies[:MOST_DO]),
                caution=c.caution,
            )
        )
    return sorted(found, key=lambda a: (RANK[a.passed], ORDER[row_of(a.key) or ""]))


def _room(c: Check) -> float:
    """How much of its limit a check leaves [-]; the smallest is the worst."""
    return c.margin / max(abs(c.limit), 1e-9)


def _values(c: Check) -> dict[str, str]:
    piece = str(c.title).partition(":")[0]
    return {
        "piece": Own(piece),
        "value": reading(c),
        "limit": figure(c.limit, c.unit),
        "moment": c.moment,
    }
