/** `<pw-floor job>`: the floor view: one step a screen, a clock to read from afar, timers, a log. */
import { ask, part, Refused } from "../base/api";
import { fill, freshId, h, hidePlain, showPlain } from "../base/dom";
import { keep, recall } from "../base/kept";
import { inUse, touched } from "../base/page";
import { freshMark, onOutbox, post, waiting } from "../base/outbox";
import { celsiusText, localeOf, readCelsius, type Units } from "../base/quantity";
import { dateLanguage, language, t } from "../base/words";
import { clock } from "../ribbon/model";
import { Alarm, Awake } from "./alarm";
import { haltOf, holdRows, typingIn } from "./holds";
import { called, type Hold, type Plan, type Step, stepsOf, timersFor, when } from "./plan";
import { due, extended, inOrder, left, localMoment, sound, spell, type Timer } from "./timers";

interface LogLine {
  at: string;
  text: string;
  kind?: string;
}
const CHILDREN = ":scope > *:not(.pw-room)";

export class PwFloor extends HTMLElement {
  private plan: Plan | null = null;
  private at = 0;
  private timers: Timer[] = [];
  private started: Record<string, string> = {};
  private lines: LogLine[] = [];
  private alarm = new Alarm();
  private awake = new Awake((on) => this.say(this.screen, t(on ? "floor.awake" : "floor.asleep")));
  private lastLook = Date.now();
  private tick = 0;
  private deaf: (() => void) | null = null;
  private clock = h("p", { class: "pw-clock", role: "timer", "aria-label": t("floor.clock"), "aria-live": "off" });
  private ring = h("div", { class: "pw-ring", role: "alert" });
  private step = h("section", { class: "pw-step", "aria-live": "off" });
  private times = h("ul", { class: "pw-timers" });
  private log = h("ol", { class: "pw-log" });
  private state = h("p", { class: "pw-floor-state", role: "status" });
  private screen = h("p", { class: "pw-floor-state" });
  private soundState = h("p", { class: "pw-floor-state" });
  private room = h("div", { class: "pw-room" });
  private quick = h("div", { class: "pw-presets", role: "group", "aria-label": t("floor.quick") });
  private wrong = h("p", { class: "problem", role: "alert" });
  private stale = false;
  private seen = ""; // what that was drawn from
  private shown = ""; // the step that stands there
  private built = false;
  private rang: string[] = [];

  connectedCallback(): void {
    if (!this.built) this.build();
    this.timers = sound(recall(this.key("timers")));
    this.started = recall<Record<string, string>>(this.key("started")) ?? {};
    this.lines = recall<LogLine[]>(this.key("log")) ?? [];
    this.plan = recall<Plan>(this.key("plan"));
    if (this.plan?.days?.some((d) => d.steps.some((x) => x.holds.some((y) => typeof y === "string")))) this.plan = null;
    if (this.plan) this.ready();
    this.deaf = onOutbox((left, refused) => {
      if (refused) this.say(this.state, t("floor.refused", { why: refused.why.message }));
      else this.say(this.state, left ? t("floor.kept", { n: left }) : t("floor.sent"));
      if (refused || !left) void this.load(); // what was refused did not happen: show it so
    });
    this.tick = window.setInterval(() => this.pulse(), 250);
    addEventListener("storage", this.elsewhere);
    document.addEventListener("visibilitychange", this.woke);
    void this.awake.on();
    void this.load();
  }

  disconnectedCallback(): void {
    clearInterval(this.tick);
    this.alarm.hush();
    this.awake.off();
    this.deaf?.();
    removeEventListener("storage", this.elsewhere);
    document.removeEventListener("visibilitychange", this.woke);
  }

