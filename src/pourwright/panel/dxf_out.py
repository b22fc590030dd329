"""Cut plans for a drawing program or a router: DXF and SVG in millimetres, one layer per kind.

Layers: SHEET, TRIM, PART, HOLE, CUT, OFFCUT, LABEL. Sheets stand side by side, 200 mm apart.
"""

from __future__ import annotations

import io
from xml.sax.saxutils import escape

from pourwright.panel.layout import CutPlan, Placement
from pourwright.panel.picture import mm

LAYERS = {
    "SHEET": 7,
    "TRIM": 8,
    "PART": 5,
    "HOLE": 4,
    "CUT": 1,
    "OFFCUT": 3,
    "LABEL": 8,
}  # colour numbers of the DXF format [-]
GAP = 0.2  # between sheets [m]

Ring = list[tuple[float, float]]


def _rect(x: float, y: float, length: float, width: float) -> Ring:
    return [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]


def _shape(p: Placement) -> Ring:
    return list(p.ring) if p.ring else _rect(p.x, p.y, p.length, p.width)


def _items(plan: CutPlan):
    """Layer, closed?, points [m] and text of everything in the plan."""
    shift = 0.0
    for s in plan.sheets:
        t = s.sheet.trim
        out: list[tuple[str, bool, Ring, str]] = []
        out.append(("SHEET", True, _rect(0, 0, s.sheet.length, s.sheet.width), ""))
        if t > 0:
            box = _rect(t, t, s.sheet.length - 2 * t, s.sheet.width - 2 * t)
            out.append(("TRIM", True, box, ""))
        out.append(("LABEL", False, [(0.0, s.sheet.width + 0.03)], s.label))
        for r in s.offcuts:
            out.append(("OFFCUT", True, _rect(r.x, r.y, r.length, r.width), ""))
        for p in s.placements:
            out.append(("PART", True, _shape(p), ""))
            out += [("HOLE", True, list(h), "") for h in p.holes]
            at = [(p.x + 0.01, p.y + min(0.01, p.width / 4))]
            out.append(("LABEL", False, at, f"{p.label} {mm(p.length)} x {mm(p.width)}"))
        for c in s.cuts:
            mid = c.at + plan.saw.kerf / 2
            line = (
                [(mid, c.start), (mid, c.end)] if c.axis == "x" else [(c.start, mid), (c.end, mid)]
            )
            out.append(("CUT", False, line, ""))
            out.append(("LABEL", False, [line[0]], str(c.number)))
        for layer, closed, points, text in out:
            yield layer, closed, [(x + shift, y) for x, y in points], text
        shift += s.sheet.length + GAP


def plan_dxf(plan: CutPlan) -> str:
    """The plan as DXF R2000 text, in millimetres.

    Parameters
    ----------
    plan : CutPlan [m]
        The plan.

    Returns
    -------
    str
        Text of the file [-]; lengths inside in millimetres [mm].
    """
    import ezdxf

    doc = ezdxf.new("R2000")
    doc.header["$INSUNITS"] = 4
    doc.header["$MEASUREMENT"] = 1
    for name, colour in LAYERS.items():
        doc.layers.add(name, color=colour)
    space = doc.modelspace()
    for layer, closed, points, text in _items(plan):
        flat = [(x * 1e3, y * 1e3) for x, y in points]
        if text:
            height = 20.0 if len(text) > 3 else 12.0
            space.add_text(text, height=height, dxfattribs={"layer": layer}).set_placement(flat[0])
        else:
            space.add_lwpolyline(flat, close=closed, dxfattribs={"layer": layer})
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue()


_SVG_STYLE = {
    "SHEET": 'fill="none" stroke="#26221d" stroke-width="2"',
    "TRIM": 'fill="none" stroke="#6b6256" stroke-width="0.5" stroke-dasharray="4 4"',
    "PART": 'fill="none" stroke="#26221d" stroke-width="1"',
    "HOLE": 'fill="none" stroke="#4a5560" stroke-width="1"',
    "CUT": 'fill="none" stroke="#b3652b" stroke-width="1"',
    "OFFCUT": 'fill="none" stroke="#3f6f68" stroke-width="1" stroke-dasharray="8 5"',
    "LABEL": 'fill="#26221d" font-family="DejaVu Sans, sans-serif"',
}


def plan_svg(plan: CutPlan) -> str:
    """The plan as SVG text at full size, one group per layer.

    Parameters
    ----------
    plan : CutPlan [m]
        The plan.

    Returns
    -------
    str
        Text of the file [-]; one unit is one millimetre [mm].
    """
    width = sum(s.sheet.length + GAP for s in plan.sheets) * 1e3 - GAP * 1e3
    height = max(s.sheet.width for s in plan.sheets) * 1e3 + 80
    groups: dict[str, list[str]] = {name: [] for name in LAYERS}
    for layer, closed, points, text in _items(plan):
        flat = [(x * 1e3, height - 10 - y * 1e3) for x, y in points]
        if text:
            size = 20 if len(text) > 3 else 12
            x, y = flat[0]
            groups[layer].append(
                f'<text x="{x:.3f}" y="{y:.3f}" font-size="{size}">{escape(text)}</text>'
            )
        else:
            tag = "polygon" if closed else "polyline"
            listed = " ".join(f"{x:.3f},{y:.3f}" for x, y in flat)
            groups[layer].append(f'<{tag} points="{listed}"/>')
    body = "\n".join(
        f'<g id="{name.lower()}" {_SVG_STYLE[name]}>\n' + "\n".join(items) + "\n</g>"
        for name, items in groups.items()
        if items
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm" '
        f'viewBox="0 0 {width:.3f} {height:.3f}">\n<title>Cut plan</title>\n{body}\n</svg>\n'
    )
