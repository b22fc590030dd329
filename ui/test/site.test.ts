import { expect, test } from "vitest";
import { moved } from "../src/site/drag";
import * as edit from "../src/site/edit";
import { boxOf, pairOf, shapeOf, surfacesOf, type Table } from "../src/site/model";
import * as pieces from "../src/site/pieces";
import { snap, stepOf } from "../src/site/snap";

const galley = (): Table => ({
  schema: 1,
  surfaces: [
    {
      name: "leg-a", size: ["2100 mm", "23 5/8 in"], other_edges: { kind: "wall" },
      edges: {
        front: [{ kind: "free", round_over: "6 mm", drop: "40 mm", length: "1540 mm" }, { kind: "joint", meets: "leg-b.back" }],
        left: { kind: "free", round_over: "6 mm", drop: "40 mm" },
      },
      cut_outs: [{ name: "sink", size: ["480 mm", "380 mm"], at: ["1050 mm", "310 mm"] }],
    },
    { name: "leg-b", size_mm: [560, 1250], edges: { back: { kind: "joint", meets: "leg-a.front-2" } } },
    { name: "shelf", outline: [["0 mm", "0 mm"], { x: "500 mm", y: "0 mm" }, ["500 mm", "300 mm", "20 mm"], ["0 mm", "300 mm"]] },
  ],
});
const at = (d: Table, i: number): Table => surfacesOf(d)[i];

test("sizes, suffixed keys and stretches are understood", () => {
  const a = shapeOf(at(galley(), 0))!;
  expect(boxOf(a)).toEqual([0, 0, 2.1, expect.closeTo(0.600075, 9)]);
  expect(a.parts.map((p) => p.name)).toEqual(["front-1", "front-2", "right", "back", "left"]);
  expect(a.parts[1].length).toBeCloseTo(0.56, 9);
  expect(a.parts[2].kind).toBe("wall");
  expect(pairOf(at(galley(), 1), "size")).toEqual([0.56, 1.25]);
  expect(shapeOf(at(galley(), 2))!.corners[2]).toEqual({ x: 0.5, y: 0.3, r: 0.02 });
});

test("a change rewrites only what it changes", () => {
  const before = galley();
  const d = edit.setSize(before, 0, [2.2, 0.600075], "metric");
  expect(at(d, 0).size).toEqual(["2200 mm", "23 5/8 in"]);
  expect({ ...at(d, 0), size: null }).toEqual({ ...at(before, 0), size: null });
  expect(at(d, 2)).toEqual(at(before, 2));
  expect(before).toEqual(galley());
  const typed = edit.asTyped(2.2, "2.2 m", () => edit.setSize(before, 0, [2.2, 0.600075], "metric"));
  expect((at(typed, 0).size as string[])[0]).toBe("2.2 m");
});

test("dragging the left edge keeps cut-outs where they stand", () => {
  const d = edit.moveEdge(galley(), 0, 3, [-0.1, 0], "metric");
  expect((at(d, 0).size as string[])[0]).toBe("2200 mm");
  expect(((at(d, 0).cut_outs as Table[])[0].at as string[])[0]).toBe("1150 mm");
});

test("a rectangle set free keeps its edges, and others still meet it", () => {
  const d = edit.setCornersFree(galley(), 0, "metric");
  const a = shapeOf(at(d, 0))!;
  expect(at(d, 0).size).toBeUndefined();
  expect(at(d, 0).outline).toEqual([["0 mm", "0 mm"], ["2100 mm", "0 mm"], ["2100 mm", "23 5/8 in"], ["0 mm", "23 5/8 in"]]);
  expect(a.parts.map((p) => p.kind)).toEqual(["free", "joint", "wall", "wall", "free"]);
  expect(((at(d, 1).edges as Table).back as Table).meets).toBe("leg-a.1-2");
});

test("adding and taking out a corner renumbers edges", () => {
  let d = edit.addCorner(galley(), 0, 1, [2.1, 0.3], "metric");
  let a = shapeOf(at(d, 0))!;
  expect(a.corners.length).toBe(5);
  expect(a.parts.map((p) => p.kind)).toEqual(["free", "joint", "wall", "wall", "wall", "free"]);
  d = edit.removeCorner(d, 0, 2);
  a = shapeOf(at(d, 0))!;
  expect(a.corners.length).toBe(4);
  expect(a.parts.at(-1)!.kind).toBe("free");
});