  private key(what: string): string {
    return `pw-floor-${what}-${this.getAttribute("job")}`;
  }
  private get path(): string {
    return `/api/jobs/${part(this.getAttribute("job") ?? "")}`;
  }
  private get steps(): Step[] {
    return this.plan ? stepsOf(this.plan) : [];
  }
  private woke = (): void => {
    if (!document.hidden) this.pulse();
  };
  private elsewhere = (e: StorageEvent): void => {
    if (e.key === this.key("timers")) {
      this.timers = sound(recall(this.key("timers")));
      this.showTimers();
    }
  };
  private say(where: HTMLElement, words: string): void {
    if (where.textContent !== words) where.textContent = words;
  }

  private build(): void {
    this.built = true;
    const allow = h("button", { type: "button", text: t("floor.sound_on"), onclick: async () => {
      const on = await this.alarm.allow();
      allow.hidden = on;
      this.say(this.soundState, on ? t("floor.sound_ready") : t("floor.sound_say"));
    } });
    this.say(this.soundState, t("floor.sound_say"));
    const name = h("input", { id: freshId("what"), type: "text", maxlength: 60, autocomplete: "off" });
    const minutes = h("input", { id: freshId("min"), type: "text", inputmode: "decimal", autocomplete: "off" });
    const form = h("form", { class: "pw-timer-form", novalidate: true, onsubmit: (e: Event) => {
      e.preventDefault();
      const mark = localeOf(language()).decimal;
      const n = Number(minutes.value.trim().replace(mark, "."));
      minutes.setAttribute("aria-invalid", String(!(n > 0 && n <= 1440)));
      if (!(n > 0 && n <= 1440)) {
        minutes.focus();
        return;
      }
      this.addTimer(name.value.trim(), n);
      name.value = "";
      minutes.value = "";
    } },
      h("div", { class: "field" }, h("label", { for: minutes.id, text: t("floor.minutes_own") }), minutes),
      h("div", { class: "field" }, h("label", { for: name.id, text: t("floor.what") }), name),
      h("button", { type: "submit", text: t("floor.timer_set") }));
    const note = h("input", { id: freshId("note"), type: "text", maxlength: 400, autocomplete: "off" });
    const noter = h("form", { class: "pw-timer-form", novalidate: true, onsubmit: (e: Event) => {
      e.preventDefault();
      if (!note.value.trim()) return;
      this.note(note.value.trim(), "note");
      note.value = "";
    } },
      h("div", { class: "field pw-wide" }, h("label", { for: note.id, text: t("floor.note") }), note),
      h("button", { type: "submit", text: t("floor.note_add") }));
    const room = h("input", { id: freshId("room"), type: "text", inputmode: "decimal", autocomplete: "off" });
    const thermometer = h("form", { class: "pw-timer-form", novalidate: true, onsubmit: (e: Event) => {
      e.preventDefault();
      const degC = readCelsius(room.value, localeOf(language()), this.units === "us" ? "F" : "C");
      room.setAttribute("aria-invalid", String(degC === null));
      fill(this.wrong, degC === null ? t("ribbon.no_temperature", { typed: room.value }) : null);
      if (degC === null) room.focus();
      else if (this.readRoom(degC)) room.value = "";
    } },
      h("div", { class: "field" }, h("label", { for: room.id, text: t("ribbon.temperature") }), room),
      h("button", { type: "submit", text: t("ribbon.enter") }));
    fill(this.room, this.ring, this.clock, this.step,
      h("section", { class: "pw-floor-part" }, h("h2", { text: t("floor.timers") }), this.times,
        h("div", { class: "pw-presets", role: "group", "aria-label": t("floor.timer_add") },
          ...[5, 10, 15, 20, 30].map((n) => h("button", { type: "button", text: t("floor.timer_minutes", { n }), onclick: () => this.addTimer("", n) }))),
        form),
      h("section", { class: "pw-floor-part" }, h("h2", { text: t("floor.log") }), this.quick, thermometer, this.wrong, noter, this.log),
      h("div", { class: "pw-floor-part pw-states" }, this.state, allow, this.soundState, this.screen));
    this.append(this.room);
    this.room.addEventListener("pointerdown", () => void this.alarm.allow().then((on) => {
      allow.hidden = on;
      if (on) this.say(this.soundState, t("floor.sound_ready"));
    }));
  }

