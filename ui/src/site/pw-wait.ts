/** `<pw-wait job>`: stands where a plan is being made; shows how far it is and loads the page when it is there. */
import { ask, part, Refused } from "../base/api";
import { t } from "../base/words";

interface Waiting {
  revision: number;
  plan?: unknown;
  task?: { state: string; share: number; words: string };
}

export class PwWait extends HTMLElement {
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
    for (let pause = 700; this.on; pause = Math.min(pause * 1.2, 2500)) {
      await new Promise((r) => setTimeout(r, pause));
      if (!this.on) return;
      try {
        const now = await ask<Waiting>("GET", `/api/jobs/${part(this.getAttribute("job") ?? "")}/plan`);
        if (now.plan || (now.task && now.task.state !== "running" && now.task.state !== "waiting")) return this.ready();
        if (now.task) this.show(now.task.share, now.task.words);
      } catch (e) {
        if (e instanceof Refused && !e.passing) return this.ready(); // refused: the page says why
      }
    }
  }

  private show(share: number, words: string): void {
    const bar = this.querySelector("progress");
    if (bar) bar.value = Math.max(share, 0.02);
    const said = this.querySelector(".soft");
    if (said && words) said.textContent = words;
  }

  /** Load the page again, unless something typed would be lost by it. */
  private ready(): void {
    const typed = Array.from(document.querySelectorAll<HTMLInputElement | HTMLTextAreaElement>("main input[name]:not([type=hidden]), main textarea[name]")).some((f) =>
      f instanceof HTMLInputElement && (f.type === "checkbox" || f.type === "radio") ? f.checked !== f.defaultChecked : f.value !== f.defaultValue);
    if (!typed) {
      location.reload();
      return;
    }
    const strong = this.querySelector("strong");
    if (strong) strong.textContent = t("wait.ready");
    this.querySelector("progress")?.remove();
  }
}
