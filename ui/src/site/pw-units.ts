/**
 * `<pw-units form usual>`: on a new job, another system of units brings its own usual measures;
 * also where it was chosen before this script came.
 */

export class PwUnits extends HTMLElement {
  private heard = false;

  connectedCallback(): void {
    const form = document.getElementById(this.getAttribute("form") ?? "");
    if (this.heard || !(form instanceof HTMLFormElement)) return;
    this.heard = true;
    const usual = JSON.parse(this.getAttribute("usual") ?? "{}") as Record<string, Record<string, string>>;
    const bring = (chosen: HTMLInputElement): void => {
      if (chosen.name !== "units" || !usual[chosen.value]) return;
      for (const [name, text] of Object.entries(usual[chosen.value])) {
        const field = form.elements.namedItem(name);
        // what somebody typed stays as it is
        if (field instanceof HTMLInputElement && Object.values(usual).some((u) => u[name] === field.value)) field.value = text;
      }
    };
    form.addEventListener("change", (e) => bring(e.target as HTMLInputElement));
    const chosen = form.querySelector<HTMLInputElement>("input[name=units]:checked");
    if (chosen && !chosen.defaultChecked) bring(chosen);
  }
}
