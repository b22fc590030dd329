/** Timers by absolute times, so that neither sleep nor a reload stops them. Plain functions. */

export interface Timer {
  id: string;
  name: string;
  /** When it rings [ms since the epoch]. */
  ends: number;
  /** Set when it rang; kept until somebody stops it. */
  rung: boolean;
  /** Silenced: it rang, somebody heard it, it still shows. */
  quiet: boolean;
}

/** Seconds left; negative when over. */
export function left(timer: Timer, now: number): number {
  return (timer.ends - now) / 1000;
}

/** `12:05`, `1:02:05`; the sign is left to the words around it. */
export function spell(seconds: number): string {
  const whole = Math.floor(Math.abs(seconds) + (seconds > 0 ? 0.999 : 0));
  const [h, m, s] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60), whole % 60];
  const two = (n: number): string => String(n).padStart(2, "0");
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/** Timers whose time came and that have not rung yet. */
export function due(timers: Timer[], now: number): Timer[] {
  return timers.filter((t) => !t.rung && t.ends <= now);
}

/** More time from now on, or from its end when that is still to come. */
export function extended(timer: Timer, seconds: number, now: number): Timer {
  return { ...timer, ends: Math.max(timer.ends, now) + seconds * 1000, rung: false, quiet: false };
}

/** Soonest first, those that rang on top. */
export function inOrder(timers: Timer[]): Timer[] {
  return [...timers].sort((a, b) => a.ends - b.ends);
}

/** A local clock time for the server: `2027-03-15T09:40:00`. */
export function localMoment(d: Date): string {
  const two = (n: number): string => String(n).padStart(2, "0");
  return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}`;
}

/** What was kept, with anything that is no timer left out. */
export function sound(kept: unknown): Timer[] {
  if (!Array.isArray(kept)) return [];
  return kept.filter((t): t is Timer =>
    typeof t === "object" && t !== null && typeof t.id === "string" && typeof t.name === "string" && Number.isFinite(t.ends));
}
