/** `<pw-quantity>`: says back what the text in the field inside it means. */
import { ask, Refused } from "./base/api";
import { debounce, freshId, h } from "./base/dom";
import { changed } from "./base/page";
import { language, t } from "./base/words";

interface Answer {
  value: number;
  echo: string;
}

export class PwQuantity extends HTMLElement {
  private said: HTMLElement | null = null;
  private input: HTMLInputElement | null = null;
  private asked = "";
  private soon = debounce(() => void this.read(), 250);

  connectedCallback(): void {
    if (this.said) return;
    this.input = this.querySelector("input");
    if (!this.input) return;
    const id = freshId("means");
    this.said = h("p", { class: "help pw-means", id, role: "status" });
    this.append(this.said);
    const other = this.input.getAttribute("aria-describedby");
    this.input.setAttribute("aria-describedby", other ? `${other} ${id}` : id);
    this.input.addEventListener("input", () => this.soon());
    this.input.addEventListener("change", () => this.soon.now());
    if (changed(this.input)) this.soon(); // typed before this script came
  }

  disconnectedCallback(): void {
    this.soon.stop();
  }

  private async read(): Promise<void> {
    const input = this.input!;
    const said = this.said!;
    const text = input.value.trim();
    this.asked = text;
    if (!text) {
      said.textContent = "";
      said.classList.remove("problem");
      input.removeAttribute("aria-invalid");
      return;
    }
    try {
      const answer = await ask<Answer>("POST", "/api/read", {
        text,
        dimension: this.getAttribute("dimension") ?? "length",
        locale: this.getAttribute("locale") ?? language(),
      });
      if (this.asked !== text) return; // typed on meanwhile
      said.textContent = t("quantity.means", { echo: answer.echo });
      said.classList.remove("problem");
      input.removeAttribute("aria-invalid");
    } catch (e) {
      if (this.asked !== text || !(e instanceof Refused)) return;
      if (e.error) {
        said.textContent = `${e.error.limit} ${e.error.remedy}`;
        said.classList.add("problem");
        input.setAttribute("aria-invalid", "true");
      } else said.textContent = e.offline ? t("link.none") : "";
    }
  }
}
