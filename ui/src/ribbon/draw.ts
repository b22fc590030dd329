/** One band of the ribbon as SVG: words over it, flow left as its height, pins, ticks, the air. */
import { s } from "../base/dom";
import { dateLanguage } from "../base/words";
import { airSpan, at, type Band, clock, flagRows, heightOf, moment, tickStep } from "./model";

export interface Frame {
  wide: number;
  tall: number;
  left: number;
  right: number;
  wordsTop: number;
  top: number; // of the flow field
  base: number;
  airTop: number;
  airBase: number;
  x(t: number): number;
  time(x: number): number;
  airY(degC: number): number;
  degC(y: number): number;
}

const LETTER = 7.9;
const wideOf = (text: string): number => text.length * LETTER;

/** Measures of a band on a page `wide` px across; `high` px of flow. */
export function frameOf(band: Band, wide: number, high: number): Frame {
  const left = 8;
  const right = wide - 8;
  const wordsTop = 34;
  const top = wordsTop + 48;
  const base = top + high;
  const airTop = base + 56;
  const airBase = airTop + 76;
  const span = band.end_s - band.start_s || 1;
  const [low, top_degC] = airSpan(band);
  return {
    wide, left, right, wordsTop, top, base, airTop, airBase,
    tall: airBase + 12,
    x: (t) => left + ((right - left) * (Math.min(Math.max(t, band.start_s), band.end_s) - band.start_s)) / span,
    time: (x) => band.start_s + (span * (Math.min(Math.max(x, left), right) - left)) / (right - left),
    airY: (c) => airBase - ((airBase - airTop) * (Math.min(Math.max(c, low), top_degC) - low)) / (top_degC - low),
    degC: (y) => low + ((top_degC - low) * (airBase - Math.min(Math.max(y, airTop), airBase))) / (airBase - airTop),
  };
}

function path(xs: number[], ys: number[], back?: number[]): string {
  let d = "";
  for (let i = 0; i < xs.length; i += 1) d += `${i ? "L" : "M"}${xs[i].toFixed(1)} ${ys[i].toFixed(1)}`;
  if (back) for (let i = xs.length - 1; i >= 0; i -= 1) d += `L${xs[i].toFixed(1)} ${back[i].toFixed(1)}`;
  return back ? `${d}Z` : d;
}

/** All that does not move of a band, as one decorative group (its words are listed beside it). */
export function drawBand(band: Band, f: Frame, start: string): SVGGElement {
  const g = s("g", { "aria-hidden": "true" });
  nights(g, band, f, start);
  flow(g, band, f);
  words(g, band, f);
  ticks(g, band, f, start);
  air(g, band, f);
  pins(g, band, f);
  return g;
}

function nights(g: SVGGElement, band: Band, f: Frame, start: string): void {
  const zero = moment(start, 0);
  const from = zero.getHours() * 3600 + zero.getMinutes() * 60;
  const first = Math.floor((band.start_s + from) / 86400);
  for (let k = first - 1; k <= Math.floor((band.end_s + from) / 86400); k += 1) {
    const a = Math.max(k * 86400 + 20 * 3600 - from, band.start_s);
    const b = Math.min((k + 1) * 86400 + 6 * 3600 - from, band.end_s);
    if (b > a)
      g.append(s("rect", { x: f.x(a), y: f.top, width: f.x(b) - f.x(a), height: f.base - f.top, class: "pw-night" }));
  }
}

function flow(g: SVGGElement, band: Band, f: Frame): void {
  const xs: number[] = [];
  const rows: number[][] = [[], [], []];
  band.t_s.forEach((t, i) => {
    if (t < band.start_s - 1e-6 || t > band.end_s + 1e-6) return;
    xs.push(f.x(t));
    for (let k = 0; k < 3; k += 1)
      rows[k].push(f.base - (f.base - f.top) * heightOf(band.flow[k]?.[i] ?? 0));
  });
  if (xs.length < 2) return;
  g.append(
    s("path", { d: path([xs[0], ...xs, xs[xs.length - 1]], [f.base, ...rows[1], f.base]), class: "pw-flow" }),
    s("path", { d: path(xs, rows[2], rows[0]), class: "pw-flow-range" }),
    s("path", { d: path(xs, rows[1]), class: "pw-flow-line" }),
  );
}

