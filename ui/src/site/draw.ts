/** A surface to scale as SVG: edges by colour, line and word, lengths, handles, guide lines. */
import { type Ink, ink, inked, inkText } from "../base/ink";
import { lengthShown, type Locale, type Units } from "../base/quantity";
import { t } from "../base/words";
import type { Reading } from "./readings";
import { BELONGS, type Cut, type EdgePart, type Kind, lengthOf, outward, type Point, type Shape } from "./model";

export interface View {
  scale: number; // px per m
  ox: number; // px, where x = 0 m lies
  oy: number; // px, where y = 0 m lies
  wide: number;
  tall: number;
}

/** What is chosen or held: a corner, an edge stretch, a cut-out, a cut-out's corner. */
export type Item =
  | { sort: "corner"; k: number }
  | { sort: "edge"; k: number; stretch: number }
  | { sort: "cut"; k: number }
  | { sort: "grip"; k: number }
  | { sort: "reading"; k: number };

export const itemKey = (i: Item): string => `${i.sort}-${i.k}${i.sort === "edge" ? `-${i.stretch}` : ""}`;

export const toScreen = (v: View, p: Point): Point => [v.ox + p[0] * v.scale, v.oy - p[1] * v.scale];
export const toWorld = (v: View, x: number, y: number): Point => [(x - v.ox) / v.scale, (v.oy - y) / v.scale];

/** A view that shows the box with room for its lengths. */
export function fit(box: [number, number, number, number], wide: number, tall: number): View {
  const room = wide < 500 ? 64 : 84;
  const w = Math.max(box[2] - box[0], 0.01);
  const h = Math.max(box[3] - box[1], 0.01);
  const scale = Math.max(Math.min((wide - 2 * room) / w, (tall - 2 * room) / h), 5);
  return {
    scale, wide, tall,
    ox: wide / 2 - ((box[0] + box[2]) / 2) * scale,
    oy: tall / 2 + ((box[1] + box[3]) / 2) * scale,
  };
}

const n = (x: number): string => x.toFixed(1);

/** Outline with rounded corners as path data. */
export function outlinePath(shape: Shape, v: View): string {
  const c = shape.corners;
  let d = "";
  for (let i = 0; i < c.length; i += 1) {
    const [a, b, e] = [c[(i + c.length - 1) % c.length], c[i], c[(i + 1) % c.length]];
    const p = toScreen(v, [b.x, b.y]);
    const to = (q: typeof a): Point => {
      const w = toScreen(v, [q.x, q.y]);
      const long = Math.hypot(w[0] - p[0], w[1] - p[1]) || 1;
      return [(w[0] - p[0]) / long, (w[1] - p[1]) / long];
    };
    const [u, w] = [to(a), to(e)];
    const half = Math.acos(Math.min(Math.max(u[0] * w[0] + u[1] * w[1], -1), 1)) / 2;
    const cut = b.r > 0 && half > 0.01 && half < 1.56 ? Math.min((b.r * v.scale) / Math.tan(half), 1e5) : 0;
    const [p0, p1] = [[p[0] + u[0] * cut, p[1] + u[1] * cut], [p[0] + w[0] * cut, p[1] + w[1] * cut]];
    d += `${i ? "L" : "M"}${n(p0[0])} ${n(p0[1])}`;
    if (cut) {
      const sweep = u[0] * w[1] - u[1] * w[0] > 0 ? 0 : 1;
      const r = n(b.r * v.scale);
      d += `A${r} ${r} 0 0 ${sweep} ${n(p1[0])} ${n(p1[1])}`;
    }
  }
  return `${d}Z`;
}

