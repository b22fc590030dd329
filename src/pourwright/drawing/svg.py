"""A plain SVG writer: shapes and escaped text, sized in millimetres, y downwards."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from pourwright.drawing.style import STYLE
from pourwright.words import Said


def _n(x: float) -> str:
    return f"{x:.3f}".rstrip("0").rstrip(".") or "0"


def _attributes(kw: dict[str, object]) -> str:
    out = []
    for key, value in kw.items():
        if value is None:
            continue
        shown = _n(value) if isinstance(value, float) else str(value)
        out.append(f" {key.rstrip('_').replace('_', '-')}={quoteattr(shown)}")
    return "".join(out)


class Drawing:
    """One drawing on a page of `width` by `height` [mm].

    Parameters
    ----------
    width, height : float [mm]
        Size of the page; coordinates run from the top left corner.
    title, about : str [-]
        Read aloud by screen readers; `about` says in words what the picture shows.
    background : str [-]
        Page colour as #rrggbb, or None for a clear page.

    Attributes
    ----------
    said : list of str [-]
        Sentences with values that stand in the drawing.
    """

    def __init__(
        self,
        width: float,
        height: float,
        title: str = "",
        about: str = "",
        background: str | None = STYLE.paper,
    ) -> None:
        self.width = width
        self.height = height
        self.title = title
        self.about = about
        self.said: list[str] = [s for s in (title, about) if isinstance(s, Said)]
        self._body: list[str] = []
        self._defs: list[str] = []
        if background:
            self.rect(0, 0, width, height, fill=background, stroke="none")

    def _add(self, tag: str, content: str | None = None, /, **kw: object) -> None:
        inner = "/>" if content is None else f">{content}</{tag}>"
        self._body.append(f"<{tag}{_attributes(kw)}{inner}")

    def rect(self, x: float, y: float, w: float, h: float, **kw: object) -> None:
        """A rectangle with its corner at x, y and size w, h [mm]; kw are SVG attributes [-]."""
        self._add("rect", x=float(x), y=float(y), width=float(w), height=float(h), **kw)

    def line(self, x1: float, y1: float, x2: float, y2: float, **kw: object) -> None:
        """A straight line from x1, y1 to x2, y2 [mm]; kw are SVG attributes [-]."""
        kw = {"stroke": STYLE.ink, "stroke_width": STYLE.line, **kw}
        self._add("line", x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2), **kw)

    def polyline(
        self, points: Iterable[Sequence[float]], closed: bool = False, **kw: object
    ) -> None:
        """A line through points [mm], closed to a polygon if asked; kw are SVG attributes [-]."""
        text = " ".join(f"{_n(float(p[0]))},{_n(float(p[1]))}" for p in points)
        base: dict[str, object] = {"stroke": STYLE.ink, "stroke_width": STYLE.line}
        if not closed:
            base["fill"] = "none"
        self._add("polygon" if closed else "polyline", points=text, **{**base, **kw})

    def path(self, d: str, **kw: object) -> None:
        """A path with SVG path data `d` [mm]; kw are SVG attributes [-]."""
        self._add("path", d=d, **kw)

    def circle(self, x: float, y: float, r: float, **kw: object) -> None:
        """A circle of radius r at x, y [mm]; kw are SVG attributes [-]."""
        self._add("circle", cx=float(x), cy=float(y), r=float(r), **kw)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = STYLE.text,
        anchor: str = "start",
        turn: float = 0.0,
        **kw: object,
    ) -> None:
        """Escaped text with its base line at x, y [mm], `size` [mm], turned by `turn` [deg].

        A `words.Said` is also kept in `said`, so that a page can say it in another language.
        """
        if isinstance(text, Said):
            self.said.append(text)
        base: dict[str, object] = {
            "fill": STYLE.ink,
            "font_family": STYLE.font_plain,
            "font_size": float(size),
            "text_anchor": anchor,
        }
        if turn:
            base["transform"] = f"rotate({_n(turn)} {_n(x)} {_n(y)})"
        self._add("text", escape(text), x=float(x), y=float(y), **{**base, **kw})

    def hatch(self, name: str, colour: str = STYLE.ink_soft, step: float = 1.6) -> str:
        """Define a 45 degree hatch with lines `step` [mm] apart; returns its fill value [-]."""
        self._defs.append(
            f'<pattern id="{escape(name)}" width="{_n(step)}" height="{_n(step)}" '
            'patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            f'<line x1="0" y1="0" x2="0" y2="{_n(step)}" stroke="{escape(colour)}" '
            f'stroke-width="{_n(STYLE.hair)}"/></pattern>'
        )
        return f"url(#{name})"

    def svg(self) -> str:
        """The drawing as SVG text [-], with title and description for screen readers."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(self.width)}mm" '
            f'height="{_n(self.height)}mm" viewBox="0 0 {_n(self.width)} {_n(self.height)}" '
            'role="img">'
        )
        title = f"<title>{escape(self.title)}</title>" if self.title else ""
        about = f"<desc>{escape(self.about)}</desc>" if self.about else ""
        defs = f"<defs>{''.join(self._defs)}</defs>" if self._defs else ""
        return f"{head}{title}{about}{defs}\n" + "\n".join(self._body) + "\n</svg>\n"
