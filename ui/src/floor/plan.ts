/** Steps of the plan as the floor view needs them. */

export interface Hold {
  id: string;
  title: string;
  state: "open" | "met" | "failed";
  limit: string;
  unit: string;
  measured: string;
  computed: string;
  expected: string;
  remedy: string;
  measures: boolean;
}
export interface Step {
  id: string;
  title: string;
  kind: string;
  starts: string;
  ends: string;
  say: string;
  holds: Hold[];
  cautions: string[];
  done: boolean;
}
interface Range {
  p05: number;
  p50: number;
  p95: number;
}
export interface Plan {
  days: { date: string; steps: Step[] }[];
  units?: string;
  /** The job's first day. */
  first?: string;
  /** Steps that were begun, on this tablet or another: local moments by step. */
  begun?: Record<string, string>;
  /** Faults to be noted with one tap. */
  faults?: { fault: string; text: string }[];
  coats?: { id: string; title: string; pour_within_min?: Range; cautions?: string[] }[];
}

/** All steps in order. */
export function stepsOf(plan: Plan): Step[] {
  return plan.days.flatMap((d) => d.steps);
}

/** Local date of a clock time without a zone. */
export function when(text: string): Date {
  const m = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d)(?::(\d\d))?/.exec(text);
  return m ? new Date(+m[1], +m[2] - 1, +m[3], +m[4], +m[5], +(m[6] ?? 0)) : new Date(text);
}

/** Timers that starting a step calls for: how long it lasts, and for a mix when it must be poured. */
export function timersFor(step: Step, plan: Plan): { sort: "lasts" | "pour"; minutes: number }[] {
  const minutes = (when(step.ends).getTime() - when(step.starts).getTime()) / 60_000;
  const out: { sort: "lasts" | "pour"; minutes: number }[] = [];
  if (step.kind === "mix") {
    const coat = (plan.coats ?? []).find((c) => step.id.startsWith(`${c.id}-`));
    const within = coat?.pour_within_min?.p05; // the cautious end of its range
    if (within !== undefined && Number.isFinite(within) && within < 600) out.push({ sort: "pour", minutes: within });
  }
  if (minutes >= 1 && minutes <= 240) out.push({ sort: "lasts", minutes });
  return out;
}

/** Steps whose planned start came between two moments [ms] and that are not done. */
export function called(steps: Step[], from: number, to: number): Step[] {
  return steps.filter((s) => {
    const at = when(s.starts).getTime();
    return !s.done && at > from && at <= to;
  });
}