  private async load(): Promise<void> {
    try {
      const answer = await ask<{ task?: unknown } & Plan>("GET", `${this.path}/floor?wait=20`);
      const plan = answer.days ? answer : null;
      if (!plan) {
        this.say(this.state, t("plan.working"));
        if (this.isConnected) window.setTimeout(() => void this.load(), 1500);
        return;
      }
      const first = !this.plan;
      const id = this.steps[this.at]?.id;
      this.plan = plan;
      for (const [step, at] of Object.entries(plan.begun ?? {})) this.started[step] ??= at;
      keep(this.key("plan"), this.plan);
      if (this.state.textContent === t("plan.working")) this.say(this.state, "");
      if (first) this.ready();
      else {
        const k = this.steps.findIndex((s) => s.id === id);
        if (k >= 0) this.at = k;
        this.showWhenFree();
      }
    } catch (e) {
      const why = e instanceof Refused ? e : null;
      if (why?.status === 503 && this.isConnected) window.setTimeout(() => void this.load(), 1500);
      this.say(this.state, why?.error ? why.message : t("link.none"));
      if (!this.plan && why && !why.passing) showPlain(this);
    }
  }

  /** The first plan is here: go to the step the page asked for, or the first that is to do. */
  private ready(): void {
    document.querySelectorAll<HTMLElement>("header nav").forEach((n) => (n.hidden = true));
    const here = this.getAttribute("step"); // the step of the plain page, where somebody may be at work
    const wanted = recall<string>(this.key("step")) ?? here;
    const asked = new URLSearchParams(location.search).get("step") ?? (inUse(this) ? here : null);
    const k = this.steps.findIndex((s) => s.id === (asked ?? wanted));
    const next = this.steps.findIndex((s) => !s.done);
    this.at = k >= 0 && (asked || !this.steps[k].done) ? k : Math.max(next, 0);
    this.showStep();
    hidePlain(this, CHILDREN);
    this.showTimers();
    this.showQuick();
    this.showLog();
    this.pulse();
  }

  // the step ------------------------------------------------------------------------------------

  private go(to: number): void {
    this.at = Math.min(Math.max(to, 0), this.steps.length - 1);
    keep(this.key("step"), this.steps[this.at]?.id ?? null);
    this.showStep();
    this.step.querySelector<HTMLElement>("h1")?.focus();
  }

  /** What the step's part shows, to see whether it would change. */
  private look(): string {
    const s = this.steps[this.at];
    return JSON.stringify([this.at, this.steps.length, s, s && this.started[s.id], localMoment(new Date()).slice(0, 10), this.plan?.first]);
  }

  /**
   * New words for the step wait while somebody is at one of its hold points or has a finger on the
   * glass; where nothing changed nothing is touched, and the focus stays on what it was on.
   */
  private showWhenFree(): void {
    if (this.look() === this.seen) {
      this.stale = false;
      return;
    }
    const at = this.step.contains(document.activeElement) ? document.activeElement : null;
    this.stale = Boolean(touched() || this.step.querySelector("details[open]") || at?.matches("input"));
    if (this.stale) return;
    this.showStep();
    if (!at) return;
    const same = Array.from(this.step.querySelectorAll<HTMLElement>("button, summary")).find((e) => e.textContent === at.textContent);
    (same?.matches(":disabled") === false ? same : this.step.querySelector<HTMLElement>("h1"))?.focus();
  }

