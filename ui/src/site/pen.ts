/**
 * A surface drawn by hand on a sheet to scale: pull out a rectangle, or put corner after corner,
 * with finger, mouse, arrow keys or typed places.
 */
import { fill, freshId, h, put, s } from "../base/dom";
import { lengthShown, type Locale, type Units } from "../base/quantity";
import { t } from "../base/words";
import type { Point } from "./model";
import { measure } from "./side";
import { type Snapped, snap, stepOf } from "./snap";

export interface PenSays {
  units: Units;
  locale: Locale;
  snapping(): boolean;
  /** The outline is closed: corners [m], anticlockwise from where it began. */
  done(corners: Point[]): void;
  left(): void;
}

const FIRM = 8; // px that a finger may slip in a tap
const SHEETS: Record<Units, number[]> = { metric: [1, 2, 3, 5, 8, 12], us: [3, 6, 10, 16, 26, 40].map((ft) => ft * 0.3048) };

const cross = (a: Point, b: Point, c: Point): number => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

/** Whether two lines properly cross; sharing an end does not count. */
export function crosses(a: Point, b: Point, c: Point, d: Point): boolean {
  const [p, q, r, u] = [cross(a, b, c), cross(a, b, d), cross(c, d, a), cross(c, d, b)];
  return p * q < -1e-12 && r * u < -1e-12;
}

/** Why corners make no outline, as a key of the words; empty when they do. */
export function fault(corners: Point[]): string {
  const n = corners.length;
  if (n < 3) return "pen.three";
  for (let i = 0; i < n; i += 1)
    for (let j = i + 2; j < n; j += 1)
      if (!(i === 0 && j === n - 1) && crosses(corners[i], corners[(i + 1) % n], corners[j], corners[(j + 1) % n]))
        return "pen.crosses";
  const area = corners.reduce((sum, p, i) => sum + cross([0, 0], p, corners[(i + 1) % n]), 0) / 2;
  return Math.abs(area) < 1e-4 ? "pen.flat" : "";
}

/** Corners without those that stand in a straight line, anticlockwise, from the box's corner. */
export function tidied(corners: Point[]): Point[] {
  let c = corners.filter((p, i) => {
    const [a, b] = [corners[(i + corners.length - 1) % corners.length], corners[(i + 1) % corners.length]];
    return Math.abs(cross(a, p, b)) > 1e-7;
  });
  const area = c.reduce((sum, p, i) => sum + cross([0, 0], p, c[(i + 1) % c.length]), 0);
  if (area < 0) c = c.reverse();
  const [x, y] = [Math.min(...c.map((p) => p[0])), Math.min(...c.map((p) => p[1]))];
  c = c.map((p) => [p[0] - x, p[1] - y] as Point);
  const first = c.reduce((best, p, i) => (p[0] + p[1] < c[best][0] + c[best][1] - 1e-9 ? i : best), 0);
  return [...c.slice(first), ...c.slice(0, first)];
}

/** Length and depth of an upright rectangle; null for any other outline. */
export function rectangleOf(c: Point[]): Point | null {
  if (c.length !== 4) return null;
  const near = (a: number, b: number): boolean => Math.abs(a - b) < 1e-9;
  return near(c[0][0], 0) && near(c[0][1], 0) && near(c[1][1], 0) && near(c[1][0], c[2][0]) && near(c[2][1], c[3][1]) && near(c[3][0], 0)
    ? [c[2][0], c[2][1]] : null;
}

export class Pen {
  readonly box = h("div", { class: "pw-pen" });
  corners: Point[] = [];
  private at: Point = [0, 0];
  private seen = false; // the cross is shown once keys or a mouse moved it
  private guides: { x: number | null; y: number | null } = { x: null, y: null };
  private pulled: [Point, Point] | null = null;
  private wide = 3;
  private svg = s("svg", { class: "pw-plan pw-sheet", tabindex: 0, role: "application" });
  private words = h("p", { class: "pw-state", role: "status" });
  private close_ = h("button", { type: "button", class: "go", text: t("pen.close"), "data-key": "pen-close" });
  private back = h("button", { type: "button", text: t("pen.back"), "data-key": "pen-back" });
  private typed = h("div", { class: "pw-fields pw-pen-typed" });
  private down: { id: number; x: number; y: number; moved: boolean } | null = null;

