/**
 * Lengths and temperatures as people type them, to SI and back: the strict part of the app's own
 * reader that drawing and the ribbon need when there is no link. A number without a unit is
 * refused, as there. Checked against the Python reader over one list of texts.
 */

export interface Locale {
  decimal: "." | ",";
}

/** Decimal mark of a language; files are always written as "en". */
export function localeOf(language: string): Locale {
  return { decimal: /^(de|fr|nl|es|it|pt|da|nb|sv|fi|pl|cs)/.test(language) ? "," : "." };
}
const FILE: Locale = { decimal: "." };

const INCH = 0.0254;
const METRES: Record<string, number> = {
  m: 1, metre: 1, metres: 1, meter: 1, meters: 1,
  dm: 0.1,
  cm: 0.01, centimetre: 0.01, centimetres: 0.01, centimeter: 0.01, centimeters: 0.01,
  mm: 0.001, millimetre: 0.001, millimetres: 0.001, millimeter: 0.001, millimeters: 0.001,
  um: 1e-6, micron: 1e-6, microns: 1e-6,
  in: INCH, '"': INCH, inch: INCH, inches: INCH,
  ft: 12 * INCH, "'": 12 * INCH, foot: 12 * INCH, feet: 12 * INCH,
  yd: 36 * INCH, yard: 36 * INCH, yards: 36 * INCH,
};
// larger and smaller units that may follow each other
const PAIRS: Record<string, string> = { ft: "in", m: "cm", cm: "mm", yd: "ft" };
const SHORT = (unit: string): string => {
  const of = METRES[unit];
  for (const name of ["m", "cm", "mm", "in", "ft", "yd"]) if (METRES[name] === of) return name;
  return unit;
};
const FRACTIONS: Record<string, string> = {
  "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
};

/** Tidy signs that keyboards and copying put in. */
function clean(text: string): string {
  return text
    .replace(/[½¼¾⅛⅜⅝⅞]/g, (c) => ` ${FRACTIONS[c]}`)
    .replace(/[″“”]/g, '"')
    .replace(/[′’]/g, "'")
    .replace(/[−–]/g, "-")
    .replace(/⁄/g, "/")
    .replace(/[\u00a0\u2009\u202f]/g, " ")
    .trim();
}

const NUMBER = /^(\d+)[ -]+(\d+)\/(\d+)|^(\d+)\/(\d+)|^(\d*[.,]\d+|\d+)/;

function number(text: string, locale: Locale): { value: number; whole: boolean; rest: string } | null {
  const m = NUMBER.exec(text);
  if (!m) return null;
  const rest = text.slice(m[0].length);
  if (m[1] !== undefined) {
    if (+m[3] === 0 || +m[2] >= +m[3]) return null;
    return { value: +m[1] + +m[2] / +m[3], whole: false, rest };
  }
  if (m[4] !== undefined) return +m[5] === 0 ? null : { value: +m[4] / +m[5], whole: false, rest };
  const plain = m[6];
  const mark = plain.includes(",") ? "," : plain.includes(".") ? "." : null;
  if (mark !== null && mark !== locale.decimal) return null;
  if (/^[.,\d]/.test(rest)) return null; // "1,250.5" or "1.2.3": two meanings, so neither
  return { value: Number(plain.replace(",", ".")), whole: mark === null, rest };
}

/** Divided where that is exact: 700 mm are 0.7 m to the last digit. */
function inMetres(value: number, unit: string): number {
  return unit === "mm" ? value / 1e3 : unit === "cm" ? value / 1e2 : value * METRES[unit];
}

/** A length [m], or null where the text is not one. */
export function readLength(text: string, locale: Locale = FILE): number | null {
  let left = clean(text);
  let sign = 1;
  if (left.startsWith("-")) {
    sign = -1;
    left = left.slice(1).trim();
  }
  const parts: { value: number; whole: boolean; unit: string }[] = [];
  while (left) {
    const n = number(left, locale);
    if (!n) return null;
    const u = /^-?\s*([A-Za-z]+|["'])/.exec(n.rest);
    if (!u || !Object.hasOwn(METRES, u[1])) return null;
    parts.push({ value: n.value, whole: n.whole, unit: SHORT(u[1]) });
    left = n.rest.slice(u[0].length).trim().replace(/^-\s*/, "");
    if (parts.length > 2) return null;
  }
  if (parts.length === 0) return null;
  if (parts.length === 2) {
    const [a, b] = parts;
    const fits = PAIRS[a.unit] === b.unit || (a.unit === "m" && b.unit === "mm");
    if (!fits || !a.whole || b.value * METRES[b.unit] >= METRES[a.unit]) return null;
  }
  const value = parts.reduce((sum, p) => sum + inMetres(p.value, p.unit), 0);
  return Number.isFinite(value) && value <= 1e5 ? sign * value : null;
}

/** A temperature [°C], or null; a bare number counts in the job's own degrees when given. */
export function readCelsius(text: string, locale: Locale = FILE, bare?: "C" | "F"): number | null {
  const m = /^(-?)(\d+(?:[.,]\d+)?)\s*(?:(?:°|deg)?\s*(C|F)|(K))?$/.exec(clean(text));
  if (!m) return null;
  const mark = m[2].includes(",") ? "," : ".";
  if (/[.,]/.test(m[2]) && mark !== locale.decimal) return null;
  const value = Number(m[1] + m[2].replace(",", "."));
  const unit = m[3] ?? m[4] ?? bare;
  if (unit === undefined) return null;
  const celsius = unit === "C" ? value : unit === "F" ? (value - 32) / 1.8 : value - 273.15;
  return celsius >= -60 && celsius <= 300 ? celsius : null;
}

export type Units = "metric" | "us";

function trimmed(x: number, decimals: number): string {
  const text = x.toFixed(decimals);
  const short = text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  return short === "-0" ? "0" : short;
}

/** Text of a length [m] for the document: millimetres, or inches as on a tape. */
export function lengthText(metres: number, units: Units): string {
  if (units === "metric") return `${trimmed(metres * 1e3, 3)} mm`;
  const inches = Math.abs(metres) / INCH;
  const parts = Math.round(inches * 64);
  const sign = metres < 0 && parts ? "-" : "";
  if (Math.abs(inches - parts / 64) > 2e-6) return `${sign}${trimmed(inches, 4)} in`;
  const whole = Math.floor(parts / 64);
  let top = parts % 64;
  let bottom = 64;
  while (top && top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  const fraction = top ? `${top}/${bottom}` : "";
  return `${sign}${whole || !fraction ? whole : ""}${whole && fraction ? " " : ""}${fraction} in`;
}

/** A length [m] as shown on the drawing: no finer than people measure. */
export function lengthShown(metres: number, units: Units, locale: Locale = FILE): string {
  if (units === "metric") return trimmed(metres * 1e3, 1).replace(".", locale.decimal) + " mm";
  const said = Math.round(metres / INCH * 32) / 32;
  return lengthText(said * INCH, "us");
}

/** A temperature [°C] as shown. */
export function celsiusShown(celsius: number, units: Units, locale: Locale = FILE, decimals = 0): string {
  const value = units === "us" ? celsius * 1.8 + 32 : celsius;
  return `${trimmed(value, decimals).replace(".", locale.decimal).replace("-", "−")} ${units === "us" ? "°F" : "°C"}`;
}

/** A temperature [°C] as text for a job file. */
export function celsiusText(celsius: number, units: Units): string {
  return units === "us" ? `${trimmed(celsius * 1.8 + 32, 1)} degF` : `${trimmed(celsius, 1)} degC`;
}