function words(g: SVGGElement, band: Band, f: Frame): void {
  let outside = -1e9;
  let shade = 0;
  for (const w of band.words) {
    const a = f.x(w.start_s);
    const b = f.x(w.end_s);
    if (b <= a + 1) continue;
    g.append(s("rect", { x: a, y: f.wordsTop + 16, width: b - a, height: 32, class: `pw-word pw-word-${shade % 2}` }));
    shade += 1;
    if (w.end_s < band.end_s) {
      g.append(s("line", { x1: b, x2: b, y1: f.top, y2: f.base, class: "pw-word-end" }));
      if (w.unsure_s) {
        const u0 = f.x(w.end_s - w.unsure_s / 2);
        const u1 = f.x(w.end_s + w.unsure_s / 2);
        g.append(s("rect", { x: u0, y: f.top - 6, width: Math.max(u1 - u0, 2), height: 6, class: "pw-unsure" }));
      }
    }
    const need = wideOf(w.text);
    if (need < b - a - 6)
      g.append(s("text", { x: (a + b) / 2, y: f.wordsTop + 36, class: "pw-word-text", text: w.text }));
    else {
      let mid = Math.min(Math.max((a + b) / 2, f.left + need / 2), f.right - need / 2);
      mid = Math.max(mid, outside + need / 2 + 8);
      if (mid + need / 2 > f.right + 2) continue; // no room: the list below says it
      outside = mid + need / 2;
      g.append(
        s("line", { x1: (a + b) / 2, x2: mid, y1: f.wordsTop + 16, y2: f.wordsTop + 11, class: "pw-tick" }),
        s("text", { x: mid, y: f.wordsTop + 9, class: "pw-word-text pw-out", text: w.text }),
      );
    }
  }
}

function ticks(g: SVGGElement, band: Band, f: Frame, start: string): void {
  g.append(s("line", { x1: f.left, x2: f.right, y1: f.base, y2: f.base, class: "pw-base" }));
  const step = tickStep(band.end_s - band.start_s, Math.max(2, Math.floor((f.right - f.left) / 62)));
  let day = "";
  const write = new Intl.DateTimeFormat(dateLanguage(), { weekday: "short", day: "numeric", month: "short" });
  for (let t = Math.ceil(band.start_s / step) * step; t <= band.end_s + 1e-6; t += step) {
    const d = moment(start, t);
    const x = f.x(t);
    g.append(s("line", { x1: x, x2: x, y1: f.base, y2: f.base + 6, class: "pw-tick" }));
    if (x > f.right - 20 || x < f.left + 16) continue;
    g.append(s("text", { x, y: f.base + 20, class: "pw-time", text: clock(d) }));
    const said = write.format(d);
    if (said !== day && x < f.right - 40 && x > f.left + 30) {
      g.append(s("text", { x, y: f.base + 36, class: "pw-day", text: said }));
      day = said;
    }
  }
}

function air(g: SVGGElement, band: Band, f: Frame): void {
  g.append(
    s("rect", { x: f.left, y: f.airTop, width: f.right - f.left, height: f.airBase - f.airTop, class: "pw-air-field" }),
  );
  const xs = band.t_s.map((t) => f.x(t));
  const ys = band.air_degC.map((c) => f.airY(c));
  g.append(s("path", { d: path(xs, ys), class: "pw-air-line" }));
}

function pins(g: SVGGElement, band: Band, f: Frame): void {
  const inside = band.pins.filter((p) => p.t_s >= band.start_s && p.t_s <= band.end_s);
  const most = Math.max(1, Math.floor((f.base - f.top - 14) / 22));
  for (const { pin, x, row, flip } of flagRows(inside, f.x, wideOf, f.right, most)) {
    const y = f.base - 16 - 22 * Math.min(row, most - 1);
    if (pin.end_s && f.x(pin.end_s) > x + 3)
      g.append(s("line", { x1: x, x2: f.x(pin.end_s), y1: f.base, y2: f.base, class: "pw-pin-span" }));
    g.append(
      s("line", { x1: x, x2: x, y1: f.base, y2: y, class: "pw-pin" }),
      s("circle", { cx: x, cy: y - 3, r: 4, class: pin.done ? "pw-pin-dot pw-done" : "pw-pin-dot" }),
    );
    if (row < most) {
      const said = pin.done ? `✓ ${pin.text}` : pin.text;
      g.append(s("text", { x: flip ? x - 8 : x + 8, y: y + 1, class: flip ? "pw-pin-text pw-end" : "pw-pin-text", text: said }));
    }
  }
}

/** Air temperature at a moment [°C]. */
export function airAt(band: Band, t: number): number {
  return at(band.t_s, band.air_degC, t);
}
