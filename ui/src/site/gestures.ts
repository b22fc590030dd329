/** Pointers on the drawing: drag an item, pan with one finger, pinch with two, wheel to zoom. */
import type { View } from "./draw";

/** What the drawing is told; `drag` and `look` come at most once a frame. */
export interface Hands {
  /** An item was touched; false when it cannot be dragged. */
  hold(item: string): boolean;
  /** The item held moved by so many px since it was touched. */
  drag(dx: number, dy: number): void;
  /** Let go; `moved` false for a tap. */
  release(moved: boolean, cancelled: boolean): void;
  tapGround(): void;
  view(): View;
  look(view: View): void;
}

const FIRM: Record<string, number> = { touch: 8, pen: 5, mouse: 3 };

/** A view zoomed by `by` about a point [px]. */
export function zoomed(v: View, by: number, x: number, y: number): View {
  const scale = Math.min(Math.max(v.scale * by, 4), 60_000);
  const k = scale / v.scale;
  return { ...v, scale, ox: x + (v.ox - x) * k, oy: y + (v.oy - y) * k };
}

export function listen(svg: SVGSVGElement, hands: Hands): void {
  const down = new Map<number, { x: number; y: number; x0: number; y0: number }>();
  let held: { id: number; moved: boolean; firm: number; item: boolean } | null = null;
  let start: View | null = null;
  let box = svg.getBoundingClientRect(); // read when a pointer comes down, not while it moves
  let frame = 0;
  const here = (e: PointerEvent | WheelEvent): [number, number] => [e.clientX - box.left, e.clientY - box.top];

  /** What the pointers did since the last frame. */
  const act = (): void => {
    frame = 0;
    if (down.size === 2 && start) {
      const [a, b] = [...down.values()];
      const before = Math.hypot(a.x0 - b.x0, a.y0 - b.y0) || 1;
      const after = Math.hypot(a.x - b.x, a.y - b.y) || 1;
      const [mx, my] = [(a.x0 + b.x0) / 2, (a.y0 + b.y0) / 2];
      const v = zoomed(start, after / before, mx, my);
      hands.look({ ...v, ox: v.ox + (a.x + b.x) / 2 - mx, oy: v.oy + (a.y + b.y) / 2 - my });
      return;
    }
    const p = held && down.get(held.id);
    if (!held?.moved || !p) return;
    const [dx, dy] = [p.x - p.x0, p.y - p.y0];
    if (held.item) hands.drag(dx, dy);
    else if (start) hands.look({ ...start, ox: start.ox + dx, oy: start.oy + dy });
  };
  /** Do now what still waits for its frame. */
  const settle = (): void => {
    if (!frame) return;
    cancelAnimationFrame(frame);
    act();
  };

  svg.addEventListener("pointerdown", (e) => {
    if (e.button > 0 && e.button !== 1) return;
    settle();
    box = svg.getBoundingClientRect();
    const [x, y] = here(e);
    down.set(e.pointerId, { x, y, x0: x, y0: y });
    try {
      svg.setPointerCapture(e.pointerId);
    } catch {
      /* a pointer that is gone already */
    }
    if (down.size === 2) {
      if (held?.item && held.moved) hands.release(true, true);
      held = null;
      start = hands.view();
      down.forEach((p) => { p.x0 = p.x; p.y0 = p.y; });
      return;
    }
    if (down.size > 2) return;
    const item = (e.target as Element).closest<SVGElement>("[data-item]");
    held = { id: e.pointerId, moved: false, firm: FIRM[e.pointerType] ?? 5, item: false };
    if (item && e.button === 0) held.item = hands.hold(item.dataset.item!);
    if (!held.item) start = hands.view();
  });

  svg.addEventListener("pointermove", (e) => {
    const p = down.get(e.pointerId);
    if (!p) return;
    [p.x, p.y] = here(e);
    if (down.size === 1) {
      if (held?.id !== e.pointerId) return;
      if (!held.moved && Math.hypot(p.x - p.x0, p.y - p.y0) < held.firm) return;
      held.moved = true;
    }
    frame ||= requestAnimationFrame(act);
  });

  const end = (e: PointerEvent): void => {
    if (!down.has(e.pointerId)) return;
    settle();
    down.delete(e.pointerId);
    if (held?.id === e.pointerId) {
      if (held.item) hands.release(held.moved, e.type === "pointercancel");
      else if (!held.moved && e.type === "pointerup") hands.tapGround();
      held = null;
    }
    if (down.size === 1) {
      // one finger stays after a pinch: go on panning from where it is
      const [[id, p]] = [...down.entries()];
      p.x0 = p.x;
      p.y0 = p.y;
      start = hands.view();
      held = { id, moved: true, firm: 0, item: false };
    }
  };
  svg.addEventListener("pointerup", end);
  svg.addEventListener("pointercancel", end);
  svg.addEventListener(
    "wheel",
    (e) => {
      if (!e.ctrlKey && !e.metaKey) return; // a plain wheel scrolls the page
      e.preventDefault();
      box = svg.getBoundingClientRect();
      const [x, y] = here(e);
      hands.look(zoomed(hands.view(), Math.exp(-e.deltaY * 0.004), x, y));
    },
    { passive: false },
  );
}
