/** `<pw-site-editor job>`: draw and edit the surfaces of a job to scale; saved as it goes. */
import { Refused } from "../base/api";
import { fill, freshId, h, hidePlain, put, s, showPlain } from "../base/dom";
import { freshen } from "../base/fresh";
import { type Ink, paint } from "../base/ink";
import { type Locale, localeOf, type Units } from "../base/quantity";
import { type Doc, Saver } from "../base/saver";
import { language, t } from "../base/words";
import { makeActs } from "./acts";
import { adder } from "./adder";
import { type Dragged, moved } from "./drag";
import { drawSurface, fit, type Item, itemKey, thumbnail, type View } from "./draw";
import { asTyped } from "./edit";
import { listen, zoomed } from "./gestures";
import { boxOf, type EdgePart, type Point, type Shape, shapeOf, surfacesOf, type Table } from "./model";
import { Pen, rectangleOf } from "./pen";
import { addOutline, addSurface } from "./pieces";
import { chosenPanel, type Desk, list } from "./side";
import { readingsOf } from "./readings";
import { stepOf } from "./snap";

export class PwSiteEditor extends HTMLElement {
  private saver: Saver | null = null;
  private index = 0;
  private chosen: Item | null = null;
  private view: View | null = null;
  private preview: Dragged | null = null;
  private from: { item: Item; shape: Shape; view: View } | null = null;
  private snapping = true;
  private frame = 0;
  private seen: ResizeObserver | null = null;
  private svg = s("svg", { class: "pw-plan", role: "group" });
  private picker = h("div", { class: "pw-picker", role: "group" });
  private panel = h("div", { class: "pw-panel" });
  private state = h("p", { class: "pw-state", role: "status" });
  private clash = h("div", { class: "notice bad", hidden: true, role: "alert" });
  private undo = h("button", { type: "button", text: t("undo") });
  private redo = h("button", { type: "button", text: t("redo") });
  private snapper = h("button", { type: "button", "aria-pressed": "true" });
  private empty = h("div", { class: "empty", hidden: true });
  private desk = h("div", { class: "pw-desk" });
  private work = h("div", { class: "pw-work" });
  private built = false;
  private drawn: Ink[] = [];
  private renderSoon = 0;
  private wasSaved = 0;

  connectedCallback(): void {
    if (!this.built) this.build();
    this.seen = new ResizeObserver(() => this.resized());
    this.seen.observe(this.svg);
    this.saver = new Saver(this.getAttribute("job") ?? "", (changed) => this.heard(changed));
    fill(this.state, t("site.loading"));
    this.saver.load().then(
      () => {
        hidePlain(this);
        this.desk.hidden = false;
        const wanted = this.getAttribute("surface");
        const at = surfacesOf(this.document_).findIndex((x, i) => x.name === wanted || String(i) === wanted);
        this.index = Math.max(at, 0);
        this.wasSaved = this.saver!.revision;
        this.look(null);
        this.render();
      },
      (e: unknown) => {
        showPlain(this);
        this.desk.hidden = true;
        fill(this.state, e instanceof Refused && e.error ? e.message : t("link.none"));
      },
    );
  }

  disconnectedCallback(): void {
    this.pen?.box.remove();
    this.pen = null;
    this.seen?.disconnect();
    this.saver?.stop();
    cancelAnimationFrame(this.frame);
  }

  private get document_(): Table {
    return this.preview?.document ?? this.saver?.document ?? {};
  }
  private get units(): Units {
    return ((this.saver?.document.show as Table | undefined)?.units ?? "metric") === "us" ? "us" : "metric";
  }
  private get locale(): Locale {
    return localeOf(language());
  }
  private get step(): number {
    return this.snapping ? stepOf(this.units) : 0;
  }
  private get shape(): Shape | null {
    const surface = surfacesOf(this.document_)[this.index];
    return surface ? shapeOf(surface) : null;
  }

  /** Name of an edge in words: front, back … or its number. */
  private edgeName(p: EdgePart): string {
    const key = `site.edge_${p.key}`;
    const name = /^\d+$/.test(p.key) ? p.key : t(key);
    return p.of > 1 ? `${name} ${p.stretch + 1}` : name;
  }

