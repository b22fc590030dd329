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
  /** The session ended (each lasts a day): sign in again, nothing that was typed is thrown away. */
  get signedOut(): boolean {
    return this.status === 401;
  }
  /** Worth sending again later: no link, signed out, or the server is busy or restarting. */
  get passing(): boolean {
    return [0, 401, 429, 502, 503, 504].includes(this.status);
  }
}

type Method = "GET" | "POST" | "PUT" | "DELETE";
/** Told to the document when a request was refused because the session had ended. */
export const SIGNED_OUT = "pw-signed-out";

function tokenHolder(): HTMLMetaElement | null {
  return document.querySelector<HTMLMetaElement>('meta[name="pw-token"]');
}

/** Take the token of the present session: the one the page came with ended overnight. */
async function renewToken(): Promise<boolean> {
  const holder = tokenHolder();
  if (!holder) return false;
  const { token } = await once<{ token?: string }>("GET", "/api/session", undefined, {});
  if (!token || token === holder.content) return false;
  holder.content = token;
  return true;
}

/** Call `path` of this app; JSON in, JSON out. Raises `Refused`. */
export async function ask<T>(
  method: Method,
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
): Promise<T> {
  try {
    return await once<T>(method, path, body, headers);
  } catch (e) {
    if (!(e instanceof Refused)) throw e;
    if (e.signedOut) document.dispatchEvent(new Event(SIGNED_OUT));
    if (e.status === 403 && e.error?.field === "token" && (await renewToken()))
      return once<T>(method, path, body, headers);
    throw e;
  }
}

async function once<T>(
  method: Method,
  path: string,
  body: unknown,
  headers: Record<string, string>,
): Promise<T> {
  if (!path.startsWith("/") || path.startsWith("//")) throw new Refused(400, null);
  const all: Record<string, string> = { Accept: "application/json", ...headers };
  if (document.documentElement.lang) // refusals in the words of the page
    all["X-Pourwright-Language"] = document.documentElement.lang;
  if (method !== "GET") {
    all["X-Pourwright-Token"] = tokenHolder()?.content ?? "";
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
