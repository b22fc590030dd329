/** What the buttons and fields beside the drawing do. */
import type { Units } from "../base/quantity";
import { t } from "../base/words";
import type { Item } from "./draw";
import * as edit from "./edit";
import { boxOf, pairOf, type Point, type Shape, surfacesOf, type Table } from "./model";
import * as pieces from "./pieces";
import * as levels from "./readings";
import type { Acts } from "./side";
import { stepOf, toStep } from "./snap";

interface Ground {
  document(): Table;
  index: number;
  shape: Shape;
  units: Units;
  commit(document: Table, chosen?: Item | null): void;
}

export function makeActs(g: Ground): Acts {
  const { index, shape, units } = g;
  const doc = g.document;
  const surface = (): Table => surfacesOf(doc())[index];
  const part = (k: number, i: number) => shape.parts.find((p) => p.edge === k && p.stretch === i)!;
  const put = (p: Point, axis: 0 | 1, m: number): Point => (axis === 0 ? [m, p[1]] : [p[0], m]);
  return {
    size: (axis, m) => edit.setSize(doc(), index, put(pairOf(surface(), "size")!, axis, m), units),
    rounding: (k, m) => edit.setRounding(doc(), index, k, m, units),
    corner: (k, axis, m) => edit.moveCorner(doc(), index, k, put([shape.corners[k].x, shape.corners[k].y], axis, m), units),
    edgeLength: (k, m) => edit.setEdgeLength(doc(), index, k, m, units),
    stretchLength: (k, i, m) => edit.setEdgeMeasure(doc(), index, k, i, "length", m, units),
    edgeMeasure: (k, i, key, m) => edit.setEdgeMeasure(doc(), index, k, i, key, m, units),
    clearMeasure: (k, i, key) => g.commit(edit.setEdgeMeasure(doc(), index, k, i, key, null, units)),
    kind: (k, i, kind) => g.commit(edit.setKind(doc(), index, k, i, kind)),
    meets: (k, i, meets) => g.commit(edit.setMeets(doc(), index, k, i, meets)),
    split: (k, i) => {
      const p = part(k, i);
      const half = toStep(p.length / 2, stepOf(units)) || p.length / 2;
      g.commit(edit.splitEdge(doc(), index, k, i, half, units), { sort: "edge", k, stretch: i });
    },
    join: (k, i) => g.commit(edit.joinEdge(doc(), index, k, i), { sort: "edge", k, stretch: 0 }),
    addCorner: (k) => {
      const [a, b] = [shape.corners[k], shape.corners[(k + 1) % shape.corners.length]];
      const step = stepOf(units);
      const flat = Math.abs(a.y - b.y) < 1e-9;
      const steep = Math.abs(a.x - b.x) < 1e-9;
      const mid: Point = [(a.x + b.x) / 2, (a.y + b.y) / 2];
      const at: Point = flat ? [toStep(mid[0], step), mid[1]] : steep ? [mid[0], toStep(mid[1], step)] : mid;
      g.commit(edit.addCorner(doc(), index, k, at, units), { sort: "corner", k: k + 1 });
    },
    removeCorner: (k) => g.commit(edit.removeCorner(doc(), index, k), null),
    free: () => g.commit(edit.setCornersFree(doc(), index, units)),
    cutAt: (k, axis, m) => pieces.moveCut(doc(), index, k, put([shape.cuts[k].x, shape.cuts[k].y], axis, m), units),
    cutSize: (k, axis, m) => pieces.sizeCut(doc(), index, k, put([shape.cuts[k].w, shape.cuts[k].h], axis, m), units),
    cutRound: (k, m) => pieces.roundCut(doc(), index, k, m, units),
    cutName: (k, name) => {
      if (pieces.nameFits(name)) g.commit(pieces.wordCut(doc(), index, k, "name", name));
    },
    cutWhen: (k, cut) => g.commit(pieces.wordCut(doc(), index, k, "cut", cut)),
    cutEdge: (k, kind) => g.commit(pieces.edgeCut(doc(), index, k, kind)),
    removeCut: (k) => g.commit(pieces.removeCut(doc(), index, k), null),
    addCut: (sort) => {
      const b = boxOf(shape);
      const step = stepOf(units);
      const least = Math.min(b[2] - b[0], b[3] - b[1]);
      const across = Math.max(toStep(Math.min(least / 4, sort === "circle" ? 0.12 : 0.4), step), step);
      const at: Point = [toStep((b[0] + b[2]) / 2, step), toStep((b[1] + b[3]) / 2, step)];
      const size: Point = sort === "circle" ? [across, across] : [toStep(across * 1.4, step), across];
      g.commit(pieces.addCut(doc(), index, sort, sort === "circle" ? "hole" : "opening", at, size, units),
        { sort: "cut", k: shape.cuts.length });
    },
    startReadings: () => g.commit(levels.startReadings(doc(), index, shape, units, stepOf(units)), { sort: "reading", k: 0 }),
    addReading: () => {
      const b = boxOf(shape);
      const many = levels.readingsOf(surface()).length;
      const at: Point = [toStep(b[0] + (b[2] - b[0]) * (0.3 + 0.1 * (many % 5)), stepOf(units)), toStep((b[1] + b[3]) / 2, stepOf(units))];
      g.commit(levels.addReading(doc(), index, at, units), { sort: "reading", k: many });
    },
    removeReading: (k) => g.commit(levels.removeReading(doc(), index, k), null),
    reading: (k, axis, m) => levels.setReading(doc(), index, k, axis, m, units),
    rename: (name) => {
      if (name === shape.name) return null;
      if (!pieces.nameFits(name)) return t("site.name_bad");
      if (surfacesOf(doc()).some((s) => s.name === name)) return t("site.name_taken", { name });
      g.commit(pieces.renameSurface(doc(), index, name));
      return null;
    },
    remove: () => g.commit(pieces.removeSurface(doc(), index), null),
  };
}
