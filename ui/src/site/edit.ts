/**
 * Changes to the surfaces of a document. Each takes a document and gives a new one; texts that
 * the change does not concern stay exactly as they were typed.
 */
import { lengthText, type Units } from "../base/quantity";
import {
  BELONGS, edgeHeldUnder, edgeKeys, heldUnder, type Kind, lengthOf, pairOf, type Point, shapeOf,
  stretchesOf, surfacesOf, type Table,
} from "./model";

const CLOSE = 1e-9;
let typed: { m: number; text: string } | null = null;

/** Do `change` so that where it writes the length `m` [m] it writes it as it was typed. */
export function asTyped<T>(m: number, text: string, change: () => T): T {
  typed = { m, text };
  try {
    return change();
  } finally {
    typed = null;
  }
}

/** Text of a length for the document. */
export function lengthWords(m: number, units: Units): string {
  return typed && Math.abs(typed.m - m) < CLOSE ? typed.text : lengthText(m, units);
}

function copy(document: Table): Table {
  return structuredClone(document);
}

/** Put a length [m] under `key`, unless it says that already. */
export function putLength(table: Table, key: string, m: number, units: Units): void {
  const was = lengthOf(table, key);
  if (was !== null && Math.abs(was - m) < CLOSE) return;
  const held = heldUnder(table, key);
  if (held !== null && held !== key) delete table[held];
  table[key] = lengthWords(m, units);
}

/** Put a pair of lengths [m]; a half that stays keeps its text. */
export function putPair(table: Table, key: string, to: Point, units: Units): void {
  const was = pairOf(table, key);
  const held = heldUnder(table, key);
  const texts = held === key ? (table[key] as unknown[]) : [];
  if (held !== null && held !== key) delete table[held];
  table[key] = to.map((m, i) =>
    was && Math.abs(was[i] - m) < CLOSE
      ? typeof texts[i] === "string" ? texts[i] : lengthWords(was[i], units)
      : lengthWords(m, units),
  );
}

/** Change surface `index` of a copy of the document. */
function on(document: Table, index: number, change: (surface: Table, all: Table[]) => void): Table {
  const out = copy(document);
  const all = surfacesOf(out);
  change(all[index], all);
  return out;
}

/** Change surface `index` in a document that shares all else with the one given. */
export function alone(document: Table, index: number, change: (surface: Table) => void): Table {
  const surfaces = [...surfacesOf(document)];
  surfaces[index] = copy(surfaces[index]);
  change(surfaces[index]);
  return { ...document, surfaces };
}

/** New length and depth of a surface given by its size; `shift` moves its cut-outs along. */
export function setSize(document: Table, index: number, size: Point, units: Units, shift: Point = [0, 0]): Table {
  return alone(document, index, (s) => {
    putPair(s, "size", size, units);
    if (shift[0] || shift[1])
      for (const c of (s.cut_outs ?? []) as Table[]) {
        const at = pairOf(c, "at") ?? [0, 0];
        putPair(c, "at", [at[0] + shift[0], at[1] + shift[1]], units);
      }
  });
}

/** Corner `k` of a surface to a new place: a size stays a rectangle, an outline moves one corner. */
export function moveCorner(document: Table, index: number, k: number, to: Point, units: Units): Table {
  const surface = surfacesOf(document)[index];
  const size = pairOf(surface, "size");
  if (size) {
    const left = k === 0 || k === 3;
    const low = k === 0 || k === 1;
    const w = left ? size[0] - to[0] : to[0];
    const d = low ? size[1] - to[1] : to[1];
    return setSize(document, index, [w, d], units, [left ? -to[0] : 0, low ? -to[1] : 0]);
  }
  return alone(document, index, (s) => putCorner(s, k, to, units));
}

function putCorner(s: Table, k: number, to: Point, units: Units): void {
  const list = s.outline as unknown[];
  const c = list[k];
  if (Array.isArray(c)) {
    const table: Table = { x: c[0], y: c[1] };
    putLength(table, "x", to[0], units);
    putLength(table, "y", to[1], units);
    list[k] = [table.x, table.y, ...c.slice(2)];
  } else {
    putLength(c as Table, "x", to[0], units);
    putLength(c as Table, "y", to[1], units);
  }
}