/** A cut-out as path data. */
export function cutPath(c: Cut, v: View): string {
  const cos = Math.cos(c.turn);
  const sin = Math.sin(c.turn);
  const at = (x: number, y: number): Point => toScreen(v, [c.x + x * cos - y * sin, c.y + x * sin + y * cos]);
  if (c.sort === "circle") {
    const [x, y] = toScreen(v, [c.x, c.y]);
    const r = (c.w / 2) * v.scale;
    return `M${n(x - r)} ${n(y)}a${n(r)} ${n(r)} 0 1 0 ${n(2 * r)} 0a${n(r)} ${n(r)} 0 1 0 ${n(-2 * r)} 0Z`;
  }
  if (c.sort === "outline")
    return `M${c.corners.map((p) => at(p[0], p[1]).map(n).join(" ")).join("L")}Z`;
  const [w, h] = [c.w / 2, c.h / 2];
  const r = Math.min(c.r, w, h);
  const R = n(r * v.scale);
  const line: [Point, Point][] = [
    [[-w + r, -h], [w - r, -h]], [[w, -h + r], [w, h - r]], [[w - r, h], [-w + r, h]], [[-w, h - r], [-w, -h + r]],
  ];
  let d = "";
  line.forEach(([a, b], i) => {
    d += `${i ? (r > 0 ? `A${R} ${R} 0 0 0 ` : "L") : "M"}${at(...a).map(n).join(" ")}L${at(...b).map(n).join(" ")}`;
  });
  return r > 0 ? `${d}A${R} ${R} 0 0 0 ${at(...line[0][0]).map(n).join(" ")}Z` : `${d}Z`;
}

const seg = (p: Point, q: Point, cls: string): Ink =>
  ink("line", { x1: n(p[0]), y1: n(p[1]), x2: n(q[0]), y2: n(q[1]), class: cls });

/** A mark along an edge, once for each place: one path for them all. */
const marks = (places: number[], cls: string, one: (d: number) => string): Ink =>
  ink("path", { d: places.map(one).join(""), class: cls });

function styled(kind: Kind, a: Point, b: Point, out: Point): Ink {
  const g = ink("g", { class: `pw-edge pw-kind-${kind}` }, seg(a, b, "pw-edge-line"));
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const u: Point = long ? [(b[0] - a[0]) / long, (b[1] - a[1]) / long] : [1, 0];
  const at = (d: number, off = 0, along = 0): Point => [
    a[0] + u[0] * (d + along) + out[0] * off, a[1] + u[1] * (d + along) + out[1] * off,
  ];
  const spread = (step: number): number[] => {
    const count = Math.min(Math.max(1, Math.round(long / step)), 200);
    return Array.from({ length: count }, (_, k) => ((k + 0.5) * long) / count);
  };
  const say = (p: Point): string => `${n(p[0])} ${n(p[1])}`;
  if (kind === "free") g.inside.push(seg(at(0, 6), at(long, 6), "pw-edge-fine"));
  else if (kind === "wall") g.inside.push(marks(spread(10), "pw-edge-fine", (k) => `M${say(at(k))}L${say(at(k, 7, 6))}`));
  else if (kind === "upstand")
    g.inside.push(marks(spread(24), "pw-edge-post", (k) => {
      const p = at(k, 7);
      return `M${say([p[0] - 3, p[1] - 3])}h6v6h-6z`;
    }));
  else if (kind === "waterfall")
    g.inside.push(marks(spread(56), "pw-edge-arrow", (k) => `M${say(at(k, 3, -5))}L${say(at(k, 13))}L${say(at(k, 3, 5))}z`));
  return g;
}

export interface Shown {
  shape: Shape;
  view: View;
  chosen: Item | null;
  guides: { x: number | null; y: number | null };
  units: Units;
  locale: Locale;
  edgeName(part: EdgePart): string;
  readings: Reading[];
}

/** A small height [m] as read off a feeler. */
export function heightShown(m: number, units: Units, locale: Locale): string {
  const text = units === "us" ? (m / 0.0254).toFixed(3) : (m * 1e3).toFixed(1);
  return `${m > 0 ? "+" : ""}${text.replace("-", "−").replace(".", locale.decimal)} ${units === "us" ? "in" : "mm"}`;
}

const spot = (x: number, y: number): Ink => ink("circle", { cx: n(x), cy: n(y), r: 22, class: "pw-reach-spot" });

function readings(shown: Shown): Ink[] {
  const { view: v, chosen } = shown;
  return shown.readings.map((r) => {
    const [x, y] = toScreen(v, [r.x, r.y]);
    const said = heightShown(r.z, shown.units, shown.locale);
    const left = x > v.wide - 90;
    return handle({ sort: "reading", k: r.index }, chosen, `${t("site.reading", { n: r.index + 1 })}, ${said}`,
      spot(x, y),
      ink("path", { d: `M${n(x)} ${n(y - 9)}l8 9-8 9-8-9z`, class: "pw-knob pw-reading-knob" }),
      inkText(said, { x: n(x + (left ? -13 : 13)), y: n(y - 10), class: left ? "pw-reading-text pw-ends" : "pw-reading-text", "aria-hidden": "true" }));
  });
}

