"""The calculations of this room: ``cure.isothermal``, ``cup``, ``layer``, ``flow_left``,
``windows``, ``match_board``, ``live``, ``fit`` and ``ratio``, registered on import.
"""

from __future__ import annotations

from pourwright.cure import _calcs_film, _calcs_heat, _calcs_sheet, _calcs_site

__all__ = ["_calcs_film", "_calcs_heat", "_calcs_sheet", "_calcs_site"]
