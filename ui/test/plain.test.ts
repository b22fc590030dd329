import { expect, test } from "vitest";
import { merge, same } from "../src/base/merge";
import { called, timersFor, type Plan, type Step } from "../src/floor/plan";
import { due, extended, left, localMoment, sound, spell } from "../src/floor/timers";
import { closer, dragged, keyed, STRAIGHT } from "../src/picture/turn";
import { airSpan, at, clock, flagRows, heightOf, moment, secondsSince, tickStep, wordAt, type Band } from "../src/ribbon/model";

test("two changes are put together where they do not contradict", () => {
  const base = { revision: 3, name: "Bar", site: { a: 1 }, surfaces: [{ name: "x", w: 1 }, { name: "y", w: 1 }] };
  const mine = { ...base, surfaces: [{ name: "x", w: 2 }, { name: "y", w: 1 }] };
  const theirs = { ...base, revision: 4, site: { a: 2 }, surfaces: [{ name: "x", w: 1 }, { name: "y", w: 5 }, { name: "z", w: 1 }] };
  expect(merge(base, mine, theirs)).toEqual({
    revision: 4, name: "Bar", site: { a: 2 }, surfaces: [{ name: "x", w: 2 }, { name: "y", w: 5 }, { name: "z", w: 1 }] });
  expect(merge(base, mine, { ...base, surfaces: [{ name: "x", w: 9 }, { name: "y", w: 1 }] })).toBeNull();
  expect(merge(base, { ...base, name: "A" }, { ...base, name: "B" })).toBeNull();
  const gone = { ...base, surfaces: [{ name: "y", w: 1 }] };
  expect(merge(base, gone, base)).toEqual(gone);
  expect(merge(base, gone, { ...base, surfaces: [{ name: "x", w: 7 }, { name: "y", w: 1 }] })).toBeNull();
  const air = { ...base, site: { a: 1, b: { c: 1 } } };
  expect(merge(air, { ...air, site: { a: 2, b: { c: 1 } } }, { ...air, site: { a: 1, b: { c: 9 } } })?.site).toEqual({ a: 2, b: { c: 9 } });
  const numbered = { surfaces: [{ name: "b", w: 1 }, { name: "1", w: 1 }] };
  expect(merge(numbered, { surfaces: [{ name: "b", w: 2 }, { name: "1", w: 1 }] }, { surfaces: [{ name: "b", w: 1 }, { name: "1", w: 3 }] }))
    .toEqual({ revision: undefined, surfaces: [{ name: "b", w: 2 }, { name: "1", w: 3 }] });
  const names = (d: unknown): unknown => (d as { surfaces: { name: string }[] }).surfaces.map((x) => x.name);
  const renamed = { surfaces: [{ name: "bar-1", w: 1 }, { name: "board" }, { name: "bar-2" }] };
  expect(names(merge({ surfaces: [{ name: "top", w: 1 }, { name: "board" }] }, renamed,
    { surfaces: [{ name: "top", w: 1 }, { name: "board" }, { name: "end" }] }))).toEqual(["bar-1", "board", "bar-2", "end"]);
  expect(same({ a: [1, { b: null }] }, { a: [1, { b: null }] })).toBe(true);
  expect(same([1], { 0: 1 })).toBe(false);
});

test("timers go by absolute times", () => {
  const timer = { id: "a", name: "veins", ends: 600_000, rung: false, quiet: false };
  expect(left(timer, 0)).toBe(600);
  expect(due([timer], 599_999)).toEqual([]);
  expect(due([timer], 3_600_000)).toEqual([timer]); // woken an hour later it is still due
  expect(extended({ ...timer, rung: true }, 300, 700_000)).toMatchObject({ ends: 1_000_000, rung: false });
  expect([spell(600), spell(599.2), spell(0.4), spell(-61), spell(3725)]).toEqual(["10:00", "10:00", "0:01", "1:01", "1:02:05"]);
  expect(sound([timer, { id: 3 }, null, { id: "b", name: "x", ends: NaN }])).toEqual([timer]);
  expect(localMoment(new Date(2027, 2, 15, 9, 5, 7))).toBe("2027-03-15T09:05:07");
});

test("starting a mix calls for its pour time, at the cautious end", () => {
  const step = { id: "colour-mix-1", kind: "mix", starts: "2027-03-18T14:40:00", ends: "2027-03-18T14:58:00", done: false } as Step;
  const plan: Plan = { days: [], coats: [{ id: "colour", title: "Colour", pour_within_min: { p05: 31, p50: 40, p95: 55 } }] };
  expect(timersFor(step, plan)).toEqual([{ sort: "pour", minutes: 31 }, { sort: "lasts", minutes: 18 }]);
  const start = new Date(2027, 2, 18, 14, 40).getTime();
  expect(called([step], start - 1, start)).toEqual([step]);
  expect(called([{ ...step, done: true }], start - 1, start)).toEqual([]);
});

const band: Band = {
  title: "while it moves", start_s: 0, end_s: 3600, t_s: [0, 1800, 3600], flow: [[1, 0.5, 0], [1, 0.6, 0], [1, 0.7, 0]],
  air_degC: [16, 18, 17], words: [{ start_s: 0, end_s: 1200, text: "spread" }, { start_s: 1200, end_s: 3600, text: "hands off" }], pins: [] };

test("ribbon: heights, air, words, ticks", () => {
  expect(heightOf(0.25)).toBe(0.5);
  expect(heightOf(2)).toBe(1);
  expect(at(band.t_s, band.air_degC, 900)).toBe(17);
  expect(at(band.t_s, band.air_degC, -5)).toBe(16);
  expect(wordAt(band, 1300)?.text).toBe("hands off");
  expect(wordAt(band, 9999)).toBeNull();
  expect(tickStep(3600, 8)).toBe(600);
  const [low, high] = airSpan(band);
  expect(low).toBeLessThanOrEqual(14);
  expect(high).toBeGreaterThanOrEqual(20);
});

test("the shop clock does not jump with summer time", () => {
  for (const days of [0, 13, 14, 30]) {
    const t = days * 86400 + 9.5 * 3600;
    const d = moment("2027-03-15T00:00:00", t);
    expect(clock(d)).toBe("09:30");
    expect(secondsSince("2027-03-15T00:00:00", d)).toBe(t);
  }
});

test("flags that would run into each other take another row", () => {
  const pins = [{ t_s: 0, text: "mix 1" }, { t_s: 10, text: "spread" }, { t_s: 300, text: "torch" }];
  expect(flagRows(pins, (t) => t, (w) => w.length * 8, 400, 5).map((f) => [f.row, f.flip])).toEqual([[0, false], [1, false], [0, false]]);
  expect(flagRows([{ t_s: 390, text: "veins" }], (t) => t, (w) => w.length * 8, 400, 5)[0].flip).toBe(true);
});

test("the piece turns but never shows its underside", () => {
  expect(dragged(STRAIGHT, 0, 1e6).pitch).toBeCloseTo(Math.PI / 2, 9);
  expect(dragged(STRAIGHT, 0, -1e6).pitch).toBeGreaterThan(0);
  expect(closer(STRAIGHT, 100).near).toBe(0.25);
  expect(keyed(dragged(STRAIGHT, 50, 0), "Home")).toEqual(STRAIGHT);
  expect(keyed(STRAIGHT, "a")).toBeNull();
});
