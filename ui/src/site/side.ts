/** The typed side of the site editor: fields for what is chosen, and a list of everything. */
import { freshId, h, s } from "../base/dom";
import { lengthShown, lengthText, type Locale, readLength, type Units } from "../base/quantity";
import { t } from "../base/words";
import { heightShown, type Item } from "./draw";
import { BELONGS, type EdgePart, type Kind, KINDS, lengthOf, type Shape, shapeOf, type Table } from "./model";
import { type Reading, readingsOf } from "./readings";

/** What the side needs of the editor. */
export interface Desk {
  units: Units;
  locale: Locale;
  shape: Shape;
  surfaces: Table[];
  index: number;
  chosen: Item | null;
  choose(item: Item | null): void;
  /** A length was typed: do something with its metres; the text goes into the document as it is. */
  typed(text: string, m: number, change: (m: number) => Table): void;
  edgeName(p: EdgePart): string;
  act: Acts;
}
export interface Acts {
  size(axis: 0 | 1, m: number): Table;
  rounding(k: number | null, m: number): Table;
  corner(k: number, axis: 0 | 1, m: number): Table;
  edgeLength(k: number, m: number): Table;
  stretchLength(k: number, stretch: number, m: number): Table;
  edgeMeasure(k: number, stretch: number, key: string, m: number): Table;
  clearMeasure(k: number, stretch: number, key: string): void;
  kind(k: number, stretch: number, kind: Kind): void;
  meets(k: number, stretch: number, meets: string | null): void;
  split(k: number, stretch: number): void;
  join(k: number, stretch: number): void;
  addCorner(k: number): void;
  removeCorner(k: number): void;
  free(): void;
  cutAt(k: number, axis: 0 | 1, m: number): Table;
  cutSize(k: number, axis: 0 | 1, m: number): Table;
  cutRound(k: number, m: number): Table;
  cutName(k: number, name: string): void;
  cutWhen(k: number, cut: "before" | "after"): void;
  cutEdge(k: number, kind: "wall" | "free"): void;
  removeCut(k: number): void;
  addCut(sort: "rectangle" | "circle"): void;
  startReadings(): void;
  addReading(): void;
  removeReading(k: number): void;
  reading(k: number, axis: 0 | 1 | 2, m: number): Table;
  rename(name: string): string | null;
  remove(): void;
}

const example = (units: Units): string => (units === "us" ? "24 1/8 in" : "610 mm");

/** A field for a length: says what is wrong beside it and commits what is right. */
export function measure(
  desk: Pick<Desk, "units" | "locale">,
  key: string,
  label: string,
  m: number | null,
  commit: (text: string, m: number | null) => void,
  least = -Infinity,
  may_be_empty = false,
): HTMLElement {
  const id = freshId("m");
  const wrong = h("p", { class: "problem", id: `${id}-w`, role: "alert" });
  const shown = m === null ? "" : lengthShown(m, desk.units, desk.locale);
  const input = h("input", {
    id, type: "text", autocomplete: "off", spellcheck: "false", "data-key": key, value: shown,
    "aria-describedby": `${id}-w`,
  });
  input.addEventListener("change", () => {
    const text = input.value.trim();
    if (text === shown) return;
    if (!text && may_be_empty) {
      commit("", null);
      return;
    }
    const metres = readLength(text, desk.locale);
    const problem =
      metres === null ? t("site.not_length", { typed: text, example: example(desk.units) })
      : metres < least - 1e-12 ? t("site.too_small", { least: lengthShown(least, desk.units, desk.locale) })
      : "";
    wrong.textContent = problem;
    input.setAttribute("aria-invalid", problem ? "true" : "false");
    if (metres === null || problem) return;
    // the document is written with decimal points, whatever this tablet's language
    const written = desk.locale.decimal === "," ? text.replace(",", ".") : text;
    commit(readLength(written) === null ? lengthText(metres, desk.units) : written, metres);
  });
  return h("div", { class: "field" }, h("label", { for: id, text: label }), input, wrong);
}

function choice(key: string, label: string, options: [string, string][], now: string, pick: (v: string) => void): HTMLElement {
  const id = freshId("c");
  const select = h("select", { id, "data-key": key },
    ...options.map(([v, text]) => h("option", { value: v, text, selected: v === now })));
  select.addEventListener("change", () => pick(select.value));
  return h("div", { class: "field" }, h("label", { for: id, text: label }), select);
}

