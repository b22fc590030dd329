/** After a save, parts of the page that show the old state are fetched again, unless in use. */

import { inUse, keepOpen, latest } from "./page";

const PARTS = "[data-fresh]";

let turn = 0;

/** Fetch this page again and swap its parts marked `data-fresh` (matched by their id). */
export async function freshen(revision: number): Promise<void> {
  const parts = Array.from(document.querySelectorAll<HTMLElement>(PARTS)).filter((p) => p.id);
  turn += 1;
  const mine = turn;
  const page = parts.length ? await latest() : null;
  if (!page || mine !== turn) return; // a later save is being fetched: this answer is old
  for (const part of parts) {
    if (inUse(part)) continue;
    const other = page.getElementById(part.id);
    if (!other) continue;
    keepOpen(part, other);
    part.replaceWith(document.adoptNode(other));
  }
  // forms outside those parts start from the new revision, if nothing in them was typed yet
  document.querySelectorAll<HTMLInputElement>('input[name="base_revision"]').forEach((f) => {
    if (f.form && !inUse(f.form)) {
      f.value = String(revision);
      f.defaultValue = String(revision);
    }
  });
}
