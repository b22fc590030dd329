/** The ribbon's data and geometry: plain functions, no page. Times in seconds since midnight 0. */

export interface Word {
  start_s: number;
  end_s: number;
  text: string;
  unsure_s?: number;
}
export interface Pin {
  t_s: number;
  end_s?: number | null;
  text: string;
  step?: string;
  done?: boolean;
}
export interface Band {
  title: string;
  start_s: number;
  end_s: number;
  t_s: number[];
  flow: number[][];
  air_degC: number[];
  words: Word[];
  pins: Pin[];
  tick_s?: number;
}
export interface RibbonData {
  title: string;
  /** Moment of 0 s: the job's first midnight. */
  first_midnight?: string;
  start: string;
  bands: Band[];
  now_s?: number | null;
  units?: string;
}

/** Height of the band, 0 to 1, for a share of flow left: its root, so that the last tenth shows. */
export function heightOf(share: number): number {
  return Math.sqrt(Math.min(Math.max(share, 0), 1));
}

/** Linear interpolation of `y` over rising `x`, flat beyond the ends. */
export function at(x: number[], y: number[], where: number): number {
  if (x.length === 0) return NaN;
  if (where <= x[0]) return y[0];
  const last = x.length - 1;
  if (where >= x[last]) return y[last];
  let lo = 0;
  let hi = last;
  while (hi - lo > 1) {
    const mid = (lo + hi) >> 1;
    if (x[mid] <= where) lo = mid;
    else hi = mid;
  }
  const span = x[hi] - x[lo];
  return span > 0 ? y[lo] + ((y[hi] - y[lo]) * (where - x[lo])) / span : y[lo];
}

/** Seconds between ticks so that at most `most` of them stand under a span. */
export function tickStep(span: number, most: number): number {
  const steps = [60, 300, 600, 900, 1800, 3600, 7200, 3 * 3600, 6 * 3600, 12 * 3600, 86400, 2 * 86400, 7 * 86400];
  return steps.find((k) => span / k <= most) ?? Math.ceil(span / most / 86400) * 86400;
}

/** Local moment of `t_s`; `start` is the moment of 0 s, read as wall-clock time. */
export function moment(start: string, t_s: number): Date {
  const m = /^(\d{4})-(\d\d)-(\d\d)(?:[T ](\d\d):(\d\d)(?::(\d\d))?)?/.exec(start);
  const base = m
    ? new Date(+m[1], +m[2] - 1, +m[3], +(m[4] ?? 0), +(m[5] ?? 0), +(m[6] ?? 0))
    : new Date(start);
  // calendar arithmetic, so that a change to summer time does not shift the shop clock
  return new Date(
    base.getFullYear(), base.getMonth(), base.getDate(),
    base.getHours(), base.getMinutes(), base.getSeconds() + Math.round(t_s),
  );
}

/** Seconds since the moment `start` for a local date. */
export function secondsSince(start: string, when: Date): number {
  const zero = moment(start, 0);
  const shift = (zero.getTimezoneOffset() - when.getTimezoneOffset()) * 60;
  return (when.getTime() - zero.getTime()) / 1000 + shift;
}

/** `HH:MM` of a date. */
export function clock(d: Date): string {
  return `${String(d.getHours()).padStart(2, "0")}:${String(d.getMinutes()).padStart(2, "0")}`;
}

/** What the resin can still do at `t_s`, or null. */
export function wordAt(band: Band, t_s: number): Word | null {
  return band.words.find((w) => t_s >= w.start_s && t_s < w.end_s) ?? null;
}

/** Lowest and highest air shown, with room above and below to drag [°C]. */
export function airSpan(band: Band): [number, number] {
  const low = Math.min(...band.air_degC);
  const high = Math.max(...band.air_degC);
  const extra = Math.max(4 - (high - low) / 2, 2);
  return [Math.floor(low - extra), Math.ceil(high + extra)];
}

export interface Flag {
  pin: Pin;
  x: number;
  row: number;
  flip: boolean;
}

/** Rows for the flags of a band so that their words do not run into each other. */
export function flagRows(
  pins: Pin[],
  x: (t: number) => number,
  wide: (text: string) => number,
  right: number,
  most: number,
): Flag[] {
  const taken: [number, number, number][] = [];
  const out: Flag[] = [];
  for (const pin of [...pins].sort((a, b) => a.t_s - b.t_s)) {
    const a = x(pin.t_s);
    const w = wide(pin.text) + 14;
    const flip = a + w > right;
    const [from, to] = flip ? [a - w, a + 4] : [a - 4, a + w];
    let row = 0;
    while (row < most && taken.some(([l, r, k]) => k === row && from < r && to > l)) row += 1;
    taken.push([from, to, row]);
    out.push({ pin, x: a, row, flip });
  }
  return out;
}

/** Degrees [°C] on the scale people read: half degrees, or whole ones in °F. */
export function onScale(degC: number, us: boolean): number {
  return us ? (Math.round(degC * 1.8 + 32) - 32) / 1.8 : Math.round(degC * 2) / 2;
}

/** The next mark of that scale above or below [°C]; from between two marks the nearer neighbour. */
export function nextOnScale(degC: number, marks: number, us: boolean): number {
  const [unit, zero] = us ? [1 / 1.8, 32] : [0.5, 0];
  const at = degC / unit + (us ? zero : 0);
  const near = Math.round(at);
  const whole = Math.abs(at - near) < 1e-6 ? near : marks > 0 ? Math.floor(at) : Math.ceil(at);
  return (whole + marks - (us ? zero : 0)) * unit;
}