function sample(kind: Kind): SVGSVGElement {
  const svg = s("svg", { viewBox: "0 0 44 16", width: 44, height: 16, "aria-hidden": "true", class: `pw-kind-${kind} pw-sample` });
  svg.append(s("line", { x1: 1, x2: 43, y1: 4, y2: 4, class: "pw-edge-line" }));
  if (kind === "free") svg.append(s("line", { x1: 1, x2: 43, y1: 10, y2: 10, class: "pw-edge-fine" }));
  if (kind === "wall") svg.append(s("path", { d: [4, 14, 24, 34].map((x) => `M${x} 4l6 7`).join(""), class: "pw-edge-fine" }));
  if (kind === "upstand") svg.append(...[8, 19, 30].map((x) => s("rect", { x, y: 8, width: 6, height: 6, class: "pw-edge-post" })));
  if (kind === "waterfall") svg.append(...[12, 32].map((x) => s("polygon", { points: `${x - 5},6 ${x},15 ${x + 5},6`, class: "pw-edge-arrow" })));
  return svg;
}

const button = (text: string, key: string, go: () => void, cls = ""): HTMLButtonElement =>
  h("button", { type: "button", class: cls, "data-key": key, text, onclick: go });

/** Fields of what is chosen. */
export function chosenPanel(desk: Desk): HTMLElement {
  const c = desk.chosen;
  if (c?.sort === "edge") {
    const p = desk.shape.parts.find((q) => q.edge === c.k && q.stretch === c.stretch);
    if (p) return edgePanel(desk, p);
  }
  if (c?.sort === "corner" && desk.shape.corners[c.k]) return cornerPanel(desk, c.k);
  const r = c?.sort === "reading" ? readingsOf(desk.surfaces[desk.index]).find((x) => x.index === c.k) : null;
  if (r) return readingPanel(desk, r);
  if ((c?.sort === "cut" || c?.sort === "grip") && desk.shape.cuts[c.k]) return cutPanel(desk, c.k);
  return surfacePanel(desk);
}

function head(desk: Desk, text: string): HTMLElement {
  return h("div", { class: "pw-side-head" }, h("h2", { text }),
    desk.chosen ? button("×", "close", () => desk.choose(null), "quiet pw-close") : null);
}

function surfacePanel(desk: Desk): HTMLElement {
  const { shape, act } = desk;
  const box = h("div", { class: "pw-side", role: "group", "aria-label": shape.name });
  const id = freshId("n");
  const wrong = h("p", { class: "problem", role: "alert" });
  const name = h("input", { id, type: "text", value: shape.name, maxlength: 40, autocomplete: "off", "data-key": "name" });
  name.addEventListener("change", () => {
    wrong.textContent = act.rename(name.value.trim()) ?? "";
  });
  box.append(head(desk, shape.name));
  const fields = h("div", { class: "pw-fields" });
  if (shape.rect) {
    const [w, d] = [shape.corners[1].x, shape.corners[2].y];
    fields.append(
      measure(desk, "size-0", t("site.length"), w, (text, m) => desk.typed(text, m!, (v) => act.size(0, v)), 0.005),
      measure(desk, "size-1", t(shape.upright ? "site.height" : "site.depth"), d, (text, m) => desk.typed(text, m!, (v) => act.size(1, v)), 0.005));
  }
  fields.append(
    measure(desk, "round", t("site.round_all"), shape.radius, (text, m) => desk.typed(text, m!, (v) => act.rounding(null, v)), 0),
    h("div", { class: "field" }, h("label", { for: id, text: t("site.name") }), name, wrong));
  box.append(fields, h("div", { class: "pw-acts" },
    button(t("site.cut_add_rectangle"), "add-rect", () => act.addCut("rectangle")),
    button(t("site.cut_add_circle"), "add-circle", () => act.addCut("circle")),
    shape.rect ? button(t("site.free_corners"), "free", () => act.free()) : null,
    shape.upright ? null : readingsOf(desk.surfaces[desk.index]).length
      ? button(t("site.reading_add"), "reading-add", () => act.addReading())
      : button(t("site.reading_start"), "reading-start", () => act.startReadings()),
    desk.surfaces.length > 1 ? button(t("site.remove"), "remove", () => act.remove(), "quiet") : null));
  return box;
}

