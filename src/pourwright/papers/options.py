"""The same job otherwise: each option is the job file changed, planned and reckoned again."""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from pourwright.errors import InputError
from pourwright.papers.costing import Costing, cost_job
from pourwright.plan import Working, job_from, work_out
from pourwright.price import Option

Tell = Callable[[float, str], None]
FORBIDDEN = ("schema", "name", "client", "price", "revision", "seed", "samples", "show")


@dataclass(frozen=True)
class Priced:
    """An option planned and reckoned; the job as it stands is the first, without an `option`."""

    name: str
    says: str
    work: Working
    costing: Costing
    option: Option | None = None


def change_document(document: dict[str, Any], change: dict[str, Any]) -> dict[str, Any]:
    """A job as plain data with some of its values changed.

    Parameters
    ----------
    document : dict [-]
        The job as plain data; it is not touched.
    change : dict of str to any [-]
        Dotted paths and new values; ``False`` takes the part out.

    Returns
    -------
    dict [-]

    Raises
    ------
    InputError
        A path that leads nowhere, or to what an option may not change.
    """
    out = deepcopy(document)
    for path, value in change.items():
        keys = path.split(".")
        if keys[0] in FORBIDDEN:
            raise InputError(f"price.options.{path}", value, "an option changes the work, not this",
                             "Change core, primer, colour, flood, topcoat, finish or site.")  # fmt: skip
        at: Any = out
        for key in keys[:-1]:
            if not isinstance(at.get(key), dict):
                at[key] = {}
            at = at[key]
        if value is False:
            at.pop(keys[-1], None)
            if len(keys) == 1:
                at[keys[-1]] = None
        elif isinstance(value, dict) and isinstance(at.get(keys[-1]), dict):
            at[keys[-1]] = {**at[keys[-1]], **value}
        else:
            at[keys[-1]] = value
    return out


def price_options(work: Working, costing: Costing, tell: Tell | None = None) -> list[Priced]:
    """The job as it stands and its options, each planned and reckoned.

    Parameters
    ----------
    work : Working [SI]
        The planned job.
    costing : Costing [currency]
        Its reckoning.
    tell : callable or None [-]
        Told the share done and words for it; may raise to cancel.

    Returns
    -------
    list of Priced [currency]
        The same seed and samples, so that prices differ by what was changed alone.

    Raises
    ------
    InputError
        An option that cannot be planned; the field is named.
    """
    out = [Priced("As planned", "", work, costing)]
    listed = costing.spec.options
    for k, o in enumerate(listed):
        if tell:
            tell(k / len(listed), f"planning the option {o.name}")
        document = change_document(work.ctx.job.to_document(), o.change)
        try:
            other = work_out(job_from(document), work.ctx.folder)
        except InputError as err:
            raise err.at(f"price.options[{k}]") from None
        out.append(Priced(o.name, o.says, other, cost_job(other), o))
    return out
