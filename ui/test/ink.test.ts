// @vitest-environment node
import { beforeAll, describe, expect, it } from "vitest";
import { type Ink, ink, inkText, paint } from "../src/base/ink";

/** As much of an element as painting asks for, and how often it was touched. */
let touched = 0;
class Bit {
  kids: Bit[] = [];
  set: Record<string, string> = {};
  words = "";
  over: Bit | null = null;
  constructor(readonly tag: string) {}
  get firstElementChild(): Bit | null { return this.kids[0] ?? null; }
  get nextElementSibling(): Bit | null { return this.over?.kids[this.over.kids.indexOf(this) + 1] ?? null; }
  set textContent(words: string) { touched += 1; this.words = words; }
  setAttribute(name: string, to: string): void { touched += 1; this.set[name] = to; }
  removeAttribute(name: string): void { touched += 1; delete this.set[name]; }
  append(kid: Bit): void { this.insertBefore(kid, null); }
  insertBefore(kid: Bit, next: Bit | null): void {
    touched += 1;
    const at = next ? this.kids.indexOf(next) : this.kids.length;
    if (at < 0) throw new Error("not a child");
    kid.over = this;
    this.kids.splice(at, 0, kid);
  }
  remove(): void {
    touched += 1;
    this.over!.kids = this.over!.kids.filter((k) => k !== this);
    this.over = null;
  }
}
const told = (b: Bit): unknown => [b.tag, b.set, b.words, b.kids.map(told)];
const wanted = (i: Ink): unknown => [
  i.tag, Object.fromEntries(Object.entries(i.set).filter(([, v]) => v !== undefined).map(([k, v]) => [k, String(v)])), i.text ?? "", i.inside.map(wanted),
];
const keyed = (key: string, x = 0): Ink => ({ ...ink("g", { x }, ink("path", { d: `M${x}` })), key });

beforeAll(() => {
  (globalThis as Record<string, unknown>).document = { createElementNS: (_: string, tag: string) => new Bit(tag) };
});

describe("a drawing that stays", () => {
  it("shows what is asked, whatever was there before", () => {
    // a small fixed generator, so that a failure comes again
    let seed = 7;
    const any = (n: number): number => ((seed = (seed * 48271) % 2147483647), seed % n);
    const some = (deep: number): Ink => {
      const sort = any(deep ? 4 : 3);
      if (sort === 0) return inkText(["", "a", "b"][any(3)], { x: any(3) });
      if (sort === 1) return keyed(`k${any(5)}`, any(3));
      if (sort === 2) return ink("line", { x: any(3), y: any(2) ? undefined : 1 });
      return ink("g", {}, ...Array.from({ length: any(5) }, () => some(deep - 1)));
    };
    const host = new Bit("svg");
    let was: Ink[] = [];
    for (let k = 0; k < 500; k += 1) {
      const is = Array.from({ length: any(7) }, () => some(2));
      paint(host as unknown as Element, was, is);
      expect(host.kids.map(told)).toEqual(is.map(wanted));
      was = is;
    }
  });

  it("keeps the element that has the focus when others come and go", () => {
    const host = new Bit("svg");
    const first = [keyed("a"), keyed("b"), keyed("c")];
    paint(host as unknown as Element, [], first);
    const held = host.kids[1];
    const then = [keyed("n"), keyed("b", 4), ink("line"), keyed("c")];
    paint(host as unknown as Element, first, then);
    expect(host.kids[1]).toBe(held);
    expect(held.set.x).toBe("4");
  });

  it("touches only what moved", () => {
    const host = new Bit("svg");
    const before = Array.from({ length: 50 }, (_, k) => keyed(`k${k}`, k));
    paint(host as unknown as Element, [], before);
    touched = 0;
    paint(host as unknown as Element, before, before.map((_, k) => keyed(`k${k}`, k === 9 ? 99 : k)));
    expect(touched).toBe(2);
  });
});