function cornerPanel(desk: Desk, k: number): HTMLElement {
  const { shape, act } = desk;
  const c = shape.corners[k];
  const box = h("div", { class: "pw-side", role: "group", "aria-label": t("site.corner", { n: k + 1 }) });
  box.append(head(desk, t("site.corner", { n: k + 1 })));
  const fields = h("div", { class: "pw-fields" });
  if (shape.rect)
    fields.append(
      measure(desk, "size-0", t("site.length"), shape.corners[1].x, (text, m) => desk.typed(text, m!, (v) => act.size(0, v)), 0.005),
      measure(desk, "size-1", t(shape.upright ? "site.height" : "site.depth"), shape.corners[2].y, (text, m) => desk.typed(text, m!, (v) => act.size(1, v)), 0.005));
  else
    fields.append(
      measure(desk, "x", t("site.x"), c.x, (text, m) => desk.typed(text, m!, (v) => act.corner(k, 0, v))),
      measure(desk, "y", t(shape.upright ? "site.y_upright" : "site.y"), c.y, (text, m) => desk.typed(text, m!, (v) => act.corner(k, 1, v))));
  fields.append(measure(desk, "r", t(shape.rect ? "site.round_all" : "site.round"), c.r,
    (text, m) => desk.typed(text, m!, (v) => act.rounding(shape.rect ? null : k, v)), 0));
  box.append(fields, h("div", { class: "pw-acts" },
    shape.rect ? button(t("site.free_corners"), "free", () => act.free())
    : shape.corners.length > 3 ? button(t("site.corner_remove"), "corner-remove", () => act.removeCorner(k)) : null));
  return box;
}

function edgePanel(desk: Desk, p: EdgePart): HTMLElement {
  const { act } = desk;
  const name = t("site.edge", { name: desk.edgeName(p) });
  const box = h("div", { class: "pw-side", role: "group", "aria-label": name });
  box.append(head(desk, name));
  const group = freshId("k");
  box.append(h("fieldset", { class: "pw-kinds" }, h("legend", { text: t("site.edge_kind") }),
    ...KINDS.map((kind) => {
      const input = h("input", { type: "radio", name: group, value: kind, checked: kind === p.kind, "data-key": `kind-${kind}` });
      input.addEventListener("change", () => act.kind(p.edge, p.stretch, kind));
      return h("label", {}, input, sample(kind), h("span", {}, h("b", { text: t(`site.kind_${kind}`) }),
        h("small", { text: t(`site.kind_say_${kind}`) })));
    })));
  const fields = h("div", { class: "pw-fields" });
  if (p.of === 1)
    fields.append(measure(desk, "length", t("site.length"), p.length, (text, m) => desk.typed(text, m!, (v) => act.edgeLength(p.edge, v)), 0.005));
  else if (p.stretch < p.of - 1)
    fields.append(measure(desk, "stretch", t("site.stretch_length"), p.length, (text, m) => desk.typed(text, m!, (v) => act.stretchLength(p.edge, p.stretch, v)), 0.001));
  for (const key of BELONGS[p.kind])
    fields.append(measure(desk, key, t(key === "height" ? "site.edge_height" : `site.${key}`), lengthOf(p.spec, key),
      (text, m) => m === null ? act.clearMeasure(p.edge, p.stretch, key)
        : desk.typed(text, m, (v) => act.edgeMeasure(p.edge, p.stretch, key, v)), 0, true));
  if (p.kind === "joint" || p.kind === "waterfall") {
    const options: [string, string][] = [["", t("site.meets_none")]];
    desk.surfaces.forEach((other, i) => {
      if (i === desk.index) return;
      const shape = shapeOf(other);
      shape?.parts.forEach((q) => options.push([`${shape.name}.${q.name}`, `${shape.name}, ${desk.edgeName(q)}`]));
    });
    fields.append(choice("meets", t("site.meets"), options, String(p.spec.meets ?? ""), (v) => act.meets(p.edge, p.stretch, v || null)));
  }
  box.append(fields, h("div", { class: "pw-acts" },
    button(t("site.split"), "split", () => act.split(p.edge, p.stretch)),
    p.of > 1 ? button(t("site.unsplit"), "join", () => act.join(p.edge, p.stretch)) : null,
    button(t("site.corner_add"), "corner-add", () => act.addCorner(p.edge))));
  return box;
}

