/**
 * Things that happened and must reach the server, in order, even when the link drops: readings,
 * steps done, log lines. Each carries a mark so that a re-send is not counted twice.
 */
import { ask, Refused } from "./api";
import { keep, recall } from "./kept";

export interface Letter {
  mark: string;
  method?: "POST" | "DELETE";
  path: string;
  body?: Record<string, unknown>;
  at: string;
}
type Hear = (waiting: number, refused: { letter: Letter; why: Refused } | null) => void;

const KEY = "pw-outbox";
const heard = new Set<Hear>();
let sending: Promise<void> | null = null;
let timer = 0;
let unkept: Letter[] | null = null; // letters held in memory where storage is refused

function letters(): Letter[] {
  return unkept ?? recall<Letter[]>(KEY) ?? [];
}
function write(list: Letter[]): void {
  unkept = keep(KEY, list) ? null : list;
}

/** A mark that is unique enough for one shop, also without a secure context. */
export function freshMark(): string {
  const b = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
}

/** How many letters wait. */
export function waiting(): number {
  return letters().length;
}

/** Hear about the queue; returns how to stop hearing. */
export function onOutbox(f: Hear): () => void {
  heard.add(f);
  return () => heard.delete(f);
}
function tell(refused: { letter: Letter; why: Refused } | null = null): void {
  heard.forEach((f) => f(waiting(), refused));
}

/** Keep a letter and try to send what waits. Resolves when the queue was tried once. */
export function post(
  path: string,
  body?: Record<string, unknown>,
  method: "POST" | "DELETE" = "POST",
  mark = freshMark(),
): Promise<void> {
  write([...letters(), { mark, method, path, body, at: new Date().toISOString() }]);
  tell();
  return flush();
}

/** Try to send everything that waits, oldest first. */
export function flush(): Promise<void> {
  sending ??= run().finally(() => {
    sending = null;
    if (!timer && waiting()) void flush(); // a letter that came while the last one was leaving
  });
  return sending;
}

async function run(): Promise<void> {
  clearTimeout(timer);
  timer = 0;
  for (let list = letters(); list.length > 0; list = letters()) {
    const letter = list[0];
    let refused: { letter: Letter; why: Refused } | null = null;
    try {
      await ask(letter.method ?? "POST", letter.path, letter.body, { "X-Pourwright-Mark": letter.mark });
    } catch (e) {
      const why = e instanceof Refused ? e : new Refused(0, null);
      if (why.passing) {
        timer = window.setTimeout(() => void flush(), 5000);
        tell();
        return;
      }
      refused = { letter, why };
    }
    write(letters().filter((l) => l.mark !== letter.mark));
    tell(refused);
  }
}

export function startOutbox(): void {
  addEventListener("online", () => void flush());
  addEventListener("visibilitychange", () => {
    if (!document.hidden && waiting()) void flush();
  });
  if (waiting()) void flush();
}
