/** `<pw-joints>`: the joints of one piece pulled along its drawing; their places stand in a field. */
import { fill, h, put, s } from "../base/dom";
import { changed } from "../base/page";
import { lengthShown, lengthText, localeOf, readLength, type Units } from "../base/quantity";
import { language, t } from "../base/words";
import { stepOf, toStep } from "./snap";

export class PwJoints extends HTMLElement {
  private at: number[] = [];
  private svg!: SVGSVGElement;
  private input!: HTMLInputElement;
  private ink = s("g");
  private said = h("p", { class: "pw-state", role: "status" });
  private held: { k: number; id: number } | null = null;
  private built = false;

  connectedCallback(): void {
    if (this.built) return;
    const [svg, input] = [this.querySelector<SVGSVGElement>("svg"), document.getElementById(this.getAttribute("field") ?? "")];
    if (!svg || !(input instanceof HTMLInputElement)) return;
    this.built = true;
    this.svg = svg;
    this.input = input;
    // what was computed is a joint that may be taken by hand: all lines of the drawing become ours
    const lines = Array.from(svg.querySelectorAll<SVGLineElement>("g.joint line"), (l) => (Number(l.getAttribute("x1")) - this.num("left")) / this.num("scale") + this.num("from"));
    const typed = this.typed();
    this.at = lines.map((v) => typed.find((w) => Math.abs(w - v) < 2e-3) ?? v);
    svg.querySelectorAll("g.joint, text").forEach((g) => g.remove());
    svg.removeAttribute("role");
    svg.setAttribute("class", "joints pw-joints");
    svg.append(this.ink);
    this.byHand = this.at.map((v) => typed.some((w) => Math.abs(w - v) < 1e-6));
    if (changed(input)) this.take(); // typed before this script came
    this.append(h("div", { class: "row" },
      h("button", { type: "button", text: t("joints.add"), onclick: () => this.add() }),
      h("button", { type: "button", class: "quiet", text: t("joints.best"), onclick: () => this.best() })), this.said);
    input.addEventListener("change", () => {
      this.take();
      setTimeout(() => this.draw(), 0); // once the focus has gone where it goes: it may be a joint
    });
    svg.addEventListener("pointerdown", (e) => {
      const g = (e.target as Element).closest<SVGElement>("[data-joint]");
      if (!g || e.button > 0) return;
      this.held = { k: Number(g.dataset.joint), id: e.pointerId };
      try {
        svg.setPointerCapture(e.pointerId);
      } catch {
        /* a pointer that is gone already */
      }
      e.preventDefault();
      g.focus({ preventScroll: true });
    });
    svg.addEventListener("pointermove", (e) => {
      if (!this.held || e.pointerId !== this.held.id) return;
      const b = svg.getBoundingClientRect();
      const x = ((e.clientX - b.left) / b.width) * svg.viewBox.baseVal.width;
      this.move(this.held.k, toStep((x - this.num("left")) / this.num("scale"), stepOf(this.units)) + this.num("from"));
    });
    for (const end of ["pointerup", "pointercancel"] as const) svg.addEventListener(end, () => { this.held = null; });
    svg.addEventListener("keydown", (e) => this.key(e));
    this.draw();
  }

  private byHand: boolean[] = [];
  private num(name: string): number {
    return Number(this.getAttribute(name));
  }
  private get units(): Units {
    return this.getAttribute("units") === "us" ? "us" : "metric";
  }
  private say(m: number): string {
    return lengthShown(m, this.units, localeOf(language()));
  }
  private typed(): number[] {
    return this.input.value.split(";").map((x) => readLength(x.trim(), localeOf(language()))).filter((m): m is number => m !== null).sort((a, b) => a - b);
  }
  /** The joints as the field says: all of them by hand. */
  private take(): void {
    this.at = this.typed();
    this.byHand = this.at.map(() => true);
  }
  private bad(m: number): boolean {
    return (JSON.parse(this.getAttribute("forbidden") ?? "[]") as [number, number][]).some(([a, b]) => m > a + 1e-9 && m < b - 1e-9);
  }

