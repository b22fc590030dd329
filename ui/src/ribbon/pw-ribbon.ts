/** `<pw-ribbon job coat>`: the day ribbon, live; a temperature dragged or typed plans it again. */
import { ask, part, Refused } from "../base/api";
import { calm, fill, freshId, h, hidePlain, put, s, showPlain } from "../base/dom";
import { onOutbox, post, waiting } from "../base/outbox";
import { celsiusShown, celsiusText, localeOf, readCelsius, type Units } from "../base/quantity";
import { dateLanguage, language, t } from "../base/words";
import { daysTo, type Typed, typedBefore } from "./typed";
import { airAt, drawBand, type Frame, frameOf } from "./draw";
import { type Band, clock, moment, nextOnScale, onScale, type RibbonData, secondsSince, wordAt } from "./model";

/** What a room may be, as the server takes it [°C]. */
const COLDEST = -30;
const HOTTEST = 60;

interface Shown {
  band: Band;
  frame: Frame;
  now: SVGGElement;
  handle: SVGGElement;
  bubble: SVGTextElement;
  rule: SVGLineElement;
  t: number;
  degC: number;
}

export class PwRibbon extends HTMLElement {
  private data: RibbonData | null = null;
  private shown: Shown[] = [];
  private drawn = h("div", { class: "pw-bands" });
  private state = h("p", { class: "pw-state", role: "status" });
  private saying = h("p", { class: "pw-now-words" });
  private temperature = h("input", { type: "text", inputmode: "decimal", autocomplete: "off" });
  private time = h("input", { type: "time" });
  private day = h("select");
  private wrong = h("p", { class: "problem", role: "alert" });
  private zero = 0; // Date.now() when t_s was 0, by the server's clock
  private timer = 0;
  private wide = 0;
  private pending = false;
  private last: { day: number; at: string; said: string } | null = null;
  private back = h("button", { type: "button", class: "quiet", hidden: true, text: t("ribbon.back"), onclick: () => this.takeBack() });
  private seen: ResizeObserver | null = null;
  private deaf: (() => void) | null = null;
  private built = false;
  private typedDay = "";

  connectedCallback(): void {
    if (!this.built) this.build();
    this.seen = new ResizeObserver(() => this.redrawIfResized());
    this.seen.observe(this);
    this.deaf = onOutbox((left, refused) => this.hear(left, refused?.why ?? null));
    this.timer = window.setInterval(() => this.tick(), calm() ? 30_000 : 5_000);
    document.addEventListener("visibilitychange", this.woke);
    void this.load();
  }

  disconnectedCallback(): void {
    this.seen?.disconnect();
    this.deaf?.();
    clearInterval(this.timer);
    document.removeEventListener("visibilitychange", this.woke);
  }

  private woke = (): void => {
    if (!document.hidden) this.tick();
  };

  private get units(): Units {
    return (this.getAttribute("units") ?? this.data?.units) === "us" ? "us" : "metric";
  }

  private build(): void {
    this.built = true;
    const ids = [freshId("t"), freshId("at"), freshId("day")];
    put(this.temperature, { id: ids[0] });
    put(this.time, { id: ids[1] });
    put(this.day, { id: ids[2] });
    const form = h(
      "form",
      { class: "pw-reading row", novalidate: true, onsubmit: (e: Event) => this.submit(e) },
      h("div", { class: "field" }, h("label", { for: ids[0], text: t("ribbon.temperature") }), this.temperature),
      h("div", { class: "field" }, h("label", { for: ids[1], text: t("ribbon.at") }), this.time),
      h("div", { class: "field pw-day-field" }, h("label", { for: ids[2], text: t("ribbon.day") }), this.day),
      h("button", { class: "go", type: "submit", text: t("ribbon.enter") }),
    );
    this.temperature.addEventListener("input", () => fill(this.wrong));
    this.prepend(this.saying, this.drawn, h("div", { class: "pw-reading-box" }, form, this.wrong, h("div", { class: "row" }, this.state, this.back)));
    this.hidden = false;
    const typed = document.querySelector("pw-ribbon") === this ? typedBefore() : null;
    if (typed) this.takeUp(typed);
  }

  /** Go on with what was typed in the plain form, which this one stands in for. */
  private takeUp(typed: Typed): void {
    this.temperature.value = typed.temperature;
    this.time.value = typed.at;
    this.typedDay = typed.date;
    if (typed.focus) ({ date: this.day, at: this.time }[typed.focus] ?? this.temperature).focus({ preventScroll: true });
  }