  constructor(private readonly says: PenSays) {
    this.wide = SHEETS[says.units][2];
    const id = freshId("sheet");
    const sizes = h("select", { id, "data-key": "pen-sheet" }, ...SHEETS[says.units].map((m) =>
      h("option", { value: m, text: this.say(m), selected: m === this.wide })));
    sizes.addEventListener("change", () => {
      this.wide = Number(sizes.value);
      this.draw();
    });
    this.close_.addEventListener("click", () => this.finish());
    this.back.addEventListener("click", () => this.undo());
    const help = h("p", { class: "help", id: freshId("pen"), text: t("pen.help") });
    put(this.svg, { "aria-label": t("pen.sheet"), "aria-describedby": help.id });
    fill(this.box,
      h("div", { class: "pw-tools" }, h("div", { class: "field pw-pen-size" }, h("label", { for: id, text: t("pen.wide") }), sizes),
        this.back, this.close_, h("button", { type: "button", class: "quiet", text: t("pen.leave"), "data-key": "pen-leave", onclick: () => says.left() })),
      this.svg, this.words, help, this.typed);
    this.listen();
    this.fields();
    new ResizeObserver(() => this.draw()).observe(this.svg);
  }

  focus(): void {
    this.svg.focus({ preventScroll: true });
  }

  private say(m: number): string {
    return lengthShown(m, this.says.units, this.says.locale);
  }
  private get step(): number {
    return this.says.snapping() ? stepOf(this.says.units) : 0;
  }
  private get scale(): number {
    return (this.svg.clientWidth || 600) / this.wide;
  }
  private get tall(): number {
    return (this.svg.clientHeight || 420) / this.scale;
  }
  private here(e: PointerEvent): Point {
    const b = this.svg.getBoundingClientRect();
    return [(e.clientX - b.left) / this.scale, this.tall - (e.clientY - b.top) / this.scale];
  }
  private snapped(p: Point): Snapped {
    const others = this.corners.slice(0, -1).concat(this.corners.slice(-1));
    return snap(p, others.map((c) => c[0]), others.map((c) => c[1]), this.step, 10 / this.scale);
  }

  private listen(): void {
    const svg = this.svg;
    svg.addEventListener("pointerdown", (e) => {
      if (e.button > 0) return;
      this.down = { id: e.pointerId, x: e.clientX, y: e.clientY, moved: false };
      try {
        svg.setPointerCapture(e.pointerId);
      } catch {
        /* a pointer that is gone already */
      }
      this.look(this.here(e));
    });
    svg.addEventListener("pointermove", (e) => {
      if (this.down && e.pointerId !== this.down.id) return;
      const p = this.here(e);
      if (this.down && Math.hypot(e.clientX - this.down.x, e.clientY - this.down.y) > FIRM) this.down.moved = true;
      if (this.down?.moved && !this.corners.length) {
        const b = this.svg.getBoundingClientRect();
        const from = this.snapped([(this.down.x - b.left) / this.scale, this.tall - (this.down.y - b.top) / this.scale]).at;
        this.pulled = [from, this.snapped(p).at];
      }
      this.look(p);
    });
    const end = (e: PointerEvent): void => {
      const down = this.down;
      if (!down || down.id !== e.pointerId) return;
      this.down = null;
      const pulled = this.pulled;
      this.pulled = null;
      if (e.type === "pointercancel") this.draw();
      else if (pulled) {
        const [[a, b], [c, d]] = pulled;
        if (Math.abs(c - a) > 0.02 && Math.abs(d - b) > 0.02) {
          this.corners = [[a, b], [c, b], [c, d], [a, d]];
          this.finish();
        } else this.draw();
      } else this.put(this.snapped(this.here(e)).at);
    };
    svg.addEventListener("pointerup", end);
    svg.addEventListener("pointercancel", end);
    svg.addEventListener("keydown", (e) => this.key(e));
    svg.addEventListener("focus", () => {
      if (!this.seen && svg.matches(":focus-visible")) {
        this.at = [this.snapped([this.wide / 4, this.tall / 4]).at[0], this.snapped([this.wide / 4, this.tall / 4]).at[1]];
        this.seen = true;
        this.draw();
      }
    });
  }