  private build(): void {
    this.built = true;
    const zoom = (by: number): void => this.look(zoomed(this.view!, by, this.view!.wide / 2, this.view!.tall / 2));
    this.undo.addEventListener("click", () => void this.saver?.step(true));
    this.redo.addEventListener("click", () => void this.saver?.step(false));
    this.snapper.addEventListener("click", () => {
      this.snapping = !this.snapping;
      this.render();
    });
    const tools = h("div", { class: "pw-tools", role: "group" },
      this.undo, this.redo,
      h("button", { type: "button", text: t("site.zoom_in"), onclick: () => zoom(1.4) }),
      h("button", { type: "button", text: t("site.zoom_out"), onclick: () => zoom(1 / 1.4) }),
      h("button", { type: "button", text: t("site.zoom_fit"), onclick: () => this.look(null) }),
      this.snapper);
    put(this.picker, { "aria-label": t("site.which") });
    const keys = h("p", { class: "help", id: freshId("keys"), text: t("site.keys") });
    this.svg.setAttribute("aria-describedby", keys.id);
    fill(this.desk, h("div", { class: "pw-head" }, this.picker, this.state), this.clash, this.empty, this.work);
    fill(this.work, h("div", { class: "pw-board" }, tools, this.svg, keys), this.panel);
    this.desk.hidden = true;
    this.prepend(this.desk);
    listen(this.svg, {
      hold: (key) => this.hold(key),
      drag: (dx, dy) => this.drag(dx, dy),
      release: (was, cancelled) => this.release(was, cancelled),
      tapGround: () => this.choose(null),
      view: () => this.view!,
      look: (v) => {
        this.view = v;
        this.draw();
      },
    });
    this.svg.addEventListener("focusin", (e) => {
      const g = e.target as SVGElement;
      if (this.from || !g.dataset.item || !g.matches(":focus-visible")) return;
      const item = parse(g.dataset.item);
      if (!this.chosen || itemKey(this.chosen) !== itemKey(item)) this.choose(item);
    });
    this.addEventListener("keydown", (e) => this.key(e));
  }

  // what the saver says -------------------------------------------------------------------------

  private heard(changed: boolean): void {
    const saver = this.saver!;
    this.undo.disabled = !saver.undoable;
    this.redo.disabled = !saver.redoable;
    const words = { saved: "save.saved", unsaved: "save.unsaved", offline: "save.offline", merged: "save.merged" } as const;
    if (saver.state === "refused") fill(this.state, t("save.refused", { why: saver.why }));
    else if (saver.state === "conflict") fill(this.state);
    else fill(this.state, t(words[saver.state]));
    this.state.dataset.state = saver.state;
    this.clash.hidden = saver.state !== "conflict";
    if (saver.state === "conflict")
      fill(this.clash, h("p", { text: t("save.conflict") }), h("div", { class: "row" },
        h("button", { type: "button", class: "go", text: t("save.mine"), onclick: () => saver.choose(true) }),
        h("button", { type: "button", text: t("save.theirs"), onclick: () => saver.choose(false) })));
    if (saver.state === "saved" && saver.revision !== this.wasSaved && this.wasSaved) {
      this.wasSaved = saver.revision;
      this.dispatchEvent(new CustomEvent("pw-saved", { bubbles: true, detail: { revision: saver.revision } }));
      void freshen(saver.revision);
    }
    if (changed) this.render();
  }

  private commit(document: Table): void {
    this.preview = null;
    this.saver!.change(document as Doc);
    this.render();
  }

  // looking -------------------------------------------------------------------------------------

  private look(view: View | null): void {
    const wide = this.svg.clientWidth || 600;
    const tall = this.svg.clientHeight || 420;
    const shape = this.shape;
    if (view) this.view = view;
    else if (shape) this.view = fit(boxOf(shape), wide, tall);
    else this.view = { scale: 200, ox: 60, oy: tall - 60, wide, tall };
    this.redraw();
  }

  private resized(): void {
    if (!this.view || !this.svg.clientWidth) return;
    if (Math.abs(this.view.wide - this.svg.clientWidth) > 1 || Math.abs(this.view.tall - this.svg.clientHeight) > 1) this.look(null);
  }

  private redraw(): void {
    cancelAnimationFrame(this.frame);
    this.frame = requestAnimationFrame(() => this.draw());
  }

