/**
 * `<pw-task task>`: stands where long work is going on; shows how far it is, and when it is done
 * fetches the page again and puts its own section in place, so that nothing typed is lost.
 */
import { ask, part, Refused } from "../base/api";
import { inUse, latest, put, show } from "../base/page";

interface Task {
  state: string;
  share: number;
  words: string;
}

export class PwTask extends HTMLElement {
  private on = false;

  connectedCallback(): void {
    if (this.on) return;
    this.on = true;
    void this.watch();
  }

  disconnectedCallback(): void {
    this.on = false;
  }

  private async watch(): Promise<void> {
    let over = false;
    for (let pause = 500; this.on; pause = Math.min(pause * 1.25, 2500)) {
      await new Promise((r) => setTimeout(r, pause));
      if (!this.on) return;
      over ||= await this.isOver();
      if (over && (await this.end())) return;
    }
  }

  private async isOver(): Promise<boolean> {
    try {
      const now = await ask<Task>("GET", `/api/tasks/${part(this.getAttribute("task") ?? "")}`);
      if (!["waiting", "running"].includes(now.state)) return true;
      const bar = this.querySelector("progress");
      if (bar) bar.value = Math.max(now.share, 0.02);
    } catch (e) {
      return e instanceof Refused && !e.passing; // the page says why
    }
    return false;
  }

  /** Put what came of it in place; false when that must wait: no answer, or somebody is at work. */
  private async end(): Promise<boolean> {
    const old = this.closest("section[aria-labelledby]");
    if (old && inUse(old)) return false;
    const page = await latest();
    if (!page || !this.on) return false;
    const key = CSS.escape(old?.getAttribute("aria-labelledby") ?? "");
    const fresh = old && page.querySelector(`section[aria-labelledby="${key}"]`);
    return old && fresh ? put(old, fresh) : show(page);
  }
}
