"""Limits of a job's checks: those of the catalogue, the user's own over them, marked as such."""

from __future__ import annotations

from pourwright.calc.check import Check
from pourwright.catalogue import Material, Property, default
from pourwright.errors import InputError
from pourwright.plan.context import Context
from pourwright.words import say

OF_CHECK = {
    "air.margin": ("rule-dew-point", "margin_K"),
    "air.humidity": ("rule-dew-point", "humidity_percent"),
    "air.window.cold": ("criterion-window", "coldest_degC"),
    "air.window.hot": ("criterion-window", "hottest_degC"),
    "air.board_moisture": ("criterion-board", "most_percent"),
    "air.board_match": ("criterion-board", "near_percent"),
    "air.vapour.fire": ("rule-confined-space", "flammable_share"),
    "air.vapour.purge": ("criterion-torch", "flammable_percent"),
    "survey.level": ("criterion-level", "slope_percent"),
    "endure.bow.": ("criterion-flat", "length_over_bow"),
    "endure.span.": ("criterion-sag", "span_over_sag"),
    "endure.overhang.": ("criterion-sag", "span_over_sag"),
    "endure.strength.": ("criterion-strength", "strength_over_stress"),
    "endure.sandwich.wrinkling": ("criterion-strength", "strength_over_stress"),
    "endure.film.strain": ("criterion-strain", "break_over_strain"),
    "endure.twist.film": ("criterion-strain", "break_over_strain"),
    "endure.lift": ("criterion-lift", "each_kg"),
    "endure.heel.pour": ("criterion-float", "pour_mm"),
    "endure.heel": ("criterion-float", "heel_deg"),
    "endure.trim": ("criterion-float", "waterline_over_trim"),
    "endure.stiffness": ("criterion-float", "kept_percent"),
}
"""Which figure of the catalogue a check is held against, by the start of its name, nearest first."""


def figure(ctx: Context, ident: str, key: str) -> Property:
    """A limit of the catalogue as it stands for job `ctx`.

    Parameters
    ----------
    ctx : Context [-]
        The job, with the products files it names.
    ident, key : str [-]
        Entry of ``rules.toml`` or ``criterion.toml``, and the property in it.

    Returns
    -------
    Property [unit of the key's suffix]
        The shipped one, or the user's own with the mark "user".

    Raises
    ------
    InputError
        The user's own lies outside what can be meant.
    """
    found = ctx.catalogue.get(ident, ident.partition("-")[0], field="limit").prop(key)
    if found.mark == "user":
        least, most = default().get(ident).facts["within"][key]
        if not least <= found.value <= most:
            raise InputError(
                f"{ident}.{key}",
                found.value,
                say("{least:g} to {most:g}", least=least, most=most),
                "Correct it in the products file that the job names.",
            )
    return found


def limit(ctx: Context, ident: str, key: str) -> float:
    """The middle value of `figure` for job `ctx`, entry `ident` and its property `key` [unit]."""
    return figure(ctx, ident, key).value


def shake_rule(ctx: Context) -> str:
    """The entry that asks for a first bending frequency where job `ctx` lives [-]."""
    return f"criterion-shake-{ctx.job.site.kind}"


def marked(ctx: Context, check: Check) -> Check:
    """A check whose limit is the user's own says so beside the number.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    check : Check [units of the check]
        A hold point or an endurance check of it.

    Returns
    -------
    Check [units of the check]
        With the user's agency, year and file as its source, the mark "user", and in its criterion
        the source of the limit that it stands in for; else as it was.
    """
    if check.name == "endure.shake.first":
        ident, key = shake_rule(ctx), "least_Hz"
    else:
        names = [n for n in OF_CHECK if check.name.startswith(n)]
        if not names or check.source.endswith("[user]"):
            return check
        ident, key = OF_CHECK[names[0]]
    mine = figure(ctx, ident, key)
    if mine.mark != "user":
        return check
    entry, usual = ctx.catalogue.get(ident), check.source.rpartition(" [")[0] or check.source
    rule = say("{rule}, in place of: {usual}", rule=check.criterion, usual=usual)
    return check.model_copy(
        update={"source": f"{own_source(entry, mine)} [user]", "criterion": rule}
    )


def own_source(entry: Material, mine: Property) -> str:
    """Who set a limit of the user's own.

    Parameters
    ----------
    entry : Material [-]
        The catalogue's entry with the user's facts over it.
    mine : Property [unit of the key's suffix]
        The user's figure in it.

    Returns
    -------
    str [-]
        The user's agency and year where the file says them, and the file.
    """
    shipped, facts = default().get(entry.id).facts, entry.facts
    if not facts.get("agency") or facts["agency"] == shipped.get("agency"):
        return mine.source
    year = f" {facts['year']}" if facts.get("year") != shipped.get("year") else ""
    return f"{facts['agency']}{year}, {mine.source}"
