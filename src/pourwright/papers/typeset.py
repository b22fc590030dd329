"""Compiling a template: data goes in as JSON, never as markup, so no text can break a page."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

from pourwright.errors import PourwrightError


def typeset(template: str, data: dict[str, Any]) -> bytes:
    """The PDF of `template` filled with `data`.

    Parameters
    ----------
    template : str [-]
        Name of a file in ``papers/templates``, without its ending.
    data : dict [-]
        Plain JSON data that the template knows.

    Returns
    -------
    bytes [-]
        A tagged PDF (PDF/UA-1) with its fonts inside.

    Raises
    ------
    PourwrightError
        When the typesetter refuses the page; its words are kept.
    """
    import typst

    folder = resources.files("pourwright.papers") / "templates"
    with resources.as_file(folder) as root:
        try:
            return typst.compile(
                root / f"{template}.typ",
                root=root,
                format="pdf",
                pdf_standards=["ua-1"],
                ignore_system_fonts=True,
                sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
            )
        except RuntimeError as err:
            raise PourwrightError(f"the page {template} could not be set: {err}") from err
