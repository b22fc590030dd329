"""A new job file to fill in, in metric or US units."""

from __future__ import annotations

from datetime import date
from importlib import resources

from pourwright.errors import InputError

_WORDS = {
    "metric": {
        "currency": "EUR", "paper": "a4", "coolest": "17 degC", "warmest": "22 degC",
        "core": "18 mm", "length": "1800 mm", "width": "600 mm", "round": "6 mm", "drop": "40 mm",
        "film": "1 L/m2", "flood": "1.2 L/m2",
    },
    "us": {
        "currency": "USD", "paper": "letter", "coolest": "63 degF", "warmest": "72 degF",
        "core": "3/4 in", "length": "72 in", "width": "25 1/2 in", "round": "1/4 in",
        "drop": "1 1/2 in", "film": "3 fl oz/ft2", "flood": "4 fl oz/ft2",
    },
}  # fmt: skip


def new_job(name: str, start: date, units: str = "metric") -> str:
    """The text of a new job file.

    Parameters
    ----------
    name : str [-]
        Name of the job, 1 to 120 characters.
    start : date [-]
        First day of work.
    units : str [-]
        ``metric`` or ``us``.

    Returns
    -------
    str [-]
        TOML that `read_job` accepts as it is.

    Raises
    ------
    InputError
        A name that is empty, too long or holds control characters; unknown units.
    """
    if not 1 <= len(name.strip()) <= 120 or not name.isprintable():
        raise InputError(
            "name", name, "it is 1 to 120 printable characters", "Give the job a short name."
        )
    if units not in _WORDS:
        raise InputError("units", units, "it is metric or us", "Choose one of the two.")
    text = (resources.files("pourwright.plan") / "templates" / "job.toml").read_text("utf-8")
    safe = name.strip().replace("\\", "\\\\").replace('"', '\\"')
    return text.format(name=safe, units=units, start=start.isoformat(), **_WORDS[units])