  private key(e: KeyboardEvent): void {
    const way: Record<string, Point> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (e.key in way) {
      const by = (this.step || 0.001) * (e.shiftKey ? 10 : 1);
      const on = (v: number, most: number): number => Math.min(Math.max(v, 0), most);
      this.at = [on(this.at[0] + way[e.key][0] * by, this.wide), on(this.at[1] + way[e.key][1] * by, this.tall)];
      this.seen = true;
      this.guides = { x: null, y: null };
      this.draw();
    } else if (e.key === "Enter" || e.key === " ") this.put(this.at);
    else if (e.key === "Backspace") this.undo();
    else if (e.key === "Escape") this.says.left();
    else return;
    e.preventDefault();
  }

  private look(p: Point): void {
    const sn = this.snapped(p);
    this.at = sn.at;
    this.guides = { x: sn.x, y: sn.y };
    this.seen = true;
    this.draw();
  }

  /** Put a corner; on the first one it closes the outline. */
  private put(p: Point): void {
    const first = this.corners[0];
    if (first && this.corners.length > 2 && Math.hypot(p[0] - first[0], p[1] - first[1]) < Math.max(14 / this.scale, this.step / 2)) {
      this.finish();
      return;
    }
    const last = this.corners.at(-1);
    if (last && Math.hypot(p[0] - last[0], p[1] - last[1]) < 1e-6) return;
    this.corners.push(p);
    this.at = p;
    this.draw();
    this.fields();
  }

  private undo(): void {
    this.corners.pop();
    this.draw();
    this.fields();
  }

  private finish(): void {
    const why = fault(this.corners);
    if (why) {
      this.words.textContent = t(why);
      return;
    }
    this.says.done(tidied(this.corners));
  }

  /** The next corner by typed places. */
  private fields(): void {
    const places: (number | null)[] = [null, null];
    const field = (axis: 0 | 1, label: string): HTMLElement =>
      measure({ units: this.says.units, locale: this.says.locale }, `pen-${axis}`, label, null, (_, m) => { places[axis] = m; }, 0);
    const go = h("button", { type: "button", text: t("pen.put", { n: this.corners.length + 1 }), "data-key": "pen-put" });
    const [x, y] = [field(0, t("site.x")), field(1, t("site.y"))];
    go.addEventListener("click", () => {
      for (const f of [x, y]) f.querySelector("input")!.dispatchEvent(new Event("change"));
      if (places[0] === null || places[1] === null) {
        (places[0] === null ? x : y).querySelector("input")!.focus();
        return;
      }
      if (places[0] > this.wide || places[1] > this.tall) this.widen(places[0], places[1]);
      this.put([places[0], places[1]]);
      this.typed.querySelector("input")?.focus();
    });
    fill(this.typed, x, y, go);
  }

  private widen(x: number, y: number): void {
    const ratio = this.tall / this.wide;
    const fits = SHEETS[this.says.units].find((m) => m >= x && m * ratio >= y) ?? SHEETS[this.says.units].at(-1)!;
    this.wide = fits;
    const select = this.box.querySelector("select")!;
    select.value = String(fits);
  }

