"""Small vector drawings in the house style (ground floor): the day ribbon, layouts, profiles.

Map
---
- `style`  paper, ink, copper and the other colours, line widths and type sizes.
- `svg`    `Drawing`, a plain SVG writer (all text escaped), sized in millimetres.
"""

from pourwright.drawing.style import STYLE, Style
from pourwright.drawing.svg import Drawing

__all__ = ["STYLE", "Drawing", "Style"]