/** Edge `k` moved by `by` [m] along its outward side. */
export function moveEdge(document: Table, index: number, k: number, by: Point, units: Units): Table {
  const surface = surfacesOf(document)[index];
  const size = pairOf(surface, "size");
  if (size) {
    if (k === 1) return setSize(document, index, [size[0] + by[0], size[1]], units);
    if (k === 2) return setSize(document, index, [size[0], size[1] + by[1]], units);
    if (k === 3) return setSize(document, index, [size[0] - by[0], size[1]], units, [-by[0], 0]);
    return setSize(document, index, [size[0], size[1] - by[1]], units, [0, -by[1]]);
  }
  const shape = shapeOf(surface);
  if (!shape) return document;
  const n = shape.corners.length;
  return alone(document, index, (s) => {
    for (const i of [k, (k + 1) % n])
      putCorner(s, i, [shape.corners[i].x + by[0], shape.corners[i].y + by[1]], units);
  });
}

/** Length of edge `k` as typed: the far corner moves along the edge, and what is square stays so. */
export function setEdgeLength(document: Table, index: number, k: number, length: number, units: Units): Table {
  const surface = surfacesOf(document)[index];
  const size = pairOf(surface, "size");
  if (size) return setSize(document, index, k % 2 === 0 ? [length, size[1]] : [size[0], length], units);
  const shape = shapeOf(surface);
  if (!shape) return document;
  const n = shape.corners.length;
  const a = shape.corners[k];
  const b = shape.corners[(k + 1) % n];
  const c = shape.corners[(k + 2) % n];
  const long = Math.hypot(b.x - a.x, b.y - a.y);
  if (long < CLOSE) return document;
  const u: Point = [(b.x - a.x) / long, (b.y - a.y) / long];
  const by: Point = [u[0] * (length - long), u[1] * (length - long)];
  const square = Math.abs((c.x - b.x) * u[0] + (c.y - b.y) * u[1]) < 1e-6;
  return on(document, index, (s) => {
    putCorner(s, (k + 1) % n, [b.x + by[0], b.y + by[1]], units);
    if (square && n > 3) putCorner(s, (k + 2) % n, [c.x + by[0], c.y + by[1]], units);
  });
}

/** Rounding of one corner of an outline, or of all corners (`k` null). */
export function setRounding(document: Table, index: number, k: number | null, r: number, units: Units): Table {
  return on(document, index, (s) => {
    if (k === null) {
      putLength(s, "corner_radius", r, units);
      return;
    }
    const list = s.outline as unknown[];
    const c = list[k];
    if (Array.isArray(c)) list[k] = [c[0], c[1], lengthWords(r, units)];
    else putLength(c as Table, "radius", r, units);
  });
}

function rename(all: Table[], from: (name: string) => string | null): void {
  const visit = (spec: unknown): void => {
    if (!spec || typeof spec !== "object") return;
    const table = spec as Table;
    if (typeof table.meets !== "string") return;
    const to = from(table.meets);
    if (to === null) {
      delete table.meets;
      table.kind = "wall";
      for (const k of Object.keys(table)) if (!["kind", "length"].includes(k) && !k.startsWith("length")) delete table[k];
    } else table.meets = to;
  };
  for (const s of all) {
    visit(s.other_edges);
    for (const found of Object.values((s.edges ?? {}) as Table)) (Array.isArray(found) ? found : [found]).forEach(visit);
  }
}

/** What other surfaces call edges, put through `change` for edges of the surface called `name`. */
function renameEdges(all: Table[], name: string, change: (edge: string) => string | null): void {
  rename(all, (meets) => {
    const dot = meets.lastIndexOf(".");
    if (meets.slice(0, dot) !== name) return meets;
    const to = change(meets.slice(dot + 1));
    return to === null ? null : `${name}.${to}`;
  });
}

/** A rectangle as an outline of four free corners; its edges keep what they are. */
export function setCornersFree(document: Table, index: number, units: Units): Table {
  return on(document, index, (s, all) => {
    const size = pairOf(s, "size");
    if (!size) return;
    const keys = edgeKeys(s);
    const texts = Array.isArray(s.size) ? (s.size as unknown[]) : [];
    const [w, d] = [0, 1].map((i) => (typeof texts[i] === "string" ? texts[i] : lengthWords(size[i], units)));
    const zero = lengthWords(0, units);
    delete s[heldUnder(s, "size")!];
    s.outline = [[zero, zero], [w, zero], [w, d], [zero, d]];
    const edges: Table = {};
    for (const [key, spec] of Object.entries((s.edges ?? {}) as Table))
      edges[keys.includes(key) ? String(keys.indexOf(key) + 1) : key] = spec;
    if (Object.keys(edges).length) s.edges = edges;
    renameEdges(all, String(s.name), (edge) => {
      const [base, ...rest] = edge.split("-");
      const k = keys.indexOf(base);
      return [k < 0 ? base : String(k + 1), ...rest].join("-");
    });
  });
}