function edgeLabel(shown: Shown, p: EdgePart, a: Point, b: Point, out: Point, chosen: boolean): Ink | null {
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const length = lengthShown(p.length, shown.units, shown.locale);
  const kind = t(`site.kind_${p.kind}`);
  const more = ["drop", "height", "lip", "cove"].flatMap((key) => {
    const m = lengthOf(p.spec, key);
    return m && BELONGS[p.kind].includes(key) ? [`${t(`site.short_${key}`)} ${lengthShown(m, shown.units, shown.locale)}`] : [];
  });
  const full = [`${length} · ${kind}`, ...more].join(" · ");
  const short = `${length} · ${kind}`;
  const wide = (text: string): number => text.length * 7.6;
  const text = wide(full) < long + (p.of === 1 ? 40 : -6) || chosen ? full : wide(short) < long + (p.of === 1 ? 40 : -6) ? short : wide(length) < long + (p.of === 1 ? 30 : -6) ? length : null;
  if (text === null) return null;
  const steep = Math.abs(out[0]) > 0.8;
  const off = 26;
  let [x, y] = [(a[0] + b[0]) / 2 + out[0] * off, (a[1] + b[1]) / 2 + out[1] * off];
  const half = wide(text) / 2 + 4;
  if (!steep) x = Math.min(Math.max(x, half), Math.max(shown.view.wide - half, half));
  else {
    y = Math.min(Math.max(y, half), Math.max(shown.view.tall - half, half));
    x = Math.min(Math.max(x, 12), shown.view.wide - 12);
  }
  const made = inkText(text, {
    x: n(x), y: n(y + (steep ? 0 : 5)), class: chosen ? "pw-length pw-chosen" : "pw-length", "aria-hidden": "true",
    transform: steep ? `rotate(${out[0] < 0 ? -90 : 90} ${n(x)} ${n(y)})` : undefined, "dominant-baseline": steep ? "central" : undefined,
  });
  return { ...made, key: p.name };
}

function handle(item: Item, chosen: Item | null, label: string, ...inside: Ink[]): Ink {
  const key = itemKey(item);
  const on = chosen !== null && itemKey(chosen) === key;
  const set = {
    class: on ? "pw-item pw-on" : "pw-item", "data-item": key, tabindex: 0, role: "button",
    "aria-label": label, "aria-pressed": on ? "true" : "false",
  };
  return { tag: "g", set, key, inside };
}

/** Everything on the drawing, in painting order. */
export function drawSurface(shown: Shown): Ink[] {
  const { shape, view: v, chosen } = shown;
  const say = (m: number): string => lengthShown(m, shown.units, shown.locale);
  const lines = ink("g");
  const labels = ink("g");
  for (const p of shape.parts) {
    const [a, b] = [toScreen(v, p.from), toScreen(v, p.to)];
    const o = outward(shape, p);
    const out: Point = [o[0], -o[1]];
    const item: Item = { sort: "edge", k: p.edge, stretch: p.stretch };
    const on = chosen !== null && itemKey(chosen) === itemKey(item);
    const where = t("site.edge", { name: shown.edgeName(p) });
    lines.inside.push(handle(item, chosen, `${where}, ${t(`site.kind_${p.kind}`)}, ${say(p.length)}`,
      seg(a, b, "pw-reach"), seg(a, b, "pw-glow"), styled(p.kind, a, b, out)));
    const label = edgeLabel(shown, p, a, b, out, on);
    if (label) labels.inside.push(label);
    if (p.stretch > 0)
      lines.inside.push(seg([a[0] - out[0] * 12, a[1] - out[1] * 12], [a[0] + out[0] * 12, a[1] + out[1] * 12], "pw-part"));
  }
  const guides = ink("g");
  for (const [axis, value] of [["x", shown.guides.x], ["y", shown.guides.y]] as const) {
    if (value === null) continue;
    const p = toScreen(v, axis === "x" ? [value, 0] : [0, value]);
    guides.inside.push(axis === "x" ? seg([p[0], 0], [p[0], v.tall], "pw-guide") : seg([0, p[1]], [v.wide, p[1]], "pw-guide"));
  }
  const corners = shape.corners.map((c, k) => {
    const [x, y] = toScreen(v, [c.x, c.y]);
    return handle({ sort: "corner", k }, chosen,
      `${t("site.corner", { n: k + 1 })}, ${t("site.x")} ${say(c.x)}, ${t(shape.upright ? "site.y_upright" : "site.y")} ${say(c.y)}`,
      spot(x, y), ink("circle", { cx: n(x), cy: n(y), r: 8, class: "pw-knob" }));
  });
  return [
    ink("path", { d: outlinePath(shape, v), class: "pw-face", "aria-hidden": "true" }), lines,
    ...shape.cuts.flatMap((c) => cut(c, shown, say)), guides, labels, ...readings(shown), ...corners,
  ];
}