test("a kind takes only its own measures; its partner stands against a wall again", () => {
  let d = edit.setKind(galley(), 0, 3, 0, "upstand");
  expect((at(d, 0).edges as Table).left).toEqual({ kind: "upstand" });
  d = edit.setKind(galley(), 0, 0, 1, "wall");
  expect((at(d, 0).edges as Table).front).toEqual([expect.anything(), { kind: "wall" }]);
  expect((at(d, 1).edges as Table).back).toEqual({ kind: "wall" });
  d = edit.setKind(galley(), 0, 1, 0, "free");
  expect((at(d, 0).edges as Table).right).toEqual({ kind: "free", round_over: "6 mm", drop: "40 mm" });
});

test("parting an edge and making it one again", () => {
  let d = edit.splitEdge(galley(), 0, 3, 0, 0.3, "metric");
  expect((at(d, 0).edges as Table).left).toEqual([
    { kind: "free", round_over: "6 mm", drop: "40 mm", length: "300 mm" }, { kind: "free", round_over: "6 mm", drop: "40 mm" }]);
  d = edit.joinEdge(d, 0, 3, 0);
  expect((at(d, 0).edges as Table).left).toEqual({ kind: "free", round_over: "6 mm", drop: "40 mm" });
  d = edit.joinEdge(galley(), 0, 0, 1);
  expect(((at(d, 1).edges as Table).back as Table).meets).toBe("leg-a.front");
});

test("meeting says it on both sides", () => {
  const bare: Table = { surfaces: [{ name: "a", size: ["1 m", "1 m"] }, { name: "b", size: ["1 m", "1 m"], edges: { left: { kind: "free", drop: "9 mm" } } }] };
  const d = edit.setMeets(edit.setKind(bare, 0, 1, 0, "joint"), 0, 1, 0, "b.left");
  expect((at(d, 0).edges as Table).right).toEqual({ kind: "joint", meets: "b.left" });
  expect((at(d, 1).edges as Table).left).toEqual({ kind: "joint", meets: "a.right" });
});

test("another name and taking away follow the joints", () => {
  expect(((at(pieces.renameSurface(galley(), 0, "long"), 1).edges as Table).back as Table).meets).toBe("long.front-2");
  const d = pieces.removeSurface(galley(), 0);
  expect(surfacesOf(d).map((s) => s.name)).toEqual(["leg-b", "shelf"]);
  expect((at(d, 0).edges as Table).back).toEqual({ kind: "wall" });
});

test("cut-outs come, move, grow and go", () => {
  let d = pieces.addCut(galley(), 0, "circle", "hole", [1, 0.3], [0.035, 0], "us");
  d = pieces.moveCut(d, 0, 1, [0.0254, 0.0508], "us");
  d = pieces.sizeCut(d, 0, 1, [0.0508, 0], "us");
  expect((at(d, 0).cut_outs as Table[])[1]).toEqual({ name: "hole", diameter: "2 in", at: ["1 in", "2 in"] });
  expect((at(pieces.removeCut(d, 0, 1), 0).cut_outs as Table[]).length).toBe(1);
});

test("typed edge lengths keep square corners square", () => {
  const shape = shapeOf(at(edit.setEdgeLength(galley(), 2, 0, 0.7, "metric"), 2))!;
  expect(shape.corners.map((c) => [c.x, c.y])).toEqual([[0, 0], [0.7, 0], [0.7, 0.3], [0, 0.3]]);
});

test("snap: other corners before the step, and free when off", () => {
  expect(snap([0.4983, 0.1234], [0.5], [], 0.01, 0.004)).toEqual({ at: [0.5, expect.closeTo(0.12, 12)], x: 0.5, y: null });
  expect(snap([0.49, 0.1234], [0.5], [], 0.01, 0.004).at[0]).toBeCloseTo(0.49, 12);
  expect(snap([0.4983, 0.1234], [0.5], [0.12], 0, 0.1).at).toEqual([0.4983, 0.1234]);
  expect(stepOf("us")).toBeCloseTo(0.0127, 12);
});

test("a corner cannot be dragged through the other side", () => {
  const d = galley();
  const m = moved(d, 0, shapeOf(at(d, 0))!, { sort: "corner", k: 0 }, [5, 0], "metric", 0.01, 0.01)!;
  expect(pairOf(at(m.document, 0), "size")![0]).toBeCloseTo(0.01, 9);
});
