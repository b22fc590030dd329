/** `<pw-picture job>`: has pictures of the pour drawn, shows how far they are, and lets one stop. */
import { ask, part, Refused } from "../base/api";
import { fill, freshId, h, hidePlain } from "../base/dom";
import { latest } from "../base/page";
import { t } from "../base/words";
import { type Picture, type Task, watch, why } from "./tasks";

const FINE = { quick: [8, 2], usual: [4, 1], fine: [2, 0.6] } as const;

export class PwPicture extends HTMLElement {
  private state = h("p", { class: "pw-state", role: "status" });
  private bar = h("progress", { max: 1, "aria-label": t("picture.draw"), hidden: true });
  private stop = h("button", { type: "button", text: t("picture.cancel"), hidden: true });
  private drawn = h("div", { class: "grid pw-drawn" });
  private scene = h("select");
  private seed = h("input", { type: "text", inputmode: "numeric", autocomplete: "off" });
  private many = h("select", {}, ...[1, 2, 3, 4].map((n) => h("option", { value: n, text: String(n) })));
  private fine = h("select", {}, ...(["quick", "usual", "fine"] as const).map((k) =>
    h("option", { value: k, text: t(`picture.fine_${k}`), selected: k === "quick" })));
  private go = h("button", { type: "submit", class: "go", text: t("picture.draw") });
  private task: string | null = null;
  private made = 0;
  private built = false;

  connectedCallback(): void {
    if (!this.built) this.build();
    void this.scenes();
    void this.resume();
  }

  disconnectedCallback(): void {
    this.task = null;
  }

  private get path(): string {
    return `/api/jobs/${part(this.getAttribute("job") ?? "")}`;
  }

  private build(): void {
    this.built = true;
    const field = (label: string, f: HTMLElement): HTMLElement => {
      f.id = freshId("p");
      return h("div", { class: "field" }, h("label", { for: f.id, text: label }), f);
    };
    const plain = this.querySelector<HTMLInputElement>('input[name="seed"]');
    this.seed.value = plain?.value ?? "1";
    // as many as the plain form offers: variants side by side
    this.many.value = this.querySelector<HTMLSelectElement>('select[name="many"]')?.value ?? "1";
    const form = h("form", { class: "row pw-picture-form", novalidate: true, onsubmit: (e: Event) => {
      e.preventDefault();
      void this.draw();
    } }, field(t("picture.scene"), this.scene), field(t("picture.seed"), this.seed),
      field(t("picture.variants"), this.many), field(t("picture.fine"), this.fine), this.go);
    this.stop.addEventListener("click", () => void this.cancel());
    // what was chosen in the plain form before this script came, and where somebody is in it
    const chosen = this.querySelector<HTMLSelectElement>('select[name="fine"]')?.value;
    if (chosen) this.fine.value = chosen;
    const at = this.querySelector(":scope > form :focus");
    const here = { scene: this.scene, many: this.many, seed: this.seed, fine: this.fine }[at?.getAttribute("name") ?? ""] ?? this.go;
    hidePlain(this, ":scope > form, :scope > .notice");
    const box = h("div", { class: "pw-drawing" }, this.drawn, form, h("div", { class: "row" }, this.bar, this.stop), this.state);
    this.append(box);
    if (at) here.focus({ preventScroll: true });
  }

  private async scenes(): Promise<void> {
    const known = this.querySelector<HTMLSelectElement>('select[name="scene"]');
    let names = known ? Array.from(known.options, (o) => o.value) : [];
    if (!names.length) {
      if (document.querySelector("pw-wait")) return; // the page comes again with its plan
      try {
        names = (await ask<{ name: string }[]>("GET", `${this.path}/scenes`)).map((x) => x.name);
      } catch (e) {
        if (e instanceof Refused && e.status === 503 && this.isConnected) setTimeout(() => void this.scenes(), 2000);
        return;
      }
    }
    const chosen = this.scene.value || known?.value;
    fill(this.scene, ...names.map((n) => h("option", { value: n, text: n })));
    if (chosen && names.includes(chosen)) this.scene.value = chosen;
  }