  private draw(): void {
    const [w, hgt] = [this.svg.clientWidth || 600, this.svg.clientHeight || 420];
    put(this.svg, { viewBox: `0 0 ${w} ${hgt}` });
    const px = (p: Point): Point => [p[0] * this.scale, hgt - p[1] * this.scale];
    const say = (p: Point): string => px(p).map((v) => v.toFixed(1)).join(" ");
    const ink: SVGElement[] = [this.grid(w, hgt)];
    const all = this.pulled
      ? [this.pulled[0], [this.pulled[1][0], this.pulled[0][1]] as Point, this.pulled[1], [this.pulled[0][0], this.pulled[1][1]] as Point]
      : this.corners;
    if (all.length > 2) ink.push(s("path", { d: `M${all.map(say).join("L")}Z`, class: "pw-face" }));
    for (const [axis, v] of [["x", this.guides.x], ["y", this.guides.y]] as const) {
      if (v === null || this.pulled) continue;
      const p = px(axis === "x" ? [v, 0] : [0, v]);
      ink.push(s("line", axis === "x" ? { x1: p[0], x2: p[0], y1: 0, y2: hgt, class: "pw-guide" } : { x1: 0, x2: w, y1: p[1], y2: p[1], class: "pw-guide" }));
    }
    const line = this.seen && !this.pulled && all.length ? [...all, this.at] : all;
    line.forEach((p, i) => {
      const q = i + 1 < line.length ? line[i + 1] : this.pulled ? line[0] : null;
      if (!q) return;
      const [a, b] = [px(p), px(q)];
      const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
      ink.push(s("line", { x1: a[0], y1: a[1], x2: b[0], y2: b[1], class: "pw-pen-line" }));
      if (Math.hypot(a[0] - b[0], a[1] - b[1]) > 46)
        ink.push(s("text", { x: (a[0] + b[0]) / 2, y: (a[1] + b[1]) / 2 - 8, class: "pw-length", text: this.say(long) }));
    });
    this.corners.forEach((p, i) => {
      const [x, y] = px(p);
      ink.push(s("circle", { cx: x, cy: y, r: i === 0 && this.corners.length > 2 ? 12 : 7, class: i ? "pw-knob" : "pw-knob pw-first" }));
    });
    if (this.seen && !this.pulled) {
      const [x, y] = px(this.at);
      ink.push(s("path", { d: `M${x - 12} ${y}h24M${x} ${y - 12}v24`, class: "pw-pen-cross" }));
    }
    fill(this.svg, ...ink);
    const n = this.corners.length;
    this.back.disabled = !n;
    this.close_.disabled = n < 3;
    const last = this.corners.at(-1);
    const words = this.pulled
      ? `${this.say(Math.abs(this.pulled[1][0] - this.pulled[0][0]))} × ${this.say(Math.abs(this.pulled[1][1] - this.pulled[0][1]))}`
      : n && last
        ? this.at[0] === last[0] && this.at[1] === last[1] ? t("pen.closes", { n }) : t("pen.state", { n, x: this.say(this.at[0]), y: this.say(this.at[1]), side: this.say(Math.hypot(this.at[0] - last[0], this.at[1] - last[1])) })
        : this.seen ? t("pen.first", { x: this.say(this.at[0]), y: this.say(this.at[1]) }) : "";
    if (this.words.textContent !== words) this.words.textContent = words;
  }

  private grid(w: number, hgt: number): SVGElement {
    const us = this.says.units === "us";
    const fine = us ? (this.wide > 4 ? 0.3048 : 0.0762) : this.wide > 4 ? 0.5 : 0.1;
    const bold = us ? (this.wide > 4 ? 4 : 4) : this.wide > 4 ? 2 : 10;
    const g = s("g", { "aria-hidden": "true" });
    const d = ["", ""];
    for (let i = 1; i * fine * this.scale < w; i += 1) d[i % bold ? 0 : 1] += `M${(i * fine * this.scale).toFixed(1)} 0V${hgt}`;
    for (let i = 1; i * fine * this.scale < hgt; i += 1) d[i % bold ? 0 : 1] += `M0 ${(hgt - i * fine * this.scale).toFixed(1)}H${w}`;
    g.append(s("path", { d: d[0], class: "pw-grid" }), s("path", { d: d[1], class: "pw-grid pw-grid-bold" }),
      s("text", { x: bold * fine * this.scale, y: hgt - 6, class: "pw-grid-text", text: this.say(bold * fine) }));
    return g;
  }
}