  private key(e: KeyboardEvent): void {
    const g = (e.target as Element).closest<SVGElement>("[data-joint]");
    if (!g) return;
    const k = Number(g.dataset.joint);
    if (e.key === "Delete" || e.key === "Backspace") {
      this.at.splice(k, 1);
      this.byHand.splice(k, 1);
      this.write();
      this.svg.querySelector<SVGElement>("[data-joint]")?.focus();
    } else if (e.key === "ArrowLeft" || e.key === "ArrowRight")
      this.move(k, this.at[k] + (e.key === "ArrowLeft" ? -1 : 1) * stepOf(this.units) * (e.shiftKey ? 10 : 1));
    else return;
    e.preventDefault();
  }

  private move(k: number, to: number): void {
    this.at[k] = Math.min(Math.max(to, this.num("from") + 0.01), this.num("to") - 0.01);
    this.byHand[k] = true;
    this.write();
  }

  private add(): void {
    const stops = [this.num("from"), ...[...this.at].sort((a, b) => a - b), this.num("to")];
    let best = 0;
    for (let i = 1; i + 1 < stops.length; i += 1) if (stops[i + 1] - stops[i] > stops[best + 1] - stops[best]) best = i;
    this.at.push(toStep((stops[best] + stops[best + 1]) / 2, stepOf(this.units)));
    this.byHand.push(true);
    this.write();
    this.svg.querySelector<SVGElement>(`[data-joint="${this.at.length - 1}"]`)?.focus({ preventScroll: true });
  }

  /** Leave all of them to the plan. */
  private best(): void {
    this.at = [];
    this.byHand = [];
    this.write();
    this.said.textContent = t("joints.left");
  }

  private write(): void {
    const mine = this.at.filter((_, k) => this.byHand[k]).sort((a, b) => a - b);
    const locale = localeOf(language());
    this.input.value = mine.map((m) => {
      const text = lengthText(Math.round(m * 1e6) / 1e6, this.units);
      return locale.decimal === "," ? text.replace(".", ",") : text;
    }).join("; ");
    const wrong = mine.find((m) => this.bad(m));
    this.said.textContent = wrong === undefined ? (mine.length ? t("joints.unsaved") : "") : t("joints.near", { at: this.say(wrong) });
    this.draw();
  }

  private draw(): void {
    const focused = (document.activeElement as HTMLElement | null)?.dataset?.joint;
    const [left, scale, from, top, bottom] = ["left", "scale", "from", "top", "bottom"].map((n) => this.num(n));
    const px = (m: number): number => left + (m - from) * scale;
    const stops = [from, ...[...this.at].sort((a, b) => a - b), this.num("to")];
    const ink: SVGElement[] = [];
    for (let i = 0; i + 1 < stops.length; i += 1)
      ink.push(s("text", { x: px((stops[i] + stops[i + 1]) / 2), y: bottom + 24, class: "pw-joint-piece", text: this.say(stops[i + 1] - stops[i]) }));
    this.at.forEach((m, k) => {
      const x = px(m);
      const wrong = this.bad(m);
      const g = s("g", { "data-joint": k, tabindex: 0, role: "slider", "aria-orientation": "horizontal", "aria-label": t("joints.one", { n: k + 1 }),
        "aria-valuemin": Math.round(from * 1e3), "aria-valuemax": Math.round(this.num("to") * 1e3), "aria-valuenow": Math.round(m * 1e3),
        "aria-valuetext": this.say(m) + (wrong ? `, ${t("joints.near", { at: this.say(m) })}` : ""), class: `pw-joint${this.byHand[k] ? " pw-hand" : ""}${wrong ? " pw-wrong" : ""}` });
      g.append(s("rect", { x: x - 26, y: top - 14, width: 52, height: bottom - top + 28, class: "pw-reach-spot" }),
        s("line", { x1: x, x2: x, y1: top - 10, y2: bottom + 8, class: "pw-joint-line" }),
        s("rect", { x: x - 9, y: (top + bottom) / 2 - 20, width: 18, height: 40, rx: 5, class: "pw-joint-grip" }),
        s("text", { x, y: top - 16, class: "pw-joint-at", text: this.say(m) }));
      ink.push(g);
    });
    fill(this.ink, ...ink);
    put(this.svg, { "aria-label": t("joints.drawing") });
    this.svg.setAttribute("role", "group");
    if (focused !== undefined) this.svg.querySelector<SVGElement>(`[data-joint="${focused}"]`)?.focus({ preventScroll: true });
  }
}
