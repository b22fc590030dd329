/** `<pw-mix job>`: cups ticked off at one tap, also without a link; the page's own forms stay. */
import { part, Refused } from "../base/api";
import { fill, h } from "../base/dom";
import { onOutbox, post } from "../base/outbox";
import { latest } from "../base/page";
import { t } from "../base/words";
import { clock } from "../ribbon/model";

const GIVEN = ["a", "b", "lot_a", "lot_b", "mixing", "at"];

const fieldsOf = (card: Element): HTMLInputElement[] =>
  Array.from(card.querySelectorAll<HTMLInputElement>("details input[id]"));

export class PwMix extends HTMLElement {
  private state = h("p", { class: "pw-state", role: "status" });
  private deaf: (() => void) | null = null;
  private sent = new Map<string, string>(); // mark of a letter to the id of its card
  private stale = new Set<string>();
  private given = new Map<string, string>(); // id of a field to what was sent of it

  connectedCallback(): void {
    this.prepend(this.state);
    this.addEventListener("submit", this.take);
    this.deaf = onOutbox((left, refused) => {
      const card = refused ? this.sent.get(refused.letter.mark) : undefined;
      if (refused && card) this.refuse(card, refused.why);
      if (left) fill(this.state, t("link.kept", { n: left }));
      else {
        fill(this.state);
        void this.refresh();
      }
    });
  }

  disconnectedCallback(): void {
    this.removeEventListener("submit", this.take);
    this.deaf?.();
  }

  private take = (e: SubmitEvent): void => {
    const form = e.target as HTMLFormElement;
    const card = form.closest<HTMLElement>("li.cup");
    if (!card?.dataset.cup) return;
    e.preventDefault();
    const button = e.submitter as HTMLButtonElement | null;
    const on = Boolean(button?.value);
    const given = new FormData(form);
    fieldsOf(card).forEach((f) => this.given.set(f.id, f.value));
    const body: Record<string, unknown> = { cup: card.dataset.cup, mixed: on };
    if (on) for (const key of GIVEN) body[key] = String(given.get(key) ?? "");
    // the moment it was ticked counts, not the moment the link came back
    if (on && !body.at) body.at = clock(new Date());
    const mark = crypto.getRandomValues(new Uint32Array(3)).join("-");
    this.sent.set(mark, card.id);
    this.stale.add(card.id);
    this.show(card, on);
    void post(`/api/jobs/${part(this.getAttribute("job") ?? "")}/cups`, body, "POST", mark);
  };

  /** What was tapped is seen at once; the server's own words follow. */
  private show(card: HTMLElement, on: boolean): void {
    const was = card.classList.contains("mixed");
    card.classList.toggle("mixed", on);
    card.querySelector(".problem")?.remove();
    const count = this.querySelector(`[data-mixed="${CSS.escape(card.dataset.coat ?? "")}"]`);
    if (count && was !== on) count.textContent = String(Number(count.textContent) + (on ? 1 : -1));
    const button = card.querySelector<HTMLButtonElement>('button[name="mixed"]');
    if (!button) return;
    button.value = on ? "" : "yes";
    fill(button, t(on ? "mix.untick" : "mix.tick"));
    button.className = on ? "quiet" : "wide";
    navigator.vibrate?.(30);
  }

  private refuse(id: string, why: Refused): void {
    const card = document.getElementById(id);
    if (!card) return;
    this.stale.delete(id);
    this.show(card, false);
    card.querySelector("form")?.append(h("p", { class: "problem", role: "alert", text: why.message }));
    const details = card.querySelector("details");
    if (details) details.open = true;
  }

  /** Cards that were ticked get the server's words: when, who, what it weighed. */
  private async refresh(): Promise<void> {
    const ids = [...this.stale];
    if (!ids.length) return;
    this.stale.clear();
    const page = await latest();
    if (!page) {
      ids.forEach((id) => this.stale.add(id)); // no link, or the server is busy
      if (this.isConnected) setTimeout(() => void this.refresh(), 3000);
      return;
    }
    for (const id of ids) {
      const [old, fresh] = [document.getElementById(id), page.getElementById(id)];
      if (!old || !fresh || this.stale.has(id)) continue;
      const focus = old.contains(document.activeElement) ? document.activeElement : null;
      const typed = fieldsOf(old).filter((f) => f.value !== this.given.get(f.id));
      old.replaceWith(document.adoptNode(fresh));
      for (const was of typed) { // typed on meanwhile: goes on where it was
        const field = fieldsOf(fresh).find((f) => f.id === was.id);
        if (!field) continue;
        field.value = was.value;
        field.closest("details")?.setAttribute("open", "");
      }
      const same = fieldsOf(fresh).find((f) => f.id === focus?.id);
      if (same && typed.length) same.focus({ preventScroll: true });
      else if (focus) fresh.querySelector<HTMLElement>('button[name="mixed"]')?.focus();
    }
  }
}
