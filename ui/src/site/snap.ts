/** Snapping of a dragged point [m]: to other corners' lines first, then to the step. */
import type { Point } from "./model";

export interface Snapped {
  at: Point;
  /** Lines it snapped to, to be shown. */
  x: number | null;
  y: number | null;
}

/** Step of the grid [m]: 10 mm, or half an inch. */
export function stepOf(units: "metric" | "us"): number {
  return units === "us" ? 0.0127 : 0.01;
}

export function toStep(v: number, step: number): number {
  return Math.round(v / step) * step;
}

function near(v: number, lines: number[], reach: number): number | null {
  let best: number | null = null;
  for (const line of lines) if (Math.abs(line - v) <= reach && (best === null || Math.abs(line - v) < Math.abs(best - v))) best = line;
  return best;
}

/** `p` snapped within `reach` [m] to the lines `xs`, `ys`, else to `step`; 0 leaves it free. */
export function snap(p: Point, xs: number[], ys: number[], step: number, reach: number): Snapped {
  if (step === 0) return { at: [Math.round(p[0] * 1e4) / 1e4, Math.round(p[1] * 1e4) / 1e4], x: null, y: null };
  const x = near(p[0], xs, reach);
  const y = near(p[1], ys, reach);
  return { at: [x ?? toStep(p[0], step), y ?? toStep(p[1], step)], x, y };
}
