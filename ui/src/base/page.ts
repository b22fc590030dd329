/**
 * This page as the server has it now, put in the place of what stands here. No element ever loads
 * the page anew by itself: that would take away the page somebody has just tapped for and which is
 * still on its way, or what is being typed.
 */
import { SIGNED_OUT } from "./api";

type Field = HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement;

/** Whether a field holds something else than it came with. */
export function changed(f: Field): boolean {
  if (f instanceof HTMLSelectElement) {
    const came = Math.max(Array.from(f.options, (o) => o.defaultSelected).lastIndexOf(true), 0);
    return f.options.length > 0 && f.selectedIndex !== came;
  }
  if (f.type === "checkbox" || f.type === "radio") return (f as HTMLInputElement).checked !== (f as HTMLInputElement).defaultChecked;
  return f.type !== "hidden" && f.value !== f.defaultValue;
}

let down = 0; // when a finger or a mouse button went down [ms]; 0 when it is up again
let lifted = -Infinity;
addEventListener("pointerdown", () => (down = performance.now()), { capture: true, passive: true });
for (const end of ["pointerup", "pointercancel"])
  addEventListener(end, () => {
    down = 0;
    lifted = performance.now();
  }, { capture: true, passive: true });

/** Whether something is being touched just now: what lies under a finger must not be changed. */
export function touched(): boolean {
  const now = performance.now();
  return (down > 0 && now - down < 10_000) || now - lifted < 500;
}

/** Whether somebody is at work in `part`: the focus is in it, or a field of a form was changed. */
export function inUse(part: Element): boolean {
  const focus = document.activeElement;
  if (focus && focus !== part && part.contains(focus)) return true;
  return Array.from(part.querySelectorAll<Field>("input[name], textarea[name], select[name]")).some(changed);
}

/** This page fetched again; null when no answer came, the server is busy or the session ended. */
export async function latest(): Promise<Document | null> {
  try {
    const answer = await fetch(location.pathname + location.search, {
      credentials: "same-origin", cache: "no-store", headers: { Accept: "text/html" },
    });
    if (answer.redirected && new URL(answer.url).pathname === "/login") {
      document.dispatchEvent(new Event(SIGNED_OUT));
      return null;
    }
    if (answer.status === 429 || answer.status >= 500) return null;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    page.querySelectorAll("noscript").forEach((n) => n.remove()); // read as markup there
    return page;
  } catch {
    return null;
  }
}

/** What somebody unfolded in `old` stays unfolded in `fresh`, by its id. */
export function keepOpen(old: Element, fresh: Element): void {
  const open = new Set(Array.from(old.querySelectorAll("details[open]"), (d) => d.id).filter(Boolean));
  fresh.querySelectorAll("details").forEach((d) => {
    if (open.has(d.id)) d.setAttribute("open", "");
  });
}

/** Put `fresh` in the place of `old`, unless somebody is at work there; whether that was done. */
export function put(old: Element, fresh: Element): boolean {
  if (touched() || inUse(old)) return false;
  keepOpen(old, fresh);
  old.replaceWith(document.adoptNode(fresh));
  return true;
}

/** Put what `page` shows here, unless somebody is at work in it; whether that was done. */
export function show(page: Document): boolean {
  const [old, fresh] = [document.querySelector("main"), page.querySelector("main")];
  if (!old || !fresh || touched() || inUse(old)) return false;
  keepOpen(old, fresh);
  old.replaceChildren(...Array.from(document.adoptNode(fresh).childNodes));
  const [row, other] = [document.querySelector("nav.work"), page.querySelector("nav.work")];
  if (row && other && !row.contains(document.activeElement)) row.replaceWith(document.adoptNode(other));
  return true;
}