  private async load(): Promise<void> {
    const path = `/api/jobs/${part(this.getAttribute("job") ?? "")}/ribbon/${part(this.getAttribute("coat") ?? "colour")}?say=page`;
    try {
      this.data = await ask<RibbonData>("GET", path);
      if (!waiting()) fill(this.state);
    } catch (e) {
      const kept = this.querySelector('script[type="application/json"]')?.textContent;
      if (!this.data && kept) this.data = JSON.parse(kept) as RibbonData;
      const why = e instanceof Refused ? e : null;
      if (why?.status === 503 && this.isConnected) {
        fill(this.state, t("plan.working"));
        window.setTimeout(() => void this.load(), 1500);
        return;
      }
      fill(this.state, why?.error ? why.message : t("ribbon.unreachable"));
      if (!this.data) {
        showPlain(this);
        this.querySelectorAll<HTMLElement>(".pw-reading-box form").forEach((f) => (f.hidden = true));
        return;
      }
    }
    this.querySelectorAll<HTMLElement>(".pw-reading-box form").forEach((f) => (f.hidden = false));
    hidePlain(this);
    this.data.start = this.data.first_midnight ?? this.data.start;
    put(this.temperature, { placeholder: this.units === "us" ? "64 °F" : "17 °C" });
    this.pending = false;
    this.removeAttribute("data-busy");
    const now_s = this.data.now_s ?? secondsSince(this.data.start, new Date());
    this.zero = Date.now() - now_s * 1000;
    this.days();
    this.draw();
  }

  /** Seconds since midnight 0 now; from the clock, so that sleep does not stop it. */
  private get now(): number {
    return (Date.now() - this.zero) / 1000;
  }

  private days(): void {
    const bands = this.data!.bands;
    const a = Math.floor(Math.min(...bands.map((b) => b.start_s)) / 86400);
    const b = Math.floor(Math.max(...bands.map((b) => b.end_s)) / 86400);
    const write = new Intl.DateTimeFormat(dateLanguage(), { weekday: "long", day: "numeric", month: "long" });
    const was = this.day.value;
    fill(this.day, ...Array.from({ length: b - a + 1 }, (_, k) =>
      h("option", { value: a + k, text: write.format(moment(this.data!.start, (a + k) * 86400)) })));
    const time = this.time.value;
    if (was) this.day.value = was;
    if (!was || !time) this.showTime(this.pick(bands[0]));
    if (time) this.time.value = time;
    if (this.typedDay && !was) {
      const day = daysTo(this.data!.start, this.typedDay);
      if (!Array.from(this.day.options).some((o) => o.value === String(day)))
        this.day.append(h("option", { value: day, text: write.format(moment(this.data!.start, day * 86400)) }));
      this.day.value = String(day);
    }
  }

  /** The moment a reading is about unless said otherwise: now, or where the band starts. */
  private pick(band: Band): number {
    const now = this.now;
    return now >= band.start_s && now <= band.end_s ? now : band.start_s + (band.end_s - band.start_s) * 0.15;
  }

  private showTime(t_s: number): void {
    const d = moment(this.data!.start, t_s);
    this.time.value = clock(d);
    this.day.value = String(Math.floor(t_s / 86400));
  }

  private redrawIfResized(): void {
    if (this.data && Math.abs(this.clientWidth - this.wide) > 2) this.draw();
  }

  private draw(): void {
    const data = this.data!;
    this.wide = this.clientWidth;
    const wide = Math.max(this.wide, 300);
    this.shown = [];
    const parts = data.bands.map((band, k) => this.drawBandBox(band, wide, k === 0 ? 160 : 96));
    fill(this.drawn, ...parts);
    this.tick();
  }

  private drawBandBox(band: Band, wide: number, high: number): HTMLElement {
    const data = this.data!;
    const frame = frameOf(band, wide, high);
    const svg = s("svg", {
      viewBox: `0 0 ${wide} ${frame.tall}`, width: wide, height: frame.tall, class: "pw-band",
      role: "group", "aria-label": `${data.title}, ${band.title}`,
    });
    const t_s = this.pick(band);
    const rule = s("line", { class: "pw-handle-rule" });
    const bubble = s("text", { class: "pw-bubble" });
    const handle = s(
      "g",
      { class: "pw-handle", tabindex: 0, role: "slider", "aria-label": t("ribbon.handle"),
        "aria-orientation": "vertical" },
      s("circle", { r: 24, class: "pw-grip-reach" }), s("circle", { r: 10, class: "pw-grip" }),
    );
    const now = s("g", { class: "pw-now", "aria-hidden": "true" },
      s("line", { y1: 14, y2: frame.airBase }), s("text", { y: 12, text: t("ribbon.now") }));
    svg.append(s("text", { x: frame.left, y: 19, class: "pw-band-title", "aria-hidden": "true", text: band.title }),
      drawBand(band, frame, data.start), rule, bubble, handle, now);
    const shown: Shown = { band, frame, now, handle, bubble, rule, t: t_s, degC: airAt(band, t_s) };
    this.shown.push(shown);
    this.place(shown, false);
    this.listen(svg, shown);
    return h("div", { class: "pw-band-box" }, svg, this.list(band));
  }

