/**
 * `<pw-corners src wide high>`: pull four corners of a tile and four of a grey card into place on a
 * photo. They stand in the page's fields `area` and `card`, where they can be typed too.
 */
import { fill, freshId, h, hidePlain, put, s } from "../base/dom";
import { t } from "../base/words";

type Point = [number, number];
type Which = "area" | "card";
const WHICH: Which[] = ["area", "card"];
const LOUPE = 132; // px across
const NEAR = 3; // how much closer the loupe shows

export class PwCorners extends HTMLElement {
  private corners: Record<Which, Point[]> = { area: [], card: [] };
  private svg = s("svg", { class: "pw-corners", role: "group" });
  private loupe = s("svg", { class: "pw-loupe", "aria-hidden": "true", width: LOUPE, height: LOUPE });
  private held: { which: Which; k: number; id: number } | null = null;
  private built = false;

  connectedCallback(): void {
    if (this.built) return;
    this.built = true;
    const help = h("p", { class: "help", id: freshId("corners"), text: t("corners.help") });
    put(this.svg, { viewBox: `0 0 ${this.wide} ${this.high}`, "aria-label": t("corners.photo"), "aria-describedby": help.id });
    for (const which of WHICH) {
      const field = this.field(which);
      field?.addEventListener("change", () => {
        this.take(which);
        this.draw();
      });
      this.take(which);
    }
    hidePlain(this);
    const box = h("div", { class: "pw-corner-box" }, this.svg, this.loupe);
    box.style.maxWidth = `min(60rem, ${(80 * this.wide) / this.high}vh)`; // the whole photo in sight
    this.prepend(box, help);
    this.svg.addEventListener("pointerdown", (e) => this.down(e));
    this.svg.addEventListener("pointermove", (e) => this.move(e));
    for (const end of ["pointerup", "pointercancel"] as const)
      this.svg.addEventListener(end, () => {
        this.held = null;
        this.draw();
      });
    this.svg.addEventListener("keydown", (e) => this.key(e));
    this.draw();
  }

  private get wide(): number {
    return Number(this.getAttribute("wide"));
  }
  private get high(): number {
    return Number(this.getAttribute("high"));
  }
  private field(which: Which): HTMLInputElement | null {
    return document.querySelector<HTMLInputElement>(`form.sheet input[name="${which}"]`);
  }

  /** Corners as the field has them; where there are not four, a frame to begin with. What was typed
   * so far stays in the field. */
  private take(which: Which): void {
    const found = Array.from((this.field(which)?.value ?? "").matchAll(/(\d+(?:\.\d+)?)[,; ]+(\d+(?:\.\d+)?)/g), (m): Point => [Number(m[1]), Number(m[2])]);
    if (found.length === 4) {
      this.corners[which] = found;
      return;
    }
    const [w, v] = [this.wide, this.high];
    const x = which === "area" ? 0.12 : 0.62;
    this.corners[which] = [[x * w, 0.35 * v], [(x + 0.26) * w, 0.35 * v], [(x + 0.26) * w, 0.65 * v], [x * w, 0.65 * v]];
    if (!this.field(which)?.value.trim()) this.write(which);
  }

  private write(which: Which): void {
    const field = this.field(which);
    if (field) field.value = this.corners[which].map(([x, y]) => `${Math.round(x)},${Math.round(y)}`).join(" ");
  }

  private here(e: PointerEvent): Point {
    const b = this.svg.getBoundingClientRect();
    return [((e.clientX - b.left) / b.width) * this.wide, ((e.clientY - b.top) / b.height) * this.high];
  }

  private down(e: PointerEvent): void {
    const item = (e.target as Element).closest<SVGElement>("[data-corner]");
    if (!item || e.button > 0) return;
    const [which, k] = item.dataset.corner!.split("-");
    this.held = { which: which as Which, k: Number(k), id: e.pointerId };
    try {
      this.svg.setPointerCapture(e.pointerId);
    } catch {
      /* a pointer that is gone already */
    }
    e.preventDefault();
    item.focus({ preventScroll: true });
    this.draw();
  }

