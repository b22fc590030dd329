/** Surfaces of a job's document as geometry [m]: read only, plain functions. */
import { readLength } from "../base/quantity";

export type Table = Record<string, unknown>;
export type Kind = "free" | "wall" | "joint" | "upstand" | "waterfall";
export const KINDS: Kind[] = ["free", "wall", "joint", "upstand", "waterfall"];
export type Point = [number, number];

/** Measures that each kind of edge has. */
export const BELONGS: Record<Kind, string[]> = {
  free: ["round_over", "drop", "lip", "mask"],
  wall: ["mask"],
  joint: ["mask"],
  upstand: ["height", "cove", "mask"],
  waterfall: ["round_over", "mask"],
};

const SUFFIX: Record<string, number> = { mm: 1e-3, cm: 1e-2, m: 1, in: 0.0254, ft: 0.3048 };

/** The key under which `table` holds `key`: bare, or with a unit as its suffix. */
export function heldUnder(table: Table, key: string): string | null {
  if (table[key] !== undefined && table[key] !== null) return key;
  for (const unit of Object.keys(SUFFIX)) if (table[`${key}_${unit}`] !== undefined) return `${key}_${unit}`;
  return null;
}

function metres(value: unknown, scale: number): number | null {
  if (typeof value === "string") return readLength(value);
  if (typeof value === "number") return Number.isFinite(value) ? value * scale : null;
  return null;
}

/** A length [m] of a table, or null where there is none that can be read. */
export function lengthOf(table: Table | null | undefined, key: string): number | null {
  if (!table) return null;
  const held = heldUnder(table, key);
  if (held === null) return null;
  return metres(table[held], held === key ? NaN : SUFFIX[held.slice(key.length + 1)]);
}

/** A pair of lengths [m]. */
export function pairOf(table: Table, key: string): Point | null {
  const held = heldUnder(table, key);
  if (held === null || !Array.isArray(table[held])) return null;
  const scale = held === key ? NaN : SUFFIX[held.slice(key.length + 1)];
  const [a, b] = (table[held] as unknown[]).map((v) => metres(v, scale));
  return a === null || b === null || a === undefined || b === undefined ? null : [a, b];
}

export interface Corner {
  x: number;
  y: number;
  r: number;
}
export interface EdgePart {
  edge: number; // from 0
  key: string; // name in the document: front … or 1 …
  stretch: number;
  of: number; // how many stretches the edge has
  kind: Kind;
  spec: Table; // where its measures stand: its own, or those of all other edges
  own: boolean;
  from: Point;
  to: Point;
  length: number;
  name: string; // as other surfaces call it: front, front-2, 3
}
export interface Cut {
  index: number;
  name: string;
  sort: "rectangle" | "circle" | "outline";
  x: number;
  y: number;
  w: number;
  h: number;
  r: number;
  turn: number; // rad
  corners: Point[]; // of an outline, about its own origin
  kind: Kind;
  after: boolean;
}
export interface Shape {
  name: string;
  rect: boolean;
  upright: boolean;
  corners: Corner[];
  parts: EdgePart[];
  cuts: Cut[];
  clockwise: boolean;
  radius: number;
}

export const NAMES = {
  horizontal: ["front", "right", "back", "left"],
  upright: ["bottom", "right", "top", "left"],
};

export function surfacesOf(document: Table): Table[] {
  return Array.isArray(document.surfaces) ? (document.surfaces as Table[]) : [];
}

/** Names of the edges of a surface, in order from edge 1. */
export function edgeKeys(surface: Table): string[] {
  if (heldUnder(surface, "size")) return NAMES[surface.lie === "upright" ? "upright" : "horizontal"];
  const n = Array.isArray(surface.outline) ? surface.outline.length : 0;
  return Array.from({ length: n }, (_, k) => String(k + 1));
}

function cornersOf(list: unknown, usual: number): Corner[] | null {
  if (!Array.isArray(list)) return null;
  const out: Corner[] = [];
  for (const c of list) {
    const table: Table = Array.isArray(c) ? { x: c[0], y: c[1], radius: c[2] } : (c as Table);
    const [x, y] = [lengthOf(table, "x"), lengthOf(table, "y")];
    if (x === null || y === null) return null;
    out.push({ x, y, r: lengthOf(table, "radius") ?? usual });
  }
  return out;
}

/** Key of edge `k` in the table of edges: its name or its number. */
export function edgeHeldUnder(surface: Table, k: number): string | null {
  const edges = (surface.edges ?? {}) as Table;
  const name = edgeKeys(surface)[k];
  return name in edges ? name : String(k + 1) in edges ? String(k + 1) : null;
}