  /** The words of a band as a list: what a screen reader says, and what a phone has no room for. */
  private list(band: Band): HTMLElement {
    const last = band === this.data!.bands[this.data!.bands.length - 1]; // what goes on is said there
    const said = (w: Band["words"][number]): string => {
      const until = this.clockWords(w.end_s, band);
      if (w === band.words[band.words.length - 1]) return t("ribbon.from", { from: this.clockWords(w.start_s, band) });
      return w.unsure_s ? t("ribbon.until_about", { until, spread: spreadWords(w.unsure_s / 2) }) : t("ribbon.until", { until });
    };
    return h("ul", { class: "pw-can" }, ...band.words.filter((w) => w.start_s < band.end_s && w.end_s > band.start_s).map((w) =>
      h("li", { "data-end": w.end_s, "data-start": w.start_s, class: !last && w.end_s > band.end_s ? "pw-goes-on" : null }, h("strong", { text: w.text }), " ", said(w))));
  }

  private clockWords(t_s: number, band: Band): string {
    const d = moment(this.data!.start, t_s);
    const same_day = Math.floor(t_s / 86400) === Math.floor(band.start_s / 86400);
    if (same_day) return clock(d);
    return `${new Intl.DateTimeFormat(dateLanguage(), { weekday: "short" }).format(d)} ${clock(d)}`;
  }

  private place(sh: Shown, moved: boolean): void {
    const x = sh.frame.x(sh.t);
    const y = sh.frame.airY(sh.degC);
    const words = celsiusShown(sh.degC, this.units, localeOf(language()), 1);
    sh.handle.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    const us = this.units === "us";
    const shown = (c: number): string => (us ? c * 1.8 + 32 : c).toFixed(1);
    put(sh.handle, {
      "aria-valuenow": shown(sh.degC), "aria-valuemin": shown(COLDEST), "aria-valuemax": shown(HOTTEST),
      "aria-valuetext": `${clock(moment(this.data!.start, sh.t))}, ${words}`,
    });
    put(sh.rule, { x1: x, x2: x, y1: sh.frame.top, y2: sh.frame.airBase, class: moved ? "pw-handle-rule" : "pw-handle-rule pw-off" });
    const flip = x > sh.frame.right - 130;
    put(sh.bubble, { x: flip ? x - 18 : x + 18, y: y < sh.frame.airTop + 24 ? y + 22 : y - 10,
      class: flip ? "pw-bubble pw-end" : "pw-bubble" });
    sh.bubble.textContent = t("ribbon.air", { degrees: words });
  }

