/** Starting a surface: by its length and depth, or by hand on a sheet. */
import { freshId, h } from "../base/dom";
import type { Locale, Units } from "../base/quantity";
import { t } from "../base/words";
import { freeName, nameFits } from "./pieces";
import { measure } from "./side";

export interface AdderSays {
  units: Units;
  locale: Locale;
  names: string[];
  /** A rectangle was typed. */
  made(name: string, size: [string, string]): void;
  /** The rest shall be drawn by hand. */
  byHand(name: string): void;
  /** Nothing shall be added after all; null when there is nothing to go back to. */
  left: (() => void) | null;
}

export function adder(says: AdderSays): HTMLElement {
  const id = freshId("new");
  const wrong = h("p", { class: "problem", role: "alert" });
  const name = h("input", { id, type: "text", value: freeName("top", says.names), maxlength: 40, autocomplete: "off", "data-key": "new-name" });
  const texts: (string | null)[] = [null, null];
  const field = (i: 0 | 1, label: string): HTMLElement =>
    measure({ units: says.units, locale: says.locale }, `new-${i}`, label, null, (text) => { texts[i] = text; }, 0.01);
  const said = (): string | null => {
    const text = name.value.trim();
    wrong.textContent = !nameFits(text) ? t("site.name_bad") : says.names.includes(text) ? t("site.name_taken", { name: text }) : "";
    if (wrong.textContent) name.focus();
    return wrong.textContent ? null : text;
  };
  const form = h("form", { class: "pw-adder", novalidate: true },
    h("div", { class: "field" }, h("label", { for: id, text: t("site.name") }), name),
    field(0, t("site.length")), field(1, t("site.depth")),
    h("button", { type: "submit", class: "go", text: t("site.add_rectangle"), "data-key": "new-go" }),
    h("button", { type: "button", text: t("pen.open"), "data-key": "new-hand", onclick: () => {
      const text = said();
      if (text !== null) says.byHand(text);
    } }),
    says.left ? h("button", { type: "button", class: "quiet", text: t("pen.leave"), "data-key": "new-leave", onclick: says.left }) : null,
    wrong);
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const [l, d] = Array.from(form.querySelectorAll<HTMLInputElement>('[data-key="new-0"], [data-key="new-1"]'));
    for (const f of [l, d]) f.dispatchEvent(new Event("change"));
    const text = said();
    if (text === null) return;
    if (texts[0] === null || texts[1] === null) (texts[0] === null ? l : d).focus();
    else says.made(text, [texts[0], texts[1]]);
  });
  return form;
}