function cutPanel(desk: Desk, k: number): HTMLElement {
  const { shape, act } = desk;
  const c = shape.cuts[k];
  const box = h("div", { class: "pw-side", role: "group", "aria-label": c.name });
  box.append(head(desk, `${t("site.cut_out")} ${c.name}`));
  const id = freshId("n");
  const name = h("input", { id, type: "text", value: c.name, maxlength: 40, autocomplete: "off", "data-key": "cut-name" });
  name.addEventListener("change", () => act.cutName(k, name.value.trim()));
  const fields = h("div", { class: "pw-fields" });
  if (c.sort === "circle")
    fields.append(measure(desk, "d", t("site.diameter"), c.w, (text, m) => desk.typed(text, m!, (v) => act.cutSize(k, 0, v)), 0.001));
  if (c.sort === "rectangle")
    fields.append(
      measure(desk, "w", t("site.across"), c.w, (text, m) => desk.typed(text, m!, (v) => act.cutSize(k, 0, v)), 0.001),
      measure(desk, "h", t("site.up"), c.h, (text, m) => desk.typed(text, m!, (v) => act.cutSize(k, 1, v)), 0.001),
      measure(desk, "cr", t("site.round"), c.r, (text, m) => desk.typed(text, m!, (v) => act.cutRound(k, v)), 0));
  fields.append(
    measure(desk, "cx", t("site.centre_x"), c.x, (text, m) => desk.typed(text, m!, (v) => act.cutAt(k, 0, v))),
    measure(desk, "cy", t("site.centre_y"), c.y, (text, m) => desk.typed(text, m!, (v) => act.cutAt(k, 1, v))),
    choice("when", t("site.cut_when"), [["before", t("site.cut_before")], ["after", t("site.cut_after")]],
      c.after ? "after" : "before", (v) => act.cutWhen(k, v as "before" | "after")),
    choice("cut-edge", t("site.cut_edge"), [["wall", t("site.kind_wall")], ["free", t("site.kind_free")]], c.kind,
      (v) => act.cutEdge(k, v as "wall" | "free")),
    h("div", { class: "field" }, h("label", { for: id, text: t("site.name") }), name));
  box.append(fields, h("div", { class: "pw-acts" }, button(t("site.cut_remove"), "cut-remove", () => act.removeCut(k), "quiet")));
  return box;
}

function readingPanel(desk: Desk, r: Reading): HTMLElement {
  const { act } = desk;
  const title = t("site.reading", { n: r.index + 1 });
  const box = h("div", { class: "pw-side", role: "group", "aria-label": title });
  box.append(head(desk, title), h("p", { class: "help", text: t("site.reading_say") }));
  const fields = h("div", { class: "pw-fields" });
  const one = (axis: 0 | 1 | 2, key: string, label: string, now: number, least?: number): HTMLElement =>
    measure(desk, key, label, now, (text, m) => desk.typed(text, m!, (v) => act.reading(r.index, axis, v)), least);
  fields.append(one(2, "reading-z", t("site.reading_height"), r.z), one(0, "reading-x", t("site.x"), r.x), one(1, "reading-y", t("site.y"), r.y));
  box.append(fields, h("div", { class: "pw-acts" },
    button(t("site.reading_add"), "reading-add", () => act.addReading()),
    button(t("site.reading_remove"), "reading-remove", () => act.removeReading(r.index), "quiet")));
  return box;
}

/** Everything on the surface as a list to choose from, each with its measure. */
export function list(desk: Desk): HTMLElement {
  const { shape } = desk;
  const say = (m: number): string => lengthShown(m, desk.units, desk.locale);
  const line = (item: Item, key: string, text: string, more: string, icon?: SVGElement): HTMLElement => {
    const on = desk.chosen !== null && desk.chosen.sort === item.sort && desk.chosen.k === item.k &&
      (item.sort !== "edge" || (desk.chosen as { stretch: number }).stretch === item.stretch);
    return h("li", {}, h("button", { type: "button", class: "pw-line", "data-key": key, "aria-pressed": on ? "true" : "false",
      onclick: () => desk.choose(item) }, icon ?? null, h("span", { text }), h("span", { class: "soft num", text: more })));
  };
  const out = h("div", { class: "pw-list" });
  out.append(h("h3", { text: t("site.edges") }), h("ul", {}, ...shape.parts.map((p) =>
    line({ sort: "edge", k: p.edge, stretch: p.stretch }, `edge-${p.edge}-${p.stretch}`, desk.edgeName(p),
      `${say(p.length)}, ${t(`site.kind_${p.kind}`)}`, sample(p.kind)))));
  if (!shape.rect)
    out.append(h("h3", { text: t("site.corners") }), h("ul", {}, ...shape.corners.map((c, k) =>
      line({ sort: "corner", k }, `corner-${k}`, t("site.corner", { n: k + 1 }), `${say(c.x)}, ${say(c.y)}`))));
  if (shape.cuts.length)
    out.append(h("h3", { text: t("site.cut_outs") }), h("ul", {}, ...shape.cuts.map((c) =>
      line({ sort: "cut", k: c.index }, `cut-${c.index}`, c.name,
        c.sort === "circle" ? `⌀ ${say(c.w)}` : c.sort === "rectangle" ? `${say(c.w)} × ${say(c.h)}` : t("site.outline")))));
  const heights = readingsOf(desk.surfaces[desk.index]);
  if (heights.length)
    out.append(h("h3", { text: t("site.readings") }), h("ul", {}, ...heights.map((r) =>
      line({ sort: "reading", k: r.index }, `reading-${r.index}`, `${say(r.x)}, ${say(r.y)}`, heightShown(r.z, desk.units, desk.locale)))));
  return out;
}
