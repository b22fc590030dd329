import { expect, test } from "vitest";
import { fault, rectangleOf, tidied } from "../src/site/pen";
import { addOutline } from "../src/site/pieces";
import { addReading, readingsOf, removeReading, setReading, startReadings } from "../src/site/readings";
import { type Point, shapeOf, surfacesOf, type Table } from "../src/site/model";

const L: Point[] = [[0.2, 0.2], [2, 0.2], [2, 0.8], [0.9, 0.8], [0.9, 1.5], [0.2, 1.5]];

test("an outline is refused when its sides cross or it has no area", () => {
  expect(fault(L)).toBe("");
  expect(fault(L.slice(0, 2))).toBe("pen.three");
  expect(fault([[0, 0], [1, 1], [1, 0], [0, 1]])).toBe("pen.crosses");
  expect(fault([[0, 0], [1, 0], [2, 0]])).toBe("pen.flat");
});

test("corners come out anticlockwise from the near left, without those in a straight line", () => {
  const turned = [...L].reverse();
  expect(tidied(turned).map((p) => p.map((v) => Math.round(v * 1e6) / 1e6))).toEqual([[0, 0], [1.8, 0], [1.8, 0.6], [0.7, 0.6], [0.7, 1.3], [0, 1.3]]);
  const straight: Point[] = [[0, 0], [0.5, 0], [1, 0], [1, 0.4], [0, 0.4]];
  expect(rectangleOf(tidied(straight))).toEqual([1, 0.4]);
  expect(rectangleOf(tidied(L))).toBeNull();
});

test("what is drawn is a surface in the job's own units", () => {
  const d = addOutline({ surfaces: [] }, "corner", tidied(L), null, "metric");
  expect(surfacesOf(d)[0].outline).toEqual([["0 mm", "0 mm"], ["1800 mm", "0 mm"], ["1800 mm", "600 mm"], ["700 mm", "600 mm"], ["700 mm", "1300 mm"], ["0 mm", "1300 mm"]]);
  const us = addOutline({ surfaces: [] }, "leaf", [], [0.9144, 0.6096], "us");
  expect(surfacesOf(us)[0].size).toEqual(["36 in", "24 in"]);
});

test("level readings keep the texts that were typed and vanish below three", () => {
  const top: Table = { surfaces: [{ name: "top", size: ["600 mm", "400 mm"] }] };
  let d = startReadings(top, 0, shapeOf(surfacesOf(top)[0])!, "metric", 0.01);
  expect(readingsOf(surfacesOf(d)[0])).toHaveLength(5);
  d = setReading(d, 0, 1, 2, -0.0015, "metric");
  expect(readingsOf(surfacesOf(d)[0])[1].z).toBeCloseTo(-0.0015, 12);
  expect(((surfacesOf(d)[0].levels as Table).readings as unknown[][])[0][2]).toBe("0 mm");
  d = addReading(d, 0, [0.3, 0.1], "metric");
  for (let k = 5; k > 2; k -= 1) d = removeReading(d, 0, k);
  expect(readingsOf(surfacesOf(d)[0])).toHaveLength(3);
  expect(surfacesOf(removeReading(d, 0, 0))[0].levels).toBeUndefined();
  const table: Table = { surfaces: [{ name: "t", size: ["1 m", "1 m"], levels: { readings: [{ x_mm: 10, y: "1/2 in", height: "0 mm" }] } }] };
  expect(readingsOf(surfacesOf(table)[0])[0]).toEqual({ index: 0, x: 0.01, y: 0.0127, z: 0 });
});
