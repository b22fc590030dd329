/** `<pw-slab job>`: the picture laid on the piece, to be turned; its 3-D part comes only on demand. */
import { ask, part } from "../base/api";
import { fill, freshId, h } from "../base/dom";
import { t } from "../base/words";
import type { Slab } from "./scene";
import type { Picture } from "./tasks";

/** Area of a piece [m2]; a sample board comes after every piece. */
function size(p: Picture): number {
  const ring = p.about?.outline_m ?? [];
  const twice = ring.reduce((sum, [x, y], i) => {
    const [u, v] = ring[(i + 1) % ring.length];
    return sum + x * v - u * y;
  }, 0);
  return p.about?.board ? 0 : Math.abs(twice) / 2;
}

export class PwSlab extends HTMLElement {
  private open_ = h("button", { type: "button", text: t("slab.open"), "aria-expanded": "false" });
  private box = h("div", { class: "pw-slab-box", hidden: true });
  private state = h("p", { class: "pw-state", role: "status" });
  private slab: Slab | null = null;
  private built = false;

  connectedCallback(): void {
    if (!this.built) {
      this.built = true;
      this.append(this.open_, this.state, this.box);
      this.open_.addEventListener("click", () => void (this.slab ? this.close() : this.open()));
    }
    document.addEventListener("pw-drawn", this.drawn);
  }

  disconnectedCallback(): void {
    this.close();
    document.removeEventListener("pw-drawn", this.drawn);
  }

  private drawn = (): void => {
    if (this.slab) {
      this.close();
      void this.open();
    }
  };

  private close(): void {
    this.slab?.stop();
    this.slab = null;
    this.box.hidden = true;
    fill(this.box);
    this.open_.textContent = t("slab.open");
    this.open_.setAttribute("aria-expanded", "false");
  }

  private async pieces(): Promise<Picture[]> {
    const all = await ask<Picture[]>("GET", `/api/jobs/${part(this.getAttribute("job") ?? "")}/pictures`);
    const seen = new Set<string>();
    const latest = all.filter((p) => {
      if (p.sort !== "texture" || !p.about?.outline_m || seen.has(p.scene)) return false;
      seen.add(p.scene); // newest first: the latest picture of each piece
      return true;
    });
    return latest.sort((a, b) => size(b) - size(a)); // the largest piece is the one to look at
  }

  private async open(): Promise<void> {
    this.state.textContent = t("slab.loading");
    try {
      const pieces = await this.pieces();
      if (!pieces.length) {
        this.state.textContent = t("slab.no_texture");
        return;
      }
      const { Slab } = await import("./scene");
      const canvas = h("canvas", { class: "pw-slab-canvas", tabindex: 0, role: "img", "aria-label": t("slab.label") });
      this.box.hidden = false;
      const id = freshId("piece");
      const pick = h("select", { id }, ...pieces.map((p, i) => h("option", { value: i, text: p.scene })));
      fill(this.box, pieces.length > 1 ? h("div", { class: "field pw-slab-pick" }, h("label", { for: id, text: t("slab.piece") }), pick) : null,
        canvas, h("p", { class: "help", text: t("slab.keys") }));
      this.slab = new Slab(canvas);
      pick.addEventListener("change", () => void this.slab?.show(pieces[Number(pick.value)]));
      await this.slab.show(pieces[0]);
      this.state.textContent = "";
      this.open_.textContent = t("slab.close");
      this.open_.setAttribute("aria-expanded", "true");
    } catch {
      this.close();
      this.state.textContent = t("slab.none");
    }
  }
}
