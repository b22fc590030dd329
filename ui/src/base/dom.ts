/** Small helpers to build HTML and SVG without strings of markup (strict content policy). */

type Child = Node | string | null | undefined | false;
type Props = Record<string, unknown>;

/** An HTML element: `on…` props are listeners, `class`, `text`, the rest attributes or booleans. */
export function h<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  props: Props = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  put(made, props);
  made.append(...(children.filter((c) => c !== null && c !== undefined && c !== false) as (Node | string)[]));
  return made;
}

const SVG = "http://www.w3.org/2000/svg";

/** An SVG element with presentation attributes. */
export function s<K extends keyof SVGElementTagNameMap>(
  tag: K,
  props: Props = {},
  ...children: Child[]
): SVGElementTagNameMap[K] {
  const made = document.createElementNS(SVG, tag) as SVGElementTagNameMap[K];
  put(made, props);
  made.append(...(children.filter((c) => c !== null && c !== undefined && c !== false) as (Node | string)[]));
  return made;
}

/** Set attributes, listeners (`onclick`), text and class on an element. */
export function put(to: Element, props: Props): void {
  for (const [key, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (key === "text") to.textContent = String(value);
    else if (key.startsWith("on") && typeof value === "function")
      to.addEventListener(key.slice(2), value as EventListener);
    else if (key === "value" && "value" in to) (to as HTMLInputElement).value = String(value);
    else if (value === true) to.setAttribute(key, "");
    else to.setAttribute(key, String(value));
  }
}

/** Take every child out and put these in. */
export function fill(to: Element, ...children: Child[]): void {
  to.replaceChildren(...(children.filter((c) => c !== null && c !== undefined && c !== false) as (Node | string)[]));
}

const PLAIN = ":scope > [data-plain], :scope > figure, :scope > .empty, :scope > form";

/** Hide the plain form or drawing an element stands in for. */
export function hidePlain(host: Element, which = PLAIN): void {
  host.querySelectorAll<HTMLElement>(which).forEach((e) => {
    e.hidden = true;
    e.dataset.plain = "";
  });
}

/** Show the plain form again, when the element cannot work. */
export function showPlain(host: Element): void {
  host.querySelectorAll<HTMLElement>(":scope > [data-plain]").forEach((e) => {
    e.hidden = false;
  });
}

let last = 0;
/** A fresh id for label and field pairs. */
export function freshId(stem: string): string {
  last += 1;
  return `pw-${stem}-${last}`;
}

/** Whether the reader asked for less movement. */
export function calm(): boolean {
  return matchMedia("(prefers-reduced-motion: reduce)").matches;
}

/** Run `f` once, `ms` after the last call. */
export function debounce(f: () => void, ms: number): { (): void; now(): void; stop(): void } {
  let timer = 0;
  const run = () => {
    timer = 0;
    f();
  };
  const call = () => {
    clearTimeout(timer);
    timer = window.setTimeout(run, ms);
  };
  call.now = () => {
    if (timer) {
      clearTimeout(timer);
      run();
    }
  };
  call.stop = () => {
    clearTimeout(timer);
    timer = 0;
  };
  return call;
}
