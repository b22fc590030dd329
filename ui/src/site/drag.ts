/** What a drag or an arrow key does to a surface: from px moved to a changed document. */
import type { Units } from "../base/quantity";
import type { Item } from "./draw";
import { moveCorner, moveEdge } from "./edit";
import { boxOf, outward, type Point, type Shape, surfacesOf, type Table } from "./model";
import { moveCut, sizeCut } from "./pieces";
import { readingsOf, setReading } from "./readings";
import { snap, toStep } from "./snap";

export interface Dragged {
  document: Table;
  guides: { x: number | null; y: number | null };
  /** How far the surface's own origin moved on the plan [m]. */
  shift: Point;
}

const LEAST = 0.01;

/** Move `item` of surface `index` by `by` [m] from where it stood in `document`. */
export function moved(
  document: Table, index: number, shape: Shape, item: Item, by: Point, units: Units, step: number, reach: number,
): Dragged | null {
  const none = { x: null, y: null };
  if (item.sort === "corner") {
    const c = shape.corners[item.k];
    const others = shape.corners.filter((_, k) => k !== item.k);
    const sn = snap([c.x + by[0], c.y + by[1]], others.map((o) => o.x), others.map((o) => o.y), step, reach);
    let at = sn.at;
    let shift: Point = [0, 0];
    let guides = { x: sn.x, y: sn.y };
    if (shape.rect) {
      const size: Point = [shape.corners[1].x, shape.corners[2].y];
      const left = item.k === 0 || item.k === 3;
      const low = item.k < 2;
      // the neighbours move along, so only the step counts here, and no side turns over
      const to = snap([c.x + by[0], c.y + by[1]], [], [], step, 0).at;
      at = [left ? Math.min(to[0], size[0] - LEAST) : Math.max(to[0], LEAST),
        low ? Math.min(to[1], size[1] - LEAST) : Math.max(to[1], LEAST)];
      shift = [left ? at[0] : 0, low ? at[1] : 0];
      guides = none;
    }
    return { document: moveCorner(document, index, item.k, at, units), guides, shift };
  }
  if (item.sort === "edge") {
    const part = shape.parts.find((p) => p.edge === item.k)!;
    const o = outward(shape, part);
    let far = by[0] * o[0] + by[1] * o[1];
    const upright = Math.abs(o[0]) > 0.999;
    const flat = Math.abs(o[1]) > 0.999;
    const guides: { x: number | null; y: number | null } = { ...none };
    if (upright || flat) {
      const axis = upright ? 0 : 1;
      const sign = o[axis] > 0 ? 1 : -1;
      const from = part.from[axis];
      const others = shape.rect ? [] : shape.corners
        .filter((_, k) => k !== item.k && k !== (item.k + 1) % shape.corners.length).map((c) => (axis ? c.y : c.x));
      const p: Point = axis ? [0, from + sign * far] : [from + sign * far, 0];
      const sn = snap(p, axis ? [] : others, axis ? others : [], step, reach);
      far = (sn.at[axis] - from) * sign;
      guides[axis ? "y" : "x"] = axis ? sn.y : sn.x;
    } else if (step) far = toStep(far, step);
    if (shape.rect) {
      const across = item.k % 2 === 0 ? shape.corners[2].y : shape.corners[1].x;
      far = Math.max(far, LEAST - across);
    }
    const move: Point = [o[0] * far, o[1] * far];
    const shift: Point = shape.rect && (item.k === 0 || item.k === 3) ? [item.k === 3 ? move[0] : 0, item.k === 0 ? move[1] : 0] : [0, 0];
    return { document: moveEdge(document, index, item.k, move, units), guides, shift };
  }
  if (item.sort === "reading") {
    const r = readingsOf(surfacesOf(document)[index]).find((x) => x.index === item.k);
    if (!r) return null;
    const box = boxOf(shape);
    const to = snap([r.x + by[0], r.y + by[1]], [], [], step, 0).at;
    const at: Point = [Math.min(Math.max(to[0], box[0]), box[2]), Math.min(Math.max(to[1], box[1]), box[3])];
    const half = setReading(document, index, item.k, 0, at[0], units);
    return { document: setReading(half, index, item.k, 1, at[1], units), guides: none, shift: [0, 0] };
  }
  const cut = shape.cuts[item.k];
  if (!cut) return null;
  if (item.sort === "cut") {
    const box = boxOf(shape);
    const others = shape.cuts.filter((c) => c.index !== cut.index);
    const sn = snap([cut.x + by[0], cut.y + by[1]], [(box[0] + box[2]) / 2, ...others.map((c) => c.x)],
      [(box[1] + box[3]) / 2, ...others.map((c) => c.y)], step, reach);
    return { document: moveCut(document, index, item.k, sn.at, units), guides: { x: sn.x, y: sn.y }, shift: [0, 0] };
  }
  const [cos, sin] = [Math.cos(cut.turn), Math.sin(cut.turn)];
  const local: Point = [by[0] * cos + by[1] * sin, -by[0] * sin + by[1] * cos];
  const grown = (size: number, d: number): number => {
    const to = size + 2 * d;
    return Math.max(step ? toStep(to, step) : Math.round(to * 1e3) / 1e3, step || 0.001);
  };
  const size: Point = [grown(cut.w, local[0]), grown(cut.h, local[1])];
  return { document: sizeCut(document, index, item.k, size, units), guides: none, shift: [0, 0] };
}