  /** A picture that was being drawn before a reload goes on. */
  private async resume(): Promise<void> {
    try {
      const tasks = await ask<Task[]>("GET", `${this.path}/tasks`);
      const open = tasks.find((x) => x.kind === "picture" && (x.state === "running" || x.state === "waiting"));
      if (open) await this.follow(open.task);
    } catch {
      /* an older server or no link: nothing to take up */
    }
  }

  private async draw(): Promise<void> {
    const first = Number(this.seed.value);
    const good = Number.isInteger(first) && first >= 0 && first < 2 ** 31 - 8;
    this.seed.setAttribute("aria-invalid", String(!good));
    if (!good) {
      this.seed.focus();
      return;
    }
    const many = Number(this.many.value);
    const [cell_mm, pixel_mm] = FINE[this.fine.value as keyof typeof FINE];
    this.go.disabled = true;
    this.state.textContent = t("picture.waiting"); // what was drawn before is over
    try {
      const made = await ask<Task>("POST", `${this.path}/pictures`, {
        scene: this.scene.value || null, cell_mm, pixel_mm,
        ...(many > 1 ? { seeds: Array.from({ length: many }, (_, k) => first + k) } : { seed: first }),
      });
      this.seed.value = String(first + many);
      await this.follow(made.task);
    } catch (e) {
      this.end(e instanceof Refused ? (e.error ? e.message : t("link.none")) : String(e));
    }
  }

  private async follow(id: string): Promise<void> {
    this.task = id;
    this.go.disabled = true;
    this.bar.hidden = this.stop.hidden = false;
    try {
      const done = await watch(id, (x) => this.show(x), () => this.task === id && this.isConnected);
      if (!done) return;
      if (done.state === "done") await this.gallery(done.result?.pictures ?? []);
      this.end(done.state === "done" ? t("picture.finished", { n: this.made })
        : done.state === "cancelled" ? t("picture.cancelled") : t("picture.failed", { why: why(done) }));
    } catch (e) {
      this.end(e instanceof Refused && e.error ? e.message : t("link.none"));
    }
  }

  private show(task: Task): void {
    if (task.state === "waiting") this.bar.removeAttribute("value");
    else this.bar.value = task.share;
    const words = task.state === "waiting" ? t("picture.waiting") : `${Math.round(task.share * 100)} % · ${task.words}`;
    if (this.state.textContent !== words) this.state.textContent = words;
  }

  private end(words: string): void {
    this.task = null;
    this.go.disabled = false;
    this.bar.hidden = this.stop.hidden = true;
    this.state.textContent = words;
  }

  private async cancel(): Promise<void> {
    if (!this.task) return;
    try {
      await ask("POST", `/api/tasks/${part(this.task)}/cancel`);
    } catch (e) {
      this.state.textContent = e instanceof Refused && e.error ? e.message : t("link.none");
    }
  }

  /** The page's own gallery, fetched again; false where the page has none. */
  private async refreshed(): Promise<boolean> {
    const mine = this.querySelector("#f-drawn");
    if (!mine) return false;
    const other = (await latest())?.querySelector("#f-drawn");
    if (!other) return false;
    mine.replaceWith(document.adoptNode(other));
    return true;
  }

  private async gallery(names: string[]): Promise<void> {
    if (await this.refreshed()) {
      this.made = names.filter((n) => !n.endsWith("-texture")).length;
      this.dispatchEvent(new CustomEvent("pw-drawn", { bubbles: true }));
      return;
    }
    const all = await ask<Picture[]>("GET", `${this.path}/pictures`);
    const mine = all.filter((p) => names.includes(p.name) && p.sort !== "texture");
    fill(this.drawn, ...mine.map((p) =>
      h("figure", { class: "figure" },
        h("img", { src: p.url, width: p.width_px, height: p.height_px, alt: t("picture.alt", { scene: p.scene, seed: p.seed }) }),
        h("figcaption", { text: [p.scene, t("picture.caption", { seed: p.seed }), p.words].filter(Boolean).join(" · ") }))));
    this.made = mine.length;
    this.dispatchEvent(new CustomEvent("pw-drawn", { bubbles: true }));
  }
}
