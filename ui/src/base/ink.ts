/**
 * A drawing that stays: it is described anew for each frame as plain values, and only what differs
 * from the frame before touches the page. An element that stays keeps its focus.
 */

const SVG = "http://www.w3.org/2000/svg";
type Value = string | number | undefined;

/** What an SVG element shall be. `key` tells it from others of its kind that come and go. */
export interface Ink {
  tag: string;
  set: Record<string, Value>;
  text?: string;
  key?: string;
  inside: Ink[];
}

/** Describe an element; an attribute that is undefined is left out. */
export function ink(tag: string, set: Record<string, Value> = {}, ...inside: (Ink | null)[]): Ink {
  return { tag, set, inside: inside.filter((i) => i !== null) };
}

/** An element of words. */
export function inkText(words: string, set: Record<string, Value>): Ink {
  return { tag: "text", set, text: words, inside: [] };
}

/** A new element as described. */
export function inked(is: Ink): SVGElement {
  const made = document.createElementNS(SVG, is.tag);
  for (const [name, value] of Object.entries(is.set)) if (value !== undefined) made.setAttribute(name, String(value));
  if (is.text !== undefined) made.textContent = is.text;
  else for (const i of is.inside) made.append(inked(i));
  return made;
}

function touchUp(to: Element, was: Ink, is: Ink): void {
  for (const name in is.set) {
    const value = is.set[name];
    if (value === was.set[name]) continue;
    if (value === undefined) to.removeAttribute(name);
    else to.setAttribute(name, String(value));
  }
  for (const name in was.set) if (!(name in is.set)) to.removeAttribute(name);
  if (is.text !== undefined) {
    if (is.text !== was.text) to.textContent = is.text;
  } else paint(to, was.inside, is.inside);
}

const alike = (a: Ink, b: Ink): boolean => a.tag === b.tag && a.key === b.key && (a.text === undefined) === (b.text === undefined);

/** Make the children of `host`, which show `was`, show `is`. */
export function paint(host: Element, was: Ink[], is: Ink[]): void {
  // what stays keeps its order, so it is enough to look ahead for the next one alike
  let child = host.firstElementChild;
  let i = 0;
  for (const one of is) {
    let ahead = i;
    while (ahead < was.length && !alike(was[ahead], one)) ahead += 1;
    if (ahead === was.length || (one.key === undefined && ahead > i && was.slice(i, ahead).some((w) => w.key !== undefined))) {
      host.insertBefore(inked(one), child);
      continue;
    }
    for (; i < ahead; i += 1) {
      const gone = child!;
      child = gone.nextElementSibling;
      gone.remove();
    }
    const stays = child!;
    child = stays.nextElementSibling;
    touchUp(stays, was[i], one);
    i += 1;
  }
  while (child) {
    const gone: Element = child;
    child = gone.nextElementSibling;
    gone.remove();
  }
}