/** Specs of the stretches of edge `k`, and whether they are its own. */
export function stretchesOf(surface: Table, k: number): { specs: Table[]; own: boolean } {
  const key = edgeHeldUnder(surface, k);
  const found = key === null ? null : (surface.edges as Table)[key];
  if (Array.isArray(found) && found.length) return { specs: found as Table[], own: true };
  if (found && typeof found === "object" && !Array.isArray(found)) return { specs: [found as Table], own: true };
  return { specs: [(surface.other_edges as Table | undefined) ?? {}], own: false };
}

/** A surface as geometry; null where its measures cannot be read here. */
export function shapeOf(surface: Table): Shape | null {
  const radius = lengthOf(surface, "corner_radius") ?? 0;
  const size = pairOf(surface, "size");
  const corners = size
    ? ([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]] as Point[]).map(([x, y]) => ({ x, y, r: radius }))
    : cornersOf(surface.outline, radius);
  if (!corners || corners.length < 3) return null;
  const keys = edgeKeys(surface);
  const parts: EdgePart[] = [];
  for (let k = 0; k < corners.length; k += 1) {
    const a = corners[k];
    const b = corners[(k + 1) % corners.length];
    const whole = Math.hypot(b.x - a.x, b.y - a.y);
    const { specs, own } = stretchesOf(surface, k);
    let at = 0;
    specs.forEach((spec, i) => {
      const own_length = i < specs.length - 1 ? (lengthOf(spec, "length") ?? (whole - at) / (specs.length - i)) : whole - at;
      const length = Math.max(Math.min(own_length, whole - at), 0);
      const on = (d: number): Point => {
        const f = whole > 0 ? d / whole : 0;
        return [a.x + (b.x - a.x) * f, a.y + (b.y - a.y) * f];
      };
      const kind = KINDS.includes(spec.kind as Kind) ? (spec.kind as Kind) : "wall";
      parts.push({
        edge: k, key: keys[k], stretch: i, of: specs.length, kind, spec, own,
        from: on(at), to: on(at + length), length,
        name: specs.length > 1 ? `${keys[k]}-${i + 1}` : keys[k],
      });
      at += length;
    });
  }
  const turned = corners.reduce((sum, c, i) => {
    const d = corners[(i + 1) % corners.length];
    return sum + c.x * d.y - d.x * c.y;
  }, 0);
  const cuts = (Array.isArray(surface.cut_outs) ? (surface.cut_outs as Table[]) : []).map(cutOf);
  return {
    name: String(surface.name ?? ""), rect: size !== null, upright: surface.lie === "upright",
    corners, parts, cuts, clockwise: turned < 0, radius,
  };
}

const DEGREES = /^(-?\d+(?:\.\d+)?)\s*(?:deg|degrees?|°)$/;

function cutOf(c: Table, index: number): Cut {
  const at = pairOf(c, "at") ?? [0, 0];
  const size = pairOf(c, "size");
  const d = lengthOf(c, "diameter");
  const own = cornersOf(c.outline, 0);
  const angle = DEGREES.exec(String(c.turn ?? ""));
  const edge = (c.edge ?? {}) as Table;
  return {
    index, name: String(c.name ?? ""),
    sort: size ? "rectangle" : d !== null ? "circle" : "outline",
    x: at[0], y: at[1], w: size?.[0] ?? d ?? 0, h: size?.[1] ?? d ?? 0,
    r: lengthOf(c, "corner_radius") ?? 0,
    turn: angle ? (Number(angle[1]) * Math.PI) / 180 : 0,
    corners: own ? own.map((p) => [p.x, p.y]) : [],
    kind: edge.kind === "free" ? "free" : "wall",
    after: c.cut === "after",
  };
}

/** Box round a shape: least and largest x and y [m]. */
export function boxOf(shape: Shape): [number, number, number, number] {
  const xs = shape.corners.map((c) => c.x);
  const ys = shape.corners.map((c) => c.y);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** Unit normal of an edge part, pointing out of the surface. */
export function outward(shape: Shape, p: { from: Point; to: Point }): Point {
  const dx = p.to[0] - p.from[0];
  const dy = p.to[1] - p.from[1];
  const long = Math.hypot(dx, dy) || 1;
  const way = shape.clockwise ? -1 : 1;
  return [(way * dy) / long, (-way * dx) / long];
}
