/** `<pw-wait job>`: stands where a plan is being made; shows how far it is, then the page with the plan. */
import { ask, part, Refused } from "../base/api";
import { inUse, latest, show } from "../base/page";
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
    let there = false;
    for (let pause = 700; this.on; pause = Math.min(pause * 1.2, 2500)) {
      await new Promise((r) => setTimeout(r, pause));
      if (!this.on) return;
      there ||= await this.isThere();
      if (there && (await this.put())) return;
    }
  }

  private async isThere(): Promise<boolean> {
    try {
      const now = await ask<Waiting>("GET", `/api/jobs/${part(this.getAttribute("job") ?? "")}/plan`);
      if (now.plan || (now.task && now.task.state !== "running" && now.task.state !== "waiting")) return true;
      if (now.task) this.show(now.task.share, now.task.words);
    } catch (e) {
      return e instanceof Refused && !e.passing; // refused: the page says why
    }
    return false;
  }

  private show(share: number, words: string): void {
    const bar = this.querySelector("progress");
    if (bar) bar.value = Math.max(share, 0.02);
    const said = this.querySelector(".soft");
    if (said && words) said.textContent = words;
  }

  /** Put the page with its plan here; false when that must wait: no answer, or somebody is at work. */
  private async put(): Promise<boolean> {
    if (this.closest("[hidden]")) return true; // the element around it shows the plan by itself
    const main = this.closest("main");
    const page = main && inUse(main) ? null : await latest();
    if (!this.on) return true;
    if (page && show(page)) return true;
    if (main && inUse(main)) {
      const strong = this.querySelector("strong");
      if (strong) strong.textContent = t("wait.ready");
      this.querySelector("progress")?.remove();
    }
    return false;
  }
}