  private move(e: PointerEvent): void {
    if (!this.held || e.pointerId !== this.held.id) return;
    this.place(this.held.which, this.held.k, this.here(e));
  }

  private key(e: KeyboardEvent): void {
    const item = (e.target as Element).closest<SVGElement>("[data-corner]");
    const way: Record<string, Point> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    if (!item || !(e.key in way)) return;
    e.preventDefault();
    const [which, k] = item.dataset.corner!.split("-");
    const step = (e.shiftKey ? 20 : 2) * Math.max(this.wide / 1600, 0.5);
    const [x, y] = this.corners[which as Which][Number(k)];
    this.place(which as Which, Number(k), [x + way[e.key][0] * step, y + way[e.key][1] * step]);
  }

  private place(which: Which, k: number, to: Point): void {
    this.corners[which][k] = [Math.min(Math.max(to[0], 0), this.wide - 1), Math.min(Math.max(to[1], 0), this.high - 1)];
    this.write(which);
    this.draw();
  }

  private draw(): void {
    const focused = (document.activeElement as HTMLElement | null)?.dataset?.corner;
    const b = this.svg.getBoundingClientRect();
    const px = this.wide / (b.width || 800); // photo pixels per screen pixel
    const ink: SVGElement[] = [s("image", { href: this.getAttribute("src") ?? "", width: this.wide, height: this.high })];
    for (const which of WHICH) {
      const c = this.corners[which];
      ink.push(s("path", { d: `M${c.map((p) => p.map((v) => v.toFixed(1)).join(" ")).join("L")}Z`, class: `pw-frame pw-frame-${which}` }));
      const [x, y] = [c.reduce((a, p) => a + p[0], 0) / 4, c.reduce((a, p) => a + p[1], 0) / 4];
      ink.push(s("text", { x, y, class: "pw-frame-name", "font-size": 15 * px, text: t(`corners.${which}`), "aria-hidden": "true" }));
      c.forEach(([cx, cy], k) => {
        const g = s("g", { "data-corner": `${which}-${k}`, tabindex: 0, role: "button", class: `pw-frame-knob pw-frame-${which}`,
          "aria-label": `${t(`corners.${which}`)}, ${t("corners.corner", { n: k + 1 })}: ${Math.round(cx)}, ${Math.round(cy)}` });
        g.append(s("circle", { cx, cy, r: 24 * px, class: "pw-reach-spot" }), s("circle", { cx, cy, r: 8 * px, class: "pw-dot" }),
          s("circle", { cx, cy, r: 1.6 * px, class: "pw-dot-middle" }));
        ink.push(g);
      });
    }
    fill(this.svg, ...ink);
    if (focused) this.svg.querySelector<SVGElement>(`[data-corner="${focused}"]`)?.focus({ preventScroll: true });
    this.look();
  }

  /** A round piece of the photo under the finger, closer. */
  private look(): void {
    const held = this.held;
    this.loupe.toggleAttribute("hidden", !held);
    if (!held) return;
    const [x, y] = this.corners[held.which][held.k];
    const b = this.svg.getBoundingClientRect();
    const span = (LOUPE / NEAR) * (this.wide / b.width);
    put(this.loupe, { viewBox: `${x - span / 2} ${y - span / 2} ${span} ${span}` });
    fill(this.loupe, s("image", { href: this.getAttribute("src") ?? "", width: this.wide, height: this.high }),
      s("path", { d: `M${x - span / 2} ${y}H${x + span / 2}M${x} ${y - span / 2}V${y + span / 2}`, class: "pw-loupe-cross", "stroke-width": span / 130 }));
    const left = (x / this.wide) * b.width;
    const top = (y / this.high) * b.height;
    this.loupe.style.left = `${Math.min(Math.max(left - LOUPE / 2, 0), Math.max(b.width - LOUPE, 0))}px`;
    this.loupe.style.top = `${top > LOUPE + 40 ? top - LOUPE - 34 : top + 40}px`;
  }
}