  private draw(): void {
    const shape = this.shape;
    const view = this.view;
    if (!view) return;
    const frame: [string, string][] = [["viewBox", `0 0 ${view.wide} ${view.tall}`], ["aria-label", shape ? t("site.drawing", { name: shape.name }) : t("site.which")]];
    for (const [name, to] of frame) if (this.svg.getAttribute(name) !== to) this.svg.setAttribute(name, to);
    const [sx, sy] = this.preview?.shift ?? [0, 0];
    const seen: View = { ...view, ox: view.ox + sx * view.scale, oy: view.oy - sy * view.scale };
    const drawn = shape ? drawSurface({
      shape, view: seen, chosen: this.chosen, guides: this.preview?.guides ?? { x: null, y: null },
      units: this.units, locale: this.locale, edgeName: (p) => this.edgeName(p), readings: readingsOf(surfacesOf(this.document_)[this.index]),
    }) : [];
    paint(this.svg, this.drawn, drawn);
    this.drawn = drawn;
  }

  private render(): void {
    this.redraw();
    clearTimeout(this.renderSoon);
    // a moment later, so that a field left with Tab has passed the focus on by then
    this.renderSoon = window.setTimeout(() => this.renderPanel(), 0);
  }

  private renderPanel(): void {
    const surfaces = surfacesOf(this.document_);
    if (this.index >= surfaces.length) {
      this.index = Math.max(surfaces.length - 1, 0);
      this.chosen = null;
    }
    const at = this.contains(document.activeElement) ? (document.activeElement as HTMLElement).dataset?.key : undefined;
    this.snapper.textContent = t("site.snap", { step: this.units === "us" ? "1/2 in" : "10 mm" });
    this.snapper.setAttribute("aria-pressed", String(this.snapping));
    if (this.pen) fill(this.picker);
    else this.renderPicker(surfaces);
    this.empty.hidden = surfaces.length > 0;
    if (!surfaces.length) fill(this.empty, h("p", { text: t("site.nothing") }));
    this.work.classList.toggle("pw-none", !surfaces.length);
    const shape = this.shape;
    if (!shape) fill(this.panel);
    else {
      const desk = this.makeDesk(shape, surfaces);
      fill(this.panel, chosenPanel(desk), list(desk));
    }
    if (at) this.querySelector<HTMLElement>(`[data-key="${CSS.escape(at)}"]`)?.focus({ preventScroll: true });
  }

  private renderPicker(surfaces: Table[]): void {
    const shapes = surfaces.map((x) => shapeOf(x));
    const largest = Math.max(0.001, ...shapes.flatMap((x) => {
      if (!x) return [];
      const b = boxOf(x);
      return [(b[2] - b[0]) / 96, (b[3] - b[1]) / 52];
    }));
    fill(this.picker,
      ...surfaces.map((x, i) => h("button", {
        type: "button", class: "pw-pick", "aria-pressed": i === this.index ? "true" : "false", "data-key": `pick-${i}`,
        onclick: () => {
          this.index = i;
          this.chosen = null;
          this.look(null);
          this.render();
        },
      }, shapes[i] ? thumbnail(shapes[i]!, 1 / largest, 104, 60) : null, h("span", { text: String(x.name) }))),
      this.adder(surfaces));
  }

  private adding = false;
  private pen: Pen | null = null;
  private adder(surfaces: Table[]): HTMLElement {
    if (!this.adding && surfaces.length)
      return h("button", { type: "button", class: "pw-pick pw-new", "data-key": "add", onclick: () => {
        this.adding = true;
        this.renderPanel();
        this.querySelector<HTMLElement>('[data-key="new-name"]')?.focus();
      } }, h("span", { text: `+ ${t("site.add")}` }));
    return adder({
      units: this.units, locale: this.locale, names: surfaces.map((x) => String(x.name)),
      made: (name, size) => this.added(addSurface(this.saver!.document, name, size)),
      byHand: (name) => this.draw_(name),
      left: surfaces.length ? () => this.leave() : null,
    });
  }

  private added(document: Table): void {
    this.leave();
    this.index = surfacesOf(document).length - 1;
    this.chosen = null;
    this.commit(document);
    this.look(null);
  }

  /** Draw a new surface by hand on a sheet. */
  private draw_(name: string): void {
    this.pen = new Pen({
      units: this.units, locale: this.locale, snapping: () => this.snapping,
      done: (corners) => {
        const size = rectangleOf(corners);
        this.added(addOutline(this.saver!.document, name, corners, size, this.units));
      },
      left: () => this.leave(),
    });
    this.work.hidden = true;
    this.work.before(this.pen.box);
    this.renderPanel();
    this.pen.focus();
    this.pen.box.scrollIntoView({ block: "nearest" });
  }

