/** Level readings of a surface: where the spirit level stood, and how high it was there. */
import { type Units } from "../base/quantity";
import { alone, lengthWords, putLength } from "./edit";
import { boxOf, lengthOf, type Point, type Shape, type Table } from "./model";
import { toStep } from "./snap";

export interface Reading {
  index: number;
  x: number;
  y: number;
  z: number;
}
const KEYS = ["x", "y", "height"] as const;

function listOf(surface: Table): unknown[] {
  const levels = surface.levels as Table | null | undefined;
  return Array.isArray(levels?.readings) ? (levels!.readings as unknown[]) : [];
}

/** The readings of a surface [m]; those that cannot be read here are left out. */
export function readingsOf(surface: Table): Reading[] {
  return listOf(surface).flatMap((r, index) => {
    const table: Table = Array.isArray(r) ? { x: r[0], y: r[1], height: r[2] } : (r as Table);
    const [x, y, z] = KEYS.map((k) => lengthOf(table, k));
    return x === null || y === null || z === null ? [] : [{ index, x, y, z }];
  });
}

function on(document: Table, index: number, change: (list: unknown[], surface: Table) => void): Table {
  return alone(document, index, (s) => {
    const levels = ((s.levels ??= {}) as Table);
    levels.readings ??= [];
    change(levels.readings as unknown[], s);
    if (!(levels.readings as unknown[]).length) delete s.levels;
  });
}

/** Five places to begin with, near the corners and in the middle, all at 0. */
export function startReadings(document: Table, index: number, shape: Shape, units: Units, step: number): Table {
  const [x0, y0, x1, y1] = boxOf(shape);
  const inset = Math.min(0.05, (x1 - x0) / 6, (y1 - y0) / 6);
  const places: Point[] = [
    [x0 + inset, y0 + inset], [x1 - inset, y0 + inset], [x1 - inset, y1 - inset], [x0 + inset, y1 - inset],
    [(x0 + x1) / 2, (y0 + y1) / 2],
  ];
  return on(document, index, (list) => {
    for (const [x, y] of places) list.push([lengthWords(toStep(x, step), units), lengthWords(toStep(y, step), units), lengthWords(0, units)]);
  });
}

/** One more reading, at 0. */
export function addReading(document: Table, index: number, at: Point, units: Units): Table {
  return on(document, index, (list) => {
    list.push([lengthWords(at[0], units), lengthWords(at[1], units), lengthWords(0, units)]);
  });
}

/** Take a reading away; with fewer than three left none stays, for a plane needs three. */
export function removeReading(document: Table, index: number, k: number): Table {
  return on(document, index, (list) => {
    if (list.length <= 3) list.length = 0;
    else list.splice(k, 1);
  });
}

/** Another value [m] of a reading: `axis` 0 and 1 its place, 2 its height. */
export function setReading(document: Table, index: number, k: number, axis: 0 | 1 | 2, m: number, units: Units): Table {
  return on(document, index, (list) => {
    const r = list[k];
    if (Array.isArray(r)) {
      const table: Table = { [KEYS[axis]]: r[axis] };
      putLength(table, KEYS[axis], m, units);
      list[k] = r.map((v, i) => (i === axis ? table[KEYS[axis]] : v));
    } else putLength(r as Table, KEYS[axis], m, units);
  });
}
