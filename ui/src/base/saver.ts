/**
 * Autosave of a job's document: every change is kept in this browser at once and sent a moment
 * later as a new revision. Without a link it waits; when somebody else saved meanwhile, the two
 * are put together where they can be, and otherwise both are kept until a person chooses.
 */
import { ask, part, Refused } from "./api";
import { debounce } from "./dom";
import { drop, keep, recall } from "./kept";
import { merge, same } from "./merge";

export type Doc = Record<string, unknown>;
export type SaveState = "saved" | "unsaved" | "offline" | "refused" | "conflict" | "merged";

interface JobAnswer {
  id: string;
  revision: number;
  document: Doc;
  can_undo: boolean;
  can_redo: boolean;
}
interface Draft {
  base_revision: number;
  base: Doc;
  document: Doc;
}

export class Saver {
  document: Doc = {};
  revision = 0;
  canUndo = false;
  canRedo = false;
  state: SaveState = "saved";
  why = "";
  private base: Doc = {};
  private theirs: { revision: number; document: Doc } | null = null;
  private busy: Promise<void> | null = null;
  private again = 0;
  private local: Doc[] = [];
  private localAhead: Doc[] = [];
  private soon = debounce(() => void this.send(), 400);

  constructor(
    readonly job: string,
    private readonly heard: (documentChanged: boolean) => void,
  ) {
    addEventListener("online", this.retry);
    addEventListener("pagehide", this.keepNow);
  }

  stop(): void {
    removeEventListener("online", this.retry);
    removeEventListener("pagehide", this.keepNow);
    clearTimeout(this.again);
    this.soon.now();
  }

  private get key(): string {
    return `pw-draft-${this.job}`;
  }
  private retry = (): void => {
    if (this.state === "offline") void this.send();
  };
  private keepNow = (): void => {
    if (!same(this.document, this.base)) this.keepDraft();
  };
  private keepDraft(): void {
    keep(this.key, { base_revision: this.revision, base: this.base, document: this.document } satisfies Draft);
  }
  private become(state: SaveState, why = "", changed = false): void {
    this.state = state;
    this.why = why;
    this.heard(changed);
  }

  /** Fetch the job, and take up a drawing left unsaved on this tablet. */
  async load(): Promise<void> {
    const draft = recall<Draft>(this.key);
    let job: JobAnswer;
    try {
      job = await ask<JobAnswer>("GET", `/api/jobs/${part(this.job)}`);
    } catch (e) {
      if (!draft || !(e instanceof Refused) || !e.passing) throw e;
      this.document = draft.document;
      this.base = draft.base;
      this.revision = draft.base_revision;
      this.become("offline", "", true);
      this.later();
      return;
    }
    this.take(job);
    if (!draft || same(draft.document, job.document)) {
      drop(this.key);
      this.become("saved", "", true);
      return;
    }
    this.base = draft.base;
    this.document = draft.document;
    if (draft.base_revision === job.revision) {
      this.become("unsaved", "", true);
      void this.send();
    } else {
      this.revision = draft.base_revision;
      this.meet(job.revision, job.document);
    }
  }

  private take(job: JobAnswer): void {
    this.revision = job.revision;
    this.canUndo = job.can_undo;
    this.canRedo = job.can_redo;
    this.base = job.document;
    this.document = job.document;
  }

  /** A new state of the drawing. */
  change(document: Doc): void {
    if (same(document, this.document)) return;
    this.local.push(this.document);
    this.localAhead = [];
    this.document = document;
    this.keepDraft();
    if (this.state !== "conflict") {
      if (this.state !== "offline") this.state = "unsaved";
      this.soon();
    }
    this.heard(true);
  }

  /** Send now what waits; resolves when it was answered. */
  async flush(): Promise<void> {
    this.soon.stop();
    await this.send();
  }

  private later(): void {
    clearTimeout(this.again);
    this.again = window.setTimeout(() => void this.send(), 4000);
  }

  private async send(): Promise<void> {
    while (this.busy) await this.busy;
    if (this.state === "conflict" || same(this.document, this.base)) return;
    this.busy = this.put().finally(() => {
      this.busy = null;
    });
    await this.busy;
  }

  private async put(): Promise<void> {
    const sent = this.document;
    try {
      const job = await ask<JobAnswer>("PUT", `/api/jobs/${part(this.job)}`, {
        base_revision: this.revision,
        document: sent,
      });
      const drawnOn = this.document !== sent;
      const merged = this.state === "merged";
      const now = this.document;
      this.take(job);
      this.local = [];
      if (drawnOn) {
        this.document = now;
        this.keepDraft();
        this.become("unsaved");
        this.soon();
      } else {
        drop(this.key);
        this.become(merged ? "merged" : "saved", "", merged);
      }
    } catch (e) {
      if (!(e instanceof Refused)) throw e;
      if (e.status === 409) {
        const body = e.body as { revision?: number; theirs?: Doc } | null;
        if (body?.theirs && body.revision) this.meet(body.revision, body.theirs);
        else {
          const job = await ask<JobAnswer>("GET", `/api/jobs/${part(this.job)}`);
          this.meet(job.revision, job.document);
        }
      } else if (e.passing) {
        this.become("offline");
        this.later();
      } else this.become("refused", e.error ? e.message : `(${e.status})`);
    }
  }

  /** Somebody saved in between. */
  private meet(revision: number, theirs: Doc): void {
    const both = merge(this.base, this.document, theirs);
    if (!both) {
      this.theirs = { revision, document: theirs };
      this.become("conflict", "", true);
      return;
    }
    this.base = theirs;
    this.revision = revision;
    this.document = both;
    this.keepDraft();
    this.become("merged", "", true);
    this.soon();
  }

  /** A person chose after a conflict; either way the other drawing stays in the job's history. */
  choose(mine: boolean): void {
    if (!this.theirs) return;
    this.revision = this.theirs.revision;
    this.base = this.theirs.document;
    if (!mine) {
      this.document = this.theirs.document;
      drop(this.key);
    }
    this.theirs = null;
    this.become(mine ? "unsaved" : "saved", "", true);
    if (mine) {
      this.keepDraft();
      this.soon();
    }
  }

  get undoable(): boolean {
    return this.local.length > 0 || this.canUndo;
  }
  get redoable(): boolean {
    return this.localAhead.length > 0 || this.canRedo;
  }

  /** Back or forth by one: on the server, so that it holds across visits; here when it is away. */
  async step(back: boolean): Promise<void> {
    if (this.state === "unsaved") await this.flush();
    if (this.state === "saved" || this.state === "merged") {
      try {
        this.take(await ask<JobAnswer>("POST", `/api/jobs/${part(this.job)}/${back ? "undo" : "redo"}`, {
          base_revision: this.revision,
        }));
        this.local = [];
        this.become("saved", "", true);
        return;
      } catch (e) {
        if (!(e instanceof Refused)) throw e;
        if (e.status === 409) await this.load();
        else if (!e.passing) this.become("refused", e.message);
        if (!e.passing) return;
      }
    }
    const [from, to] = back ? [this.local, this.localAhead] : [this.localAhead, this.local];
    const other = from.pop();
    if (!other) return;
    to.push(this.document);
    this.document = other;
    this.keepDraft();
    if (this.state !== "conflict") this.soon();
    this.heard(true);
  }
}
