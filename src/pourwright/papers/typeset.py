"""Compiling a template: data goes in as JSON, never as markup, so no text can break a page."""

from __future__ import annotations

import json
import threading
from importlib import resources
from typing import Any

from pourwright.errors import PourwrightError
from pourwright.papers.plain import fit_for_page

_lock = threading.Lock()
_compilers: dict[str, Any] = {}


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
    clean, missing = fit_for_page(data)
    clean["missing"] = missing
    text = json.dumps(clean, ensure_ascii=False)
    folder = resources.files("pourwright.papers") / "templates"
    with resources.as_file(folder) as root, _lock:
        try:
            if template not in _compilers:
                import typst

                _compilers[template] = typst.Compiler(
                    root / f"{template}.typ", root=root, ignore_system_fonts=True
                )
            found = _compilers[template].compile(
                format="pdf", pdf_standards=["ua-1"], sys_inputs={"data": text}
            )
        except RuntimeError as err:
            raise PourwrightError(f"the page {template} could not be set: {err}") from err
    assert isinstance(found, bytes)
    return found