  private showStep(): void {
    this.stale = false;
    this.seen = this.look();
    const steps = this.steps;
    const s = steps[this.at];
    if (!s) {
      fill(this.step, h("h1", { text: t(steps.length ? "floor.all_done" : "floor.none") }));
      return;
    }
    const started = this.started[s.id];
    const day = new Intl.DateTimeFormat(dateLanguage(), { weekday: "long", day: "numeric", month: "long" }).format(when(s.starts));
    const caution = (text: string): HTMLElement => h("p", { class: "caution" }, h("strong", { text: t("floor.caution") }), ` ${text}`);
    const cautions = [...s.cautions];
    if (s.kind === "mix" && !cautions.length) cautions.push(t("floor.cup_caution"));
    const failed = s.holds.some((x) => x.state === "failed");
    const before = this.shown || this.getAttribute("step");
    const rows = before !== s.id ? [] : this.querySelectorAll(this.shown ? ".pw-step li[data-hold]" : ":scope > .floorholds form");
    const typing = typingIn(rows);
    this.shown = s.id;
    fill(this.step,
      h("p", { class: "pw-count", text: `${t("floor.of", { n: this.at + 1, all: steps.length })} · ${day}, ${t("floor.planned", { from: clock(when(s.starts)), to: clock(when(s.ends)) })}` }),
      h("h1", { tabindex: -1, text: s.title }),
      this.otherDay(s),
      haltOf(s.holds),
      h("p", { class: "pw-say", text: s.say.charAt(0).toUpperCase() + s.say.slice(1) }),
      s.done ? null : holdRows(s.holds, typing, (x, say, value) => this.tickHold(x, say, value)),
      ...cautions.map(caution),
      h("div", { class: "pw-big pw-acts-now" },
        s.done
          ? h("button", { type: "button", text: t("floor.take_back"), onclick: () => this.takeBack(s) })
          : h("button", { type: "button", disabled: Boolean(started), text: started ? t("floor.started", { at: clock(when(started)) }) : t(failed ? "floor.start_anyway" : "floor.start"), onclick: () => this.start(s) }),
        h("button", { type: "button", class: "go", disabled: s.done, text: s.done ? `✓ ${t("floor.finish")}` : t("floor.finish"), onclick: () => this.finish(s) })),
      h("nav", { class: "pw-big", "aria-label": t("floor.steps") },
        h("button", { type: "button", disabled: this.at === 0, text: `← ${t("floor.before")}`, onclick: () => this.go(this.at - 1) }),
        h("button", { type: "button", disabled: this.at >= steps.length - 1, text: `${t("floor.after")} →`, onclick: () => this.go(this.at + 1) })));
    if (typing.at) this.step.querySelector<HTMLElement>(`li[data-hold="${CSS.escape(typing.at)}"] input`)?.focus({ preventScroll: true });
  }

  /** What is noted bears the real time: said where the step's day is not today. */
  private otherDay(s: Step): HTMLElement | null {
    const now = localMoment(new Date()).slice(0, 10);
    if (s.done || now === s.starts.slice(0, 10)) return null;
    const date = new Intl.DateTimeFormat(dateLanguage(), { weekday: "long", day: "numeric", month: "long", year: "numeric" });
    const words = [t("floor.other_day", { day: date.format(when(s.starts)), today: date.format(new Date()) })];
    if (this.plan?.first && now < this.plan.first) words.push(t("floor.early"));
    return h("p", { class: "otherday", text: words.join(" ") });
  }

  /** A hold point ticked off: seen at once, kept and sent; what was measured decides on the server. */
  private tickHold(x: Hold, say: "met" | "failed" | "open", value: string): void {
    const mark = freshMark();
    if (!value) {
      x.state = say;
      if (say === "open") x.measured = "";
      keep(this.key("plan"), this.plan);
      this.showStep();
    }
    const words = say === "open" ? "floor.hold_back" : say === "met" ? "floor.hold_yes" : "floor.hold_no";
    this.line(`${x.title}: ${value ? `${value} ${/[a-z°%]/i.test(value) ? "" : x.unit}`.trim() : t(words)}`);
    if (say === "failed") navigator.vibrate?.([300, 120, 300]);
    void post(`${this.path}/holds`, { hold: x.id, do: say, value }, "POST", mark);
  }

  private start(s: Step): void {
    const now = new Date();
    const failed = s.holds.filter((x) => x.state === "failed");
    if (failed.length) this.note(t("floor.noted_anyway", { step: s.title, holds: failed.map((x) => x.title).join(", ") }), "hold-passed-over");
    this.started[s.id] = localMoment(now);
    keep(this.key("started"), this.started);
    this.note(t("floor.noted_start", { step: s.title }), "step-started");
    for (const { sort, minutes } of timersFor(s, this.plan!))
      this.addTimer(sort === "pour" ? t("floor.pour_within", { step: s.title }) : s.title, minutes);
    this.showStep();
  }