function renumber(s: Table, all: Table[], to: (edge: number) => number | null): void {
  const edges: Table = {};
  for (const [key, spec] of Object.entries((s.edges ?? {}) as Table)) {
    const n = to(Number(key));
    if (n !== null) edges[String(n)] = spec;
  }
  if (s.edges !== undefined) s.edges = edges;
  renameEdges(all, String(s.name), (edge) => {
    const [base, ...rest] = edge.split("-");
    const n = to(Number(base));
    return n === null ? null : [String(n), ...rest].join("-");
  });
}

/** A new corner on edge `k` at `where`; both halves are what the edge was. */
export function addCorner(document: Table, index: number, k: number, where: Point, units: Units): Table {
  let start = document;
  if (pairOf(surfacesOf(document)[index], "size")) start = setCornersFree(document, index, units);
  return on(start, index, (s, all) => {
    const own = edgeHeldUnder(s, k);
    const spec = own === null ? null : structuredClone(stretchesOf(s, k).specs.at(-1)!);
    renumber(s, all, (n) => (n > k + 1 ? n + 1 : n));
    (s.outline as unknown[]).splice(k + 1, 0, [lengthWords(where[0], units), lengthWords(where[1], units)]);
    if (spec) {
      delete spec.meets; // only one of the halves can go on meeting what the edge met
      if (spec.kind === "joint" || spec.kind === "waterfall") spec.kind = "wall";
      (s.edges as Table)[String(k + 2)] = spec;
    }
  });
}

/** Take corner `k` of an outline out, with the edge that starts there. */
export function removeCorner(document: Table, index: number, k: number): Table {
  return on(document, index, (s, all) => {
    const list = s.outline as unknown[] | undefined;
    if (!list || list.length <= 3) return;
    list.splice(k, 1);
    renumber(s, all, (n) => (n === k + 1 ? null : n > k + 1 ? n - 1 : n));
  });
}

/** The stretches of edge `k` as its own list, ready to be changed. */
function ownStretches(s: Table, k: number): Table[] {
  const { specs, own } = stretchesOf(s, k);
  const list = own ? specs : specs.map((spec) => structuredClone(spec));
  const edges = ((s.edges ??= {}) as Table);
  const key = edgeHeldUnder(s, k) ?? edgeKeys(s)[k];
  edges[key] = list;
  return list;
}

/** Write a lone stretch as one table again, as people do. */
function tidy(s: Table, k: number): void {
  const key = edgeHeldUnder(s, k);
  if (key === null) return;
  const list = (s.edges as Table)[key];
  if (Array.isArray(list) && list.length === 1) (s.edges as Table)[key] = list[0];
}

/** Free edges of this surface, or else of the job, lend their measures to a new one. */
function usual(all: Table[], s: Table, kind: Kind): Table {
  for (const one of [s, ...all]) {
    const specs: unknown[] = [one.other_edges];
    for (const found of Object.values((one.edges ?? {}) as Table)) specs.push(...(Array.isArray(found) ? found : [found]));
    for (const spec of specs as (Table | undefined)[]) {
      if (spec?.kind !== kind) continue;
      const out: Table = {};
      for (const key of Object.keys(spec))
        if (["round_over", "drop", "lip", "height", "cove"].some((b) => key === b || key.startsWith(`${b}_`)) &&
            BELONGS[kind].some((b) => key === b || key.startsWith(`${b}_`))) out[key] = spec[key];
      return out;
    }
  }
  return {};
}