  private listen(svg: SVGSVGElement, sh: Shown): void {
    let held: number | null = null;
    let off = 0;
    const here = (e: PointerEvent): [number, number] => {
      const box = svg.getBoundingClientRect();
      const scale = sh.frame.wide / box.width;
      return [(e.clientX - box.left) * scale, (e.clientY - box.top) * scale];
    };
    svg.addEventListener("pointerdown", (e) => {
      const [x, y] = here(e);
      const lineY = sh.frame.airY(airAt(sh.band, sh.frame.time(x)));
      const onGrip = Math.hypot(x - sh.frame.x(sh.t), y - sh.frame.airY(sh.degC)) < 28;
      if (!onGrip && Math.abs(y - lineY) > 26) return;
      e.preventDefault();
      sh.handle.focus();
      held = e.pointerId;
      off = (onGrip ? sh.frame.airY(sh.degC) : lineY) - y;
      svg.setPointerCapture(held);
      if (!onGrip) {
        sh.t = sh.frame.time(x);
        sh.degC = airAt(sh.band, sh.t);
      }
      this.place(sh, true);
    });
    svg.addEventListener("pointermove", (e) => {
      if (held !== e.pointerId) return;
      const [x, y] = here(e);
      sh.t = Math.round(sh.frame.time(x) / 60) * 60;
      sh.degC = onScale(sh.frame.degC(y + off), this.units === "us");
      this.place(sh, true);
      this.typed(sh);
    });
    const end = (e: PointerEvent): void => {
      if (held !== e.pointerId) return;
      held = null;
      const was = airAt(sh.band, sh.t);
      if (e.type === "pointerup" && Math.abs(sh.degC - was) >= 0.25) this.enter(sh.t, sh.degC);
      else this.typed(sh);
    };
    svg.addEventListener("pointerup", end);
    svg.addEventListener("pointercancel", end);
    sh.handle.addEventListener("keydown", (e) => {
      const step: Record<string, [number, number]> = {
        ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-300, 0], ArrowRight: [300, 0],
        PageUp: [0, 4], PageDown: [0, -4],
      };
      if (e.key === "Enter" || e.key === " ") {
        e.preventDefault();
        this.enter(sh.t, sh.degC);
      } else if (e.key in step) {
        e.preventDefault();
        const [dt, dc] = step[e.key];
        sh.t = Math.min(Math.max(sh.t + dt, sh.band.start_s), sh.band.end_s);
        const next = dt ? airAt(sh.band, sh.t) : nextOnScale(sh.degC, dc, this.units === "us");
        sh.degC = Math.min(Math.max(next, COLDEST), HOTTEST);
        this.place(sh, true);
        this.typed(sh);
      }
    });
  }

  private typed(sh: Shown): void {
    this.showTime(sh.t);
    this.temperature.value = celsiusShown(sh.degC, this.units, localeOf(language()), 1);
  }

  private submit(e: Event): void {
    e.preventDefault();
    const degC = readCelsius(this.temperature.value, localeOf(language()), this.units === "us" ? "F" : "C");
    const time = /^(\d\d):(\d\d)/.exec(this.time.value);
    if (degC === null || !time) {
      fill(this.wrong, degC === null ? t("ribbon.no_temperature", { typed: this.temperature.value }) : t("ribbon.no_time"));
      (degC === null ? this.temperature : this.time).focus();
      return;
    }
    this.enter(Number(this.day.value) * 86400 + Number(time[1]) * 3600 + Number(time[2]) * 60, degC);
  }

  /** A reading: kept first, then sent; the ribbon is drawn again from the new plan. */
  private enter(t_s: number, degC: number): void {
    fill(this.wrong);
    const said = celsiusShown(degC, this.units, localeOf(language()), 1);
    const at = clock(moment(this.data!.start, t_s));
    this.pending = true;
    this.last = { day: Math.floor(t_s / 86400), at, said };
    this.back.hidden = true;
    this.setAttribute("data-busy", "");
    fill(this.state, t("ribbon.planning", { degrees: said, at }));
    void post(`/api/jobs/${part(this.getAttribute("job") ?? "")}/readings`, {
      day: Math.floor(t_s / 86400), at, temperature: celsiusText(degC, this.units),
    });
  }

  /** Take the reading just entered back; the ribbon is drawn as if it had not been. */
  private takeBack(): void {
    const reading = this.last;
    if (!reading) return;
    this.last = null;
    this.back.hidden = true;
    this.pending = true;
    this.setAttribute("data-busy", "");
    fill(this.state, t("ribbon.taking_back", { degrees: reading.said, at: reading.at }));
    const path = `/api/jobs/${part(this.getAttribute("job") ?? "")}/readings?day=${reading.day}&at=${part(reading.at)}`;
    void post(path, undefined, "DELETE");
  }

  private hear(left: number, refused: Refused | null): void {
    if (!this.pending) return;
    if (refused) {
      this.pending = false;
      this.removeAttribute("data-busy");
      fill(this.wrong, refused.message);
      fill(this.state);
    } else if (left === 0) {
      const undone = this.last === null;
      void this.load().then(() => {
        fill(this.state, t(undone ? "ribbon.taken_back" : "ribbon.planned"));
        this.back.hidden = undone;
      });
    } else if (!navigator.onLine || left > 0) {
      fill(this.state, t("link.kept", { n: left }));
    }
  }

  private tick(): void {
    if (!this.data) return;
    const now = this.now;
    let said = "";
    for (const sh of this.shown) {
      const inside = now >= sh.band.start_s && now <= sh.band.end_s;
      sh.now.setAttribute("visibility", inside ? "visible" : "hidden");
      if (!inside) continue;
      const x = sh.frame.x(now);
      sh.now.setAttribute("transform", `translate(${x.toFixed(1)} 0)`);
      sh.now.classList.toggle("pw-end", x > sh.frame.right - 40);
      const word = wordAt(sh.band, now);
      if (word && !said)
        said = t("ribbon.now_words", { at: clock(moment(this.data.start, now)), words: word.text });
    }
    this.querySelectorAll<HTMLElement>(".pw-can li").forEach((li) => {
      const on = now >= Number(li.dataset.start) && now < Number(li.dataset.end);
      li.classList.toggle("pw-current", on);
    });
    if (this.saying.textContent !== said) this.saying.textContent = said;
  }
}

/** Half of a spread of time in words: minutes, or hours to the half. */
function spreadWords(seconds: number): string {
  if (seconds < 5400) return t("ribbon.minutes", { n: Math.max(1, Math.round(seconds / 60)) });
  const half = Math.round(seconds / 1800) / 2;
  return t("ribbon.hours", { n: new Intl.NumberFormat(language()).format(half) });
}
