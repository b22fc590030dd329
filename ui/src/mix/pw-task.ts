/**
 * `<pw-task task>`: stands where long work is going on; shows how far it is, and when it is done
 * fetches the page again and puts its own section in place, so that nothing typed elsewhere is lost.
 */
import { ask, part, Refused } from "../base/api";

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
    const path = `/api/tasks/${part(this.getAttribute("task") ?? "")}`;
    for (let pause = 500; this.on; pause = Math.min(pause * 1.25, 2500)) {
      await new Promise((r) => setTimeout(r, pause));
      if (!this.on) return;
      try {
        const now = await ask<Task>("GET", path);
        if (!["waiting", "running"].includes(now.state)) return void (await this.ready());
        const bar = this.querySelector("progress");
        if (bar) bar.value = Math.max(now.share, 0.02);
      } catch (e) {
        if (e instanceof Refused && !e.passing) return void (await this.ready());
      }
    }
  }

  private async ready(): Promise<void> {
    const old = this.closest("section[aria-labelledby]");
    const key = old?.getAttribute("aria-labelledby");
    try {
      const answer = await fetch(location.pathname + location.search, { credentials: "same-origin" });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.querySelector(`section[aria-labelledby="${CSS.escape(key ?? "")}"]`);
      if (answer.ok && old && fresh) old.replaceWith(document.adoptNode(fresh));
      else location.reload();
    } catch {
      location.reload();
    }
  }
}