  private finish(s: Step): void {
    const now = new Date();
    const start = this.started[s.id];
    s.done = true;
    keep(this.key("plan"), this.plan);
    this.line(t("floor.done", { at: clock(now) }) + `: ${s.title}`);
    void post(`${this.path}/steps/${part(s.id)}`, { ...(start ? { start } : {}), finish: localMoment(now) });
    const names = [s.title, t("floor.pour_within", { step: s.title })];
    this.timers.filter((x) => names.includes(x.name)).forEach((x) => this.stopTimer(x.id));
    this.go(this.at + 1 < this.steps.length ? this.at + 1 : this.at);
  }

  private takeBack(s: Step): void {
    s.done = false;
    delete this.started[s.id];
    keep(this.key("started"), this.started);
    this.line(`${t("floor.take_back")}: ${s.title}`);
    void post(`${this.path}/steps/${part(s.id)}`, undefined, "DELETE");
    this.showStep();
  }

  // timers --------------------------------------------------------------------------------------

  private setTimers(timers: Timer[]): void {
    this.timers = timers;
    keep(this.key("timers"), timers);
    this.showTimers();
  }

  private addTimer(name: string, minutes: number): void {
    const taken = this.timers.map((x) => x.name);
    let given = name;
    for (let n = this.timers.length + 1; !given || (!name && taken.includes(given)); n += 1) given = t("floor.timer_name", { n });
    const ends = Date.now() + minutes * 60_000;
    this.setTimers(inOrder([...this.timers, { id: freshMark(), name: given, ends, rung: false, quiet: false }]));
    this.note(t("floor.noted_timer", { name: given, at: t("floor.timer_ends", { at: clock(new Date(ends)) }) }), "timer");
  }

  private stopTimer(id: string): void {
    this.setTimers(this.timers.filter((x) => x.id !== id));
    this.hushIfQuiet();
  }

  private showTimers(): void {
    fill(this.times, ...this.timers.map((x) =>
      h("li", { class: x.rung ? "pw-timer pw-up" : "pw-timer", "data-id": x.id },
        h("span", { class: "pw-timer-name", text: x.name }),
        h("span", { class: "pw-left", role: "timer", "aria-live": "off" }),
        h("span", { class: "pw-timer-at", text: t("floor.timer_ends", { at: clock(new Date(x.ends)) }) }),
        h("span", { class: "pw-timer-acts" },
          x.rung && !x.quiet ? h("button", { type: "button", class: "go", text: t("floor.quiet"), onclick: () => this.quiet(x.id) }) : null,
          h("button", { type: "button", text: t("floor.more"), onclick: () => {
            this.setTimers(inOrder(this.timers.map((y) => (y.id === x.id ? extended(y, 300, Date.now()) : y))));
            this.hushIfQuiet();
          } }),
          h("button", { type: "button", text: t("floor.timer_stop", { name: x.name }), onclick: () => this.stopTimer(x.id) })))));
    this.countdown(Date.now());
  }

  private countdown(now: number): void {
    this.times.querySelectorAll<HTMLElement>("[data-id]").forEach((li) => {
      const x = this.timers.find((y) => y.id === li.dataset.id);
      const shown = li.querySelector<HTMLElement>(".pw-left");
      if (!x || !shown) return;
      const s = left(x, now);
      this.say(shown, s > 0 ? spell(s) : t("floor.timer_over", { time: spell(s) }));
    });
  }

  private quiet(id: string): void {
    this.setTimers(this.timers.map((x) => (x.id === id ? { ...x, quiet: true } : x)));
    this.hushIfQuiet();
  }

  private hushIfQuiet(): void {
    if (this.timers.some((x) => x.rung && !x.quiet) || this.rang.length) return;
    this.alarm.hush();
    this.showRing();
  }

