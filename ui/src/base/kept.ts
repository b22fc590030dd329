/** What must outlive a reload or a dead battery: plain JSON in this browser's own storage. */

export function recall<T>(key: string): T | null {
  try {
    const text = localStorage.getItem(key);
    return text === null ? null : (JSON.parse(text) as T);
  } catch {
    return null;
  }
}

/** Keep `value` under `key`; false where the browser refuses (full, or private window). */
export function keep(key: string, value: unknown): boolean {
  try {
    localStorage.setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}

export function drop(key: string): void {
  try {
    localStorage.removeItem(key);
  } catch {
    /* nothing kept, nothing to drop */
  }
}
