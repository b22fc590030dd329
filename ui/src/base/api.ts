/** Asking the server: same origin only, token on every change, errors as the contract words them. */

export interface ErrorBody {
  field: string;
  value?: unknown;
  limit: string;
  remedy: string;
}

/** An answer that is not a success. `status` 0 means that no answer came (no link). */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly error: ErrorBody | null,
    readonly body: unknown = null,
  ) {
    super(error ? `${error.field}: ${error.limit} ${error.remedy}`.trim() : `status ${status}`);
  }
  get offline(): boolean {
    return this.status === 0;
  }
  /** Worth sending again later: no link, or the server is busy or restarting. */
  get passing(): boolean {
    return [0, 429, 502, 503, 504].includes(this.status);
  }
}

function token(): string {
  return document.querySelector<HTMLMetaElement>('meta[name="pw-token"]')?.content ?? "";
}

/** Call `path` of this app; JSON in, JSON out. Raises `Refused`. */
export async function ask<T>(
  method: "GET" | "POST" | "PUT" | "DELETE",
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
): Promise<T> {
  if (!path.startsWith("/") || path.startsWith("//")) throw new Refused(400, null);
  const all: Record<string, string> = { Accept: "application/json", ...headers };
  if (method !== "GET") {
    all["X-Pourwright-Token"] = token();
    if (body !== undefined) all["Content-Type"] = "application/json";
  }
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), 30_000);
  let answer: Response;
  try {
    answer = await fetch(path, {
      method,
      headers: all,
      credentials: "same-origin",
      cache: "no-store",
      signal: stop.signal,
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch {
    throw new Refused(0, null);
  } finally {
    clearTimeout(timer);
  }
  let data: unknown = null;
  try {
    data = await answer.json();
  } catch {
    data = null;
  }
  if (!answer.ok) {
    const e = (data as { error?: ErrorBody } | null)?.error;
    throw new Refused(answer.status, e && typeof e === "object" ? e : null, data);
  }
  return data as T;
}

/** Part of a path, made safe. */
export const part = encodeURIComponent;
