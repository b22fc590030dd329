/**
 * `<pw-sheets>`: fetches the pictures of papers one after the other, so that they never take the
 * connections away that a tap on a paper needs; asks again while a paper is still being set.
 */
export class PwSheets extends HTMLElement {
  private on = false;

  connectedCallback(): void {
    if (this.on) return;
    this.on = true;
    void this.fetchAll();
  }

  disconnectedCallback(): void {
    this.on = false;
  }

  private async fetchAll(): Promise<void> {
    const wanted = Array.from(this.querySelectorAll<HTMLImageElement>("img[data-src]"));
    for (let pause = 1500; this.on && wanted.length; pause = Math.min(pause * 1.1, 8000)) {
      for (const picture of [...wanted]) {
        if (!this.on) return;
        const done = await this.show(picture);
        if (done) wanted.splice(wanted.indexOf(picture), 1);
      }
      if (wanted.length) await new Promise((r) => setTimeout(r, pause));
    }
  }

  /** Whether there is nothing more to try for this picture. */
  private async show(picture: HTMLImageElement): Promise<boolean> {
    try {
      const answer = await fetch(picture.dataset.src ?? "", { credentials: "same-origin" });
      if (answer.status === 202) return false; // still being set
      if (!answer.ok) return ![429, 502, 503, 504].includes(answer.status);
      picture.src = URL.createObjectURL(await answer.blob());
      picture.hidden = false;
      return true;
    } catch {
      return false;
    }
  }
}