function cut(c: Cut, shown: Shown, say: (m: number) => string): Ink[] {
  const { view: v, chosen } = shown;
  const [x, y] = toScreen(v, [c.x, c.y]);
  const measure = c.sort === "circle" ? `⌀ ${say(c.w)}` : c.sort === "rectangle" ? `${say(c.w)} × ${say(c.h)}` : "";
  const on = chosen !== null && (itemKey(chosen) === `cut-${c.index}` || itemKey(chosen) === `grip-${c.index}`);
  const wide = c.w * v.scale;
  const out: Ink[] = [
    handle({ sort: "cut", k: c.index }, chosen, `${t("site.cut_out")} ${c.name}, ${measure}`,
      ink("path", { d: cutPath(c, v), class: `pw-cut pw-cut-${c.kind}${c.after ? " pw-after" : ""}` }),
      ink("path", { d: `M${n(x - 7)} ${n(y)}h14M${n(x)} ${n(y - 7)}v14`, class: "pw-cross" })),
  ];
  if (wide > 70 || on) {
    out.push({ ...inkText(c.name, { x: n(x), y: n(y - 16), class: "pw-cut-name", "aria-hidden": "true" }), key: `name-${c.index}` });
    if (wide > measure.length * 7 || on)
      out.push({ ...inkText(measure, { x: n(x), y: n(y + 28), class: "pw-cut-size", "aria-hidden": "true" }), key: `size-${c.index}` });
  }
  if (on && c.sort !== "outline") {
    const cos = Math.cos(c.turn);
    const sin = Math.sin(c.turn);
    const [w, h] = c.sort === "circle" ? [c.w / 2, 0] : [c.w / 2, c.h / 2];
    const [gx, gy] = toScreen(v, [c.x + w * cos - h * sin, c.y + w * sin + h * cos]);
    out.push(handle({ sort: "grip", k: c.index }, chosen, `${t("site.cut_out")} ${c.name}: ${t(c.sort === "circle" ? "site.diameter" : "site.measures")}`,
      spot(gx, gy), ink("rect", { x: n(gx - 7), y: n(gy - 7), width: 14, height: 14, class: "pw-knob" })));
  }
  return out;
}

/** A small drawing of a surface for the list, all to one scale. */
export function thumbnail(shape: Shape, pxPerM: number, wide: number, tall: number): SVGSVGElement {
  const xs = shape.corners.map((c) => c.x);
  const ys = shape.corners.map((c) => c.y);
  const v: View = {
    scale: pxPerM, wide, tall,
    ox: wide / 2 - ((Math.min(...xs) + Math.max(...xs)) / 2) * pxPerM,
    oy: tall / 2 + ((Math.min(...ys) + Math.max(...ys)) / 2) * pxPerM,
  };
  return inked(ink("svg", { viewBox: `0 0 ${wide} ${tall}`, width: wide, height: tall, "aria-hidden": "true", class: "pw-thumb" },
    ink("path", { d: outlinePath(shape, v), class: "pw-face" }),
    ...shape.cuts.map((c) => ink("path", { d: cutPath(c, v), class: "pw-cut" })),
    ...shape.parts.map((p) => seg(toScreen(v, p.from), toScreen(v, p.to), `pw-thumb-edge pw-kind-${p.kind}`)))) as SVGSVGElement;
}
