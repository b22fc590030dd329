/** Putting two changes of one job together: by top-level table, and surfaces by their name. */

type Plain = Record<string, unknown>;

/** Whether two pieces of plain JSON data say the same; the order of keys does not matter. */
export function same(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  if (Array.isArray(a) !== Array.isArray(b)) return false;
  if (Array.isArray(a) && Array.isArray(b))
    return a.length === b.length && a.every((v, i) => same(v, b[i]));
  const [x, y] = [a as Plain, b as Plain];
  const keys = Object.keys(x);
  return keys.length === Object.keys(y).length && keys.every((k) => k in y && same(x[k], y[k]));
}

function pick(base: unknown, mine: unknown, theirs: unknown): { value: unknown } | null {
  if (same(mine, theirs) || same(theirs, base)) return { value: mine };
  if (same(mine, base)) return { value: theirs };
  return null;
}

function byName(list: unknown): Map<string, Plain> | null {
  if (!Array.isArray(list)) return null;
  const out = new Map<string, Plain>();
  for (const item of list) {
    const name = (item as Plain | null)?.name;
    if (typeof name !== "string" || out.has(name)) return null;
    out.set(name, item as Plain);
  }
  return out;
}

function surfaces(base: unknown, mine: unknown, theirs: unknown): Plain[] | null {
  const [b, m, o] = [byName(base), byName(mine), byName(theirs)];
  if (!b || !m || !o) return null;
  const out: Plain[] = [];
  for (const name of new Set([...m.keys(), ...o.keys()])) {
    const chosen = pick(b.get(name), m.get(name), o.get(name));
    if (!chosen) return null;
    if (chosen.value !== undefined) out.push(chosen.value as Plain);
  }
  return out;
}

/** `mine` and `theirs`, both grown from `base`, as one document; null where they contradict. */
export function merge(base: Plain, mine: Plain, theirs: Plain): Plain | null {
  const out: Plain = {};
  for (const key of new Set([...Object.keys(theirs), ...Object.keys(mine)])) {
    if (key === "revision") {
      out[key] = theirs[key];
      continue;
    }
    const chosen = pick(base[key], mine[key], theirs[key]);
    if (chosen) {
      if (chosen.value !== undefined) out[key] = chosen.value;
    } else if (key === "surfaces") {
      const both = surfaces(base[key], mine[key], theirs[key]);
      if (!both) return null;
      out[key] = both;
    } else return null;
  }
  return out;
}
