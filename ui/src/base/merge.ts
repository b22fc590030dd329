/** Putting two changes of one job together: table by table, key by key, named pieces by name. */

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

/** Both changed the same thing, to different values. */
class Contradiction extends Error {}

const isTable = (v: unknown): v is Plain => typeof v === "object" && v !== null && !Array.isArray(v);

function byName(list: unknown): Plain | null {
  if (!Array.isArray(list)) return null;
  const out: Plain = {};
  for (const item of list) {
    const name = (item as Plain | null)?.name;
    if (typeof name !== "string" || `=${name}` in out) return null;
    out[`=${name}`] = item; // with a sign before it: names that are numbers keep their place
  }
  return out;
}

function pick(base: unknown, mine: unknown, theirs: unknown): unknown {
  if (same(mine, theirs) || same(theirs, base)) return mine;
  if (same(mine, base)) return theirs;
  if (isTable(mine) && isTable(theirs)) return tables(isTable(base) ? base : {}, mine, theirs);
  const [b, m, o] = [base === undefined ? {} : byName(base), byName(mine), byName(theirs)];
  if (!b || !m || !o) throw new Contradiction();
  return Object.values(tables(b, m, o));
}

/** The keys of `theirs` in their order; each that only `mine` has behind its neighbour. */
function order(mine: string[], theirs: string[]): string[] {
  const out = [...theirs];
  let before = -1;
  for (const key of mine) {
    if (!theirs.includes(key)) out.splice(before + 1, 0, key);
    before = out.indexOf(key);
  }
  return out;
}

function tables(base: Plain, mine: Plain, theirs: Plain): Plain {
  const out: Plain = {};
  for (const key of order(Object.keys(mine), Object.keys(theirs))) {
    const chosen = pick(base[key], mine[key], theirs[key]);
    if (chosen !== undefined) out[key] = chosen;
  }
  return out;
}

/**
 * `mine` and `theirs`, both grown from `base`, as one document; null where they contradict.
 * The server puts forms together in the same way (store/merge.py).
 */
export function merge(base: Plain, mine: Plain, theirs: Plain): Plain | null {
  const bare = (d: Plain): Plain => ({ ...d, revision: theirs.revision });
  try {
    return tables(bare(base), bare(mine), theirs);
  } catch (e) {
    if (e instanceof Contradiction) return null;
    throw e;
  }
}
