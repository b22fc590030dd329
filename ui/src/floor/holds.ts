/** Hold points of a step as rows to tick off: it holds, it does not, or what was measured. */
import { fill, freshId, h } from "../base/dom";
import { t } from "../base/words";
import type { Hold } from "./plan";

const SHORT: Record<string, string> = { met: "floor.hold_met", failed: "floor.hold_failed" };

/** The stop that failed hold points of a step put in its way; null when none did. */
export function haltOf(holds: Hold[]): HTMLElement | null {
  const failed = holds.filter((x) => x.state === "failed");
  if (!failed.length) return null;
  return h("div", { class: "halt", role: "alert" }, ...failed.flatMap((x) => [
    h("p", {}, h("strong", { text: t("floor.stop") }), ` ${upper(x.title)}${x.measured ? `: ${x.measured}, ${x.limit}` : ""}.`),
    x.remedy ? h("p", { text: x.remedy }) : null,
  ].filter((p): p is HTMLParagraphElement => p !== null)));
}

function upper(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** What is being typed at hold points, by hold, and which of them somebody is in. */
export interface Typing {
  said: Map<string, string>;
  at: string;
}

/** What stands typed in rows or in the plain forms of a page. */
export function typingIn(rows: Iterable<Element>): Typing {
  const out: Typing = { said: new Map(), at: "" };
  for (const row of rows) {
    const field = row.querySelector<HTMLInputElement>('input:not([type="hidden"], [name="note"])');
    const id = row.getAttribute("data-hold") ?? row.querySelector<HTMLInputElement>('input[name="hold"]')?.value;
    if (!field || !id) continue;
    if (field.value.trim()) out.said.set(id, field.value);
    if (field === document.activeElement) out.at = id;
  }
  return out;
}

/** Rows of the hold points, with what was being typed there; `tick` is told what was tapped and typed. */
export function holdRows(
  holds: Hold[],
  typing: Typing,
  tick: (hold: Hold, say: "met" | "failed" | "open", value: string) => void,
): HTMLElement | null {
  if (!holds.length) return null;
  const open = holds.filter((x) => x.state === "open").length;
  const list = h("ul", { class: "floorholds" });
  fill(list, ...holds.map((x) => {
    const value = h("input", { id: freshId("hold"), type: "text", autocomplete: "off", inputmode: "decimal", value: typing.said.get(x.id) ?? "" });
    const shown = SHORT[x.state];
    const act = (say: "met" | "failed" | "open") => () => {
      const typed = value.value.trim();
      value.value = "";
      measure.open = false;
      tick(x, say, typed);
    };
    const name = `: ${x.title}`;
    const yes = h("button", { type: "button", text: t("floor.hold_yes"), "aria-label": t("floor.hold_yes") + name, onclick: act("met") });
    const back = h("button", { type: "button", class: "quiet", text: t("floor.hold_back"), "aria-label": t("floor.hold_back") + name, onclick: act("open") });
    const measure = h("details", { class: "plain", open: typing.said.has(x.id) || typing.at === x.id },
      h("summary", {}, h("span", { class: "sign", "aria-hidden": "true" }),
        h("span", { class: "pw-hold-name" }, upper(x.title), " ", h("span", { class: "soft", text: x.limit }),
          shown ? h("b", { text: ` ${t(shown)}${x.measured ? ` ${x.measured}` : ""}` }) : x.computed ? h("small", { class: "soft", text: t("floor.expected", { value: x.computed }) }) : null)),
      h("div", { class: "row low" },
        x.measures ? h("div", { class: "field" }, h("label", { for: value.id, text: `${t("floor.measured")} ${x.unit}`.trim() }), value) : null,
        x.measures ? h("button", { type: "button", text: t("floor.hold_take"), "aria-label": t("floor.hold_take") + name, onclick: () => (value.value.trim() ? act("met")() : value.focus()) }) : null,
        h("button", { type: "button", text: t("floor.hold_no"), "aria-label": t("floor.hold_no") + name, onclick: act("failed") })));
    return h("li", { class: `hold ${x.state}`, "data-hold": x.id }, measure, x.state === "met" ? back : yes);
  }));
  return h("section", { class: "pw-holds", "aria-label": t("floor.hold") },
    h("h2", { text: t("floor.hold") }),
    open ? h("p", { class: "soft", text: t("floor.holds_open", { n: open, all: holds.length }) }) : null, list);
}
