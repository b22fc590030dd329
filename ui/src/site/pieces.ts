/** Changes to whole surfaces and to their cut-outs; as in edit.ts, documents in and out. */
import type { Units } from "../base/quantity";
import { heldUnder, lengthOf, type Point, surfacesOf, type Table } from "./model";
import { alone, lengthWords, putLength, putPair } from "./edit";

const NAME = /^[\p{L}\p{N}][\p{L}\p{N}_ -]{0,39}$/u;

export function nameFits(name: string): boolean {
  return NAME.test(name);
}

/** `stem`, or `stem-2` and so on, that none of `taken` has. */
export function freeName(stem: string, taken: string[]): string {
  let name = stem;
  for (let n = 2; taken.includes(name); n += 1) name = `${stem}-${n}`;
  return name;
}

/** One more surface, a rectangle against walls all round until its edges are said. */
export function addSurface(document: Table, name: string, size: [string, string]): Table {
  const out = structuredClone(document);
  out.surfaces = [...surfacesOf(out), { name, size, other_edges: { kind: "wall" } }];
  return out;
}

/** One more surface as drawn by hand: corners [m], or its size where that says all. */
export function addOutline(document: Table, name: string, corners: Point[], size: Point | null, units: Units): Table {
  const out = structuredClone(document);
  const words = (p: Point): string[] => p.map((m) => lengthWords(m, units));
  const shape = size ? { size: words(size) } : { outline: corners.map(words) };
  out.surfaces = [...surfacesOf(out), { name, ...shape, other_edges: { kind: "wall" } }];
  return out;
}

function meetsOf(document: Table, change: (spec: Table) => void): void {
  for (const s of surfacesOf(document))
    for (const found of [s.other_edges, ...Object.values((s.edges ?? {}) as Table)])
      for (const spec of Array.isArray(found) ? found : [found])
        if (spec && typeof (spec as Table).meets === "string") change(spec as Table);
}

/** Take a surface away; edges of others that met it stand against a wall again. */
export function removeSurface(document: Table, index: number): Table {
  const out = structuredClone(document);
  const name = surfacesOf(out)[index].name;
  out.surfaces = surfacesOf(out).filter((_, i) => i !== index);
  meetsOf(out, (spec) => {
    const meets = String(spec.meets);
    if (meets.slice(0, meets.lastIndexOf(".")) !== name) return;
    for (const k of Object.keys(spec)) if (!k.startsWith("length") && !k.startsWith("mask")) delete spec[k];
    spec.kind = "wall";
  });
  return out;
}

/** Another name for a surface, also where others meet it. */
export function renameSurface(document: Table, index: number, name: string): Table {
  const out = structuredClone(document);
  const was = surfacesOf(out)[index].name;
  surfacesOf(out)[index].name = name;
  meetsOf(out, (spec) => {
    const meets = String(spec.meets);
    const dot = meets.lastIndexOf(".");
    if (meets.slice(0, dot) === was) spec.meets = `${name}${meets.slice(dot)}`;
  });
  return out;
}

function on(document: Table, index: number, change: (cuts: Table[], surface: Table) => void): Table {
  return alone(document, index, (s) => change(((s.cut_outs ??= []) as Table[]), s));
}

/** One more cut-out at `at` [m]. */
export function addCut(document: Table, index: number, sort: "rectangle" | "circle", stem: string, at: Point, size: Point, units: Units): Table {
  return on(document, index, (cuts) => {
    const name = freeName(stem, cuts.map((c) => String(c.name)));
    const place = [lengthWords(at[0], units), lengthWords(at[1], units)];
    cuts.push(
      sort === "circle"
        ? { name, diameter: lengthWords(size[0], units), at: place }
        : { name, size: [lengthWords(size[0], units), lengthWords(size[1], units)], at: place },
    );
  });
}

export function removeCut(document: Table, index: number, cut: number): Table {
  return on(document, index, (cuts, s) => {
    cuts.splice(cut, 1);
    if (!cuts.length) delete s.cut_outs;
  });
}

export function moveCut(document: Table, index: number, cut: number, at: Point, units: Units): Table {
  return on(document, index, (cuts) => putPair(cuts[cut], "at", at, units));
}

/** Size of a rectangle, or diameter of a circle (the first of `size`) [m]. */
export function sizeCut(document: Table, index: number, cut: number, size: Point, units: Units): Table {
  return on(document, index, (cuts) => {
    if (lengthOf(cuts[cut], "diameter") !== null) putLength(cuts[cut], "diameter", size[0], units);
    else putPair(cuts[cut], "size", size, units);
  });
}

export function roundCut(document: Table, index: number, cut: number, r: number, units: Units): Table {
  return on(document, index, (cuts) => putLength(cuts[cut], "corner_radius", r, units));
}

/** A plain word of a cut-out: its name, or when it is cut. */
export function wordCut(document: Table, index: number, cut: number, key: "name" | "cut", value: string): Table {
  return on(document, index, (cuts) => {
    cuts[cut][key] = value;
  });
}

/** Whether the pour stops at a cut-out's edge (wall) or runs over it (free). */
export function edgeCut(document: Table, index: number, cut: number, kind: "wall" | "free"): Table {
  return on(document, index, (cuts) => {
    const edge = (cuts[cut].edge ?? {}) as Table;
    const kept: Table = { kind };
    if (kind === "free") for (const k of Object.keys(edge)) if (k !== "kind") kept[k] = edge[k];
    if (kind === "wall") {
      const held = heldUnder(edge, "mask");
      if (held) kept[held] = edge[held];
    }
    cuts[cut].edge = kept;
  });
}