  private showRing(): void {
    const words = [...this.timers.filter((x) => x.rung && !x.quiet).map((x) => t("floor.timer_up", { name: x.name })), ...this.rang];
    this.ring.hidden = words.length === 0;
    fill(this.ring, ...words.map((w) => h("p", { text: w })),
      words.length ? h("button", { type: "button", class: "go", text: t("floor.quiet"), onclick: () => {
        this.rang = [];
        this.setTimers(this.timers.map((x) => (x.rung ? { ...x, quiet: true } : x)));
        this.hushIfQuiet();
      } }) : null);
  }

  private pulse(): void {
    const now = Date.now();
    const d = new Date(now);
    this.say(this.clock, `${clock(d)}:${String(d.getSeconds()).padStart(2, "0")}`);
    const up = due(this.timers, now);
    if (up.length) {
      this.setTimers(this.timers.map((x) => (up.some((y) => y.id === x.id) ? { ...x, rung: true } : x)));
      up.forEach((x) => this.note(t("floor.noted_up", { name: x.name }), "timer"));
    }
    const steps = this.plan ? called(this.steps, this.lastLook, now) : [];
    this.rang.push(...steps.map((s) => t("floor.time_to", { step: s.title })));
    this.lastLook = now;
    const ringing = this.timers.some((x) => x.rung && !x.quiet) || this.rang.length > 0;
    if (ringing && !this.alarm.ringing) {
      this.alarm.ring();
      this.showRing();
    } else if (up.length || steps.length) this.showRing();
    this.countdown(now);
    if (this.stale) this.showWhenFree();
  }

  // what happened -------------------------------------------------------------------------------

  private line(text: string): void {
    this.lines = [{ at: localMoment(new Date()), text }, ...this.lines].slice(0, 200);
    keep(this.key("log"), this.lines);
    this.showLog();
  }

  private note(text: string, kind: string): void {
    this.line(text);
    const mark = freshMark();
    void post(`${this.path}/log`, { kind, text, mark }, "POST", mark);
  }

  private get units(): Units {
    return this.plan?.units === "us" ? "us" : "metric";
  }

  /** Faults of the plain list, each noted with one tap against the coat of this step. */
  private showQuick(): void {
    fill(this.quick, ...(this.plan?.faults ?? []).map((x) => h("button", { type: "button", text: x.text, onclick: () => {
      const s = this.steps[this.at];
      const coat = s ? s.id.split("-")[0] : "";
      const now = localMoment(new Date());
      this.line(`${x.text}${s ? `: ${s.title}` : ""}`);
      void post(`${this.path}/entries`, { kind: "fault", date: now.slice(0, 10), at: now.slice(11, 16), fault: x.fault,
        ...(["colour", "flood"].includes(coat) ? { coat } : {}) });
    } })));
  }

  /** The room now; planned again from it. False when the job's days are not here yet. */
  private readRoom(degC: number): boolean {
    const first = this.plan?.first;
    if (!first) return false;
    const now = localMoment(new Date());
    const day = Math.round((when(`${now.slice(0, 10)}T00:00`).getTime() - when(`${first}T00:00`).getTime()) / 86_400_000);
    if (day < 0 || day > 60) {
      fill(this.wrong, t("floor.not_today", { date: first }));
      return false;
    }
    const shown = celsiusText(degC, this.units).replace("deg", "°");
    this.line(`${t("ribbon.temperature")}: ${shown}`);
    void post(`${this.path}/readings`, { day, at: now.slice(11, 16), temperature: celsiusText(degC, this.units) });
    return true;
  }

  private showLog(): void {
    fill(this.log, ...(this.lines.length
      ? this.lines.slice(0, 30).map((l) => h("li", {}, h("span", { class: "num", text: clock(when(l.at)) }), " ", h("span", { text: l.text })))
      : [h("li", { text: t("floor.log_none") })]));
    if (waiting()) this.say(this.state, t("floor.kept", { n: waiting() }));
  }
}
