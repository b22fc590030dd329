/** Long work on the server: start, watch, cancel. */
import { ask, part, Refused } from "../base/api";

export interface Task {
  task: string;
  state: "waiting" | "running" | "done" | "failed" | "cancelled";
  share: number;
  words: string;
  kind?: string;
  result: { pictures?: string[]; urls?: string[] } | null;
  error?: { limit?: string; remedy?: string } | string | null;
}

export interface Picture {
  name: string;
  scene: string;
  sort: string;
  seed: number;
  words: string;
  width_px: number;
  height_px: number;
  url: string;
  small_url?: string;
  current?: boolean;
  about?: { outline_m?: [number, number][]; holes_m?: [number, number][][]; drop_m?: number; board?: boolean };
}

export const over = (t: Task): boolean => t.state === "done" || t.state === "failed" || t.state === "cancelled";

/** Why a task failed, in words. */
export function why(t: Task): string {
  if (!t.error) return "";
  return typeof t.error === "string" ? t.error : [t.error.limit, t.error.remedy].filter(Boolean).join(". ");
}

/** Watch a task to its end; a lost link is waited out. `alive` false stops watching. */
export async function watch(id: string, tell: (t: Task) => void, alive: () => boolean): Promise<Task | null> {
  for (let pause = 400; alive(); pause = Math.min(pause * 1.3, 1500)) {
    try {
      const task = await ask<Task>("GET", `/api/tasks/${part(id)}`);
      tell(task);
      if (over(task)) return task;
    } catch (e) {
      if (!(e instanceof Refused) || !e.passing) throw e;
    }
    await new Promise((r) => setTimeout(r, pause));
  }
  return null;
}
