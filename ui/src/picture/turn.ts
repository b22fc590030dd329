/** How a piece is turned by drags and keys: plain numbers, no drawing. */

export interface Turn {
  yaw: number; // rad about the upright axis
  pitch: number; // rad above the horizon
  near: number; // distance, 1 = as fitted
}

export const STRAIGHT: Turn = { yaw: -0.45, pitch: 0.85, near: 1 };

const between = (v: number, a: number, b: number): number => Math.min(Math.max(v, a), b);

export function dragged(t: Turn, dx: number, dy: number): Turn {
  return { ...t, yaw: t.yaw + dx * 0.008, pitch: between(t.pitch + dy * 0.008, 0.05, Math.PI / 2) };
}

export function closer(t: Turn, by: number): Turn {
  return { ...t, near: between(t.near / by, 0.25, 2.5) };
}

/** What a key does, or null when it is none of ours. */
export function keyed(t: Turn, key: string): Turn | null {
  switch (key) {
    case "ArrowLeft": return { ...t, yaw: t.yaw - 0.12 };
    case "ArrowRight": return { ...t, yaw: t.yaw + 0.12 };
    case "ArrowUp": return dragged(t, 0, 12);
    case "ArrowDown": return dragged(t, 0, -12);
    case "+": case "=": return closer(t, 1.15);
    case "-": return closer(t, 1 / 1.15);
    case "Home": return STRAIGHT;
    default: return null;
  }
}