/** What an edge is; measures that its new kind has not are taken out. */
export function setKind(document: Table, index: number, k: number, stretch: number, kind: Kind): Table {
  return on(document, index, (s, all) => {
    const list = ownStretches(s, k);
    const spec = list[stretch];
    if (spec.kind === kind) {
      tidy(s, k);
      return;
    }
    const keys = edgeKeys(s);
    const mine = list.length > 1 ? `${keys[k]}-${stretch + 1}` : keys[k];
    if (kind !== "joint" && kind !== "waterfall")
      renameEdges(all, String(s.name), (edge) => (edge === mine ? null : edge));
    const kept: Table = { kind };
    for (const key of Object.keys(spec)) {
      if (key === "kind" || key === "meets") continue;
      const base = ["length", "mask", ...BELONGS[kind]].some((b) => key === b || key.startsWith(`${b}_`));
      if (base) kept[key] = spec[key];
    }
    list[stretch] = { ...usual(all, s, kind), ...kept };
    tidy(s, k);
  });
}

/** A measure of an edge [m]; null takes it out. */
export function setEdgeMeasure(document: Table, index: number, k: number, stretch: number, key: string, m: number | null, units: Units): Table {
  return on(document, index, (s) => {
    const spec = ownStretches(s, k)[stretch];
    const held = heldUnder(spec, key);
    if (m === null) {
      if (held !== null) delete spec[held];
    } else putLength(spec, key, m, units);
    tidy(s, k);
  });
}

/** Which edge of another surface this one meets (`surface.edge`), or none. */
export function setMeets(document: Table, index: number, k: number, stretch: number, meets: string | null): Table {
  return on(document, index, (s, all) => {
    const name = String(s.name);
    const keys = edgeKeys(s);
    const mine = stretchesOf(s, k).specs.length > 1 ? `${keys[k]}-${stretch + 1}` : keys[k];
    renameEdges(all, name, (edge) => (edge === mine ? null : edge));
    const spec = ownStretches(s, k)[stretch];
    if (meets === null) delete spec.meets;
    else {
      spec.meets = meets;
      const dot = meets.lastIndexOf(".");
      const other = all.find((o) => o.name === meets.slice(0, dot));
      const [base, part] = meets.slice(dot + 1).split("-");
      const at = other ? edgeKeys(other).indexOf(base) : -1;
      if (other && at >= 0 && edgeHeldUnder(other, at) !== null) {
        const list = ownStretches(other, at);
        const i = part ? Number(part) - 1 : 0;
        if (list[i]) {
          const kept: Table = { kind: spec.kind, meets: `${name}.${mine}` };
          for (const key of Object.keys(list[i]))
            if (key.startsWith("length") || BELONGS[spec.kind as Kind].some((b) => key === b || key.startsWith(`${b}_`)))
              kept[key] = list[i][key];
          list[i] = kept;
        }
        tidy(other, at);
      }
    }
    tidy(s, k);
  });
}

/** Part a stretch in two at `at` [m] from its start; the second half takes what is left. */
export function splitEdge(document: Table, index: number, k: number, stretch: number, at: number, units: Units): Table {
  return on(document, index, (s, all) => {
    const list = ownStretches(s, k);
    const first = list[stretch];
    const second = structuredClone(first);
    delete second.meets;
    if (second.kind === "joint" || second.kind === "waterfall") second.kind = "wall";
    const many = list.length > 1;
    const keys = edgeKeys(s);
    putLength(first, "length", at, units);
    const held = heldUnder(second, "length");
    if (held && stretch === list.length - 1) delete second[held];
    else if (held) putLength(second, "length", Math.max(lengthOf(second, "length")! - at, 0.001), units);
    list.splice(stretch + 1, 0, second);
    renameEdges(all, String(s.name), (edge) => {
      const [base, part] = edge.split("-");
      if (base !== keys[k]) return edge;
      const n = many ? Number(part) : 1;
      return `${base}-${n > stretch + 1 ? n + 1 : n}`;
    });
  });
}

/** Make a parted edge one again: it becomes what stretch `stretch` is. */
export function joinEdge(document: Table, index: number, k: number, stretch: number): Table {
  return on(document, index, (s, all) => {
    const list = ownStretches(s, k);
    const kept = list[stretch];
    const held = heldUnder(kept, "length");
    if (held) delete kept[held];
    const key = edgeKeys(s)[k];
    (s.edges as Table)[edgeHeldUnder(s, k) ?? key] = kept;
    renameEdges(all, String(s.name), (edge) => {
      const [base, part] = edge.split("-");
      if (base !== key || part === undefined) return edge;
      return Number(part) === stretch + 1 ? base : null;
    });
  });
}