  private leave(): void {
    this.pen?.box.remove();
    this.pen = null;
    this.adding = false;
    this.work.hidden = false;
    this.renderPanel();
    this.querySelector<HTMLElement>('[data-key="add"]')?.focus({ preventScroll: true });
  }

  private makeDesk(shape: Shape, surfaces: Table[]): Desk {
    return {
      units: this.units, locale: this.locale, shape, surfaces, index: this.index, chosen: this.chosen,
      choose: (item) => this.choose(item),
      edgeName: (p) => this.edgeName(p),
      typed: (text, m, change) => {
        this.commit(asTyped(m, text, () => change(m)));
        this.refit();
      },
      act: makeActs({
        document: () => this.saver!.document,
        index: this.index, shape, units: this.units,
        commit: (d, item) => {
          if (item !== undefined) this.chosen = item;
          this.commit(d);
        },
      }),
    };
  }

  /** After a typed measure: bring what grew beyond the page back into sight. */
  private refit(): void {
    const shape = this.shape;
    const v = this.view;
    if (!shape || !v) return;
    const b = boxOf(shape);
    const [x0, x1] = [v.ox + b[0] * v.scale, v.ox + b[2] * v.scale];
    const [y0, y1] = [v.oy - b[3] * v.scale, v.oy - b[1] * v.scale];
    const small = x1 - x0 < v.wide * 0.3 && y1 - y0 < v.tall * 0.3;
    if (x0 < 30 || x1 > v.wide - 30 || y0 < 30 || y1 > v.tall - 30 || small) this.look(null);
  }

  // choosing and dragging -----------------------------------------------------------------------

  private choose(item: Item | null): void {
    this.chosen = item;
    this.render();
  }

  private hold(key: string): boolean {
    const item = parse(key);
    const shape = this.shape;
    if (!shape) return false;
    this.from = { item, shape, view: this.view! };
    return true;
  }

  private drag(dx: number, dy: number): void {
    if (!this.from) return;
    const { item, shape, view } = this.from;
    this.chosen = item;
    const by: Point = [dx / view.scale, -dy / view.scale];
    this.preview = moved(this.saver!.document, this.index, shape, item, by, this.units, this.step, 12 / view.scale);
    cancelAnimationFrame(this.frame);
    this.draw(); // a drag comes once a frame
  }

  private release(was: boolean, cancelled: boolean): void {
    const from = this.from;
    const made = this.preview;
    this.from = null;
    this.preview = null;
    if (!from) return;
    if (cancelled || (was && !made)) this.redraw();
    else if (!was) this.choose(from.item);
    else this.settle(made!);
  }

  private settle(made: Dragged): void {
    const v = this.view!;
    this.view = { ...v, ox: v.ox + made.shift[0] * v.scale, oy: v.oy - made.shift[1] * v.scale };
    this.commit(made.document);
  }

  private key(e: KeyboardEvent): void {
    const typing = (e.target as Element).matches("input, select, textarea");
    if ((e.ctrlKey || e.metaKey) && !typing && /^[zy]$/i.test(e.key)) {
      e.preventDefault();
      void this.saver?.step(e.key.toLowerCase() === "z" && !e.shiftKey);
      return;
    }
    const target = (e.target as Element).closest<SVGElement>(".pw-item");
    if (e.key === "Escape" && this.chosen && !typing) {
      this.choose(null);
      return;
    }
    if (!target || e.altKey || e.ctrlKey || e.metaKey) return;
    const item = parse(target.dataset.item!);
    if (e.key === "Enter" || e.key === " ") {
      e.preventDefault();
      this.choose(item);
      window.setTimeout(() => this.panel.querySelector<HTMLElement>("input:checked, input:not([type=radio]), select")?.focus(), 30);
      return;
    }
    const way: Record<string, Point> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const shape = this.shape;
    if (!(e.key in way) || !shape) return;
    e.preventDefault();
    const step = (this.snapping ? stepOf(this.units) : this.units === "us" ? 0.0254 / 16 : 0.001) * (e.shiftKey ? 10 : 1);
    this.chosen = item;
    const [x, y] = way[e.key];
    // a rectangle may stand off the grid; a key moves by a whole step from where it is
    const made = moved(this.saver!.document, this.index, shape, item, [x * step, y * step], this.units, 0, 0);
    if (made) this.settle(made);
  }
}

function parse(key: string): Item {
  const [sort, k, stretch] = key.split("-");
  return sort === "edge" ? { sort, k: Number(k), stretch: Number(stretch) } : ({ sort, k: Number(k) } as Item);
}

